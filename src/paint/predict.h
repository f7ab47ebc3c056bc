/* What a mix will look like: mixing, film, air interface and sheen in one scalar double path. This is the
 * only path whose numbers are printed; fast kernels only nominate. */
#ifndef RUSSET_PAINT_PREDICT_H
#define RUSSET_PAINT_PREDICT_H

#include "paint/toner.h"

struct film_case {
    double film_um;          /* dry; INFINITY: opaque */
    struct spectrum backing; /* as measured, in the same geometry; ignored when opaque */
    enum geometry geometry;  /* of the reading that the prediction is compared with */
    double sheen_gu;         /* GU at 60 degrees of the finished surface; NAN: as the drawdowns were */
};

/* The surface constants that hold under this case: the shelf's, with sheen_return for its sheen. */
struct surface predict_surface(const struct shelf *shelf, const struct film_case *film);

/* part[count]: mass fractions, sum 1. */
void predict_reflectance(const struct shelf *shelf, const double part[], const struct film_case *film,
                         struct spectrum *out);
/* by_part[i * BANDS + band] = d reflectance / d part[i] (the parts taken as independent). */
void predict_slopes(const struct shelf *shelf, const double part[], const struct film_case *film,
                    struct spectrum *out, double *by_part);

/* Contrast ratio as measured: Y (D65/10) over black over Y over a white of .80, at film_um
 * (docs/decisions.md). 1 when opaque. */
double predict_contrast_ratio(const struct shelf *shelf, const double part[], const struct film_case *film);
/* Smallest film that hides (contrast ratio >= .98), um; INFINITY when no film under 1 mm does; NAN when S is
 * relative. With real backings beside black and white the worst pair counts: dE00 between any two <= what .98
 * means is not asked, Y ratio is. */
double predict_film_to_hide(const struct shelf *shelf, const double part[], enum geometry geometry,
                            double sheen_gu, const struct spectrum *backings, size_t backing_count);

#endif
