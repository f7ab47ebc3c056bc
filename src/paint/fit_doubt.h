/* Inside the fit: which rows are contradicted by all others, and by what slip. */
#ifndef RUSSET_PAINT_FIT_DOUBT_H
#define RUSSET_PAINT_FIT_DOUBT_H

#include "paint/fit.h"
#include "paint/fit_model.h"

/* dE00 (D65/10) of two spectra. */
double fit_de00(const struct spectrum *a, const struct spectrum *b);
/* A film against its reading under its best stretch within the prior; *stretch may be NULL. */
double fit_film_de00(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                     double film_sd, double *stretch);
/* Fills cause, de00_if, toner, factor, other of a row; usual: dE00 that films of this fit usually have. */
void fit_explain(const struct fit_model *model, const struct fit_point *at, const struct drawdown_set *set,
                 size_t film, double usual, struct fit_row *out);
/* A reading that no surface can give in this scale: whole spectrum a hundred times too small or too large. */
bool fit_off_scale(const struct spectrum *reflectance, enum geometry geometry);

#endif
