/* What a mix will look like: mixing, film, air interface and sheen in one scalar double path. This is the
 * only path whose numbers are printed; fast kernels only nominate. */
#ifndef RUSSET_PAINT_PREDICT_H
#define RUSSET_PAINT_PREDICT_H

#include "paint/film.h"
#include "paint/toner.h"

struct film_case {
    double film_um;          /* dry; INFINITY: opaque */
    struct spectrum backing; /* as measured, in the same geometry; ignored when opaque */
    enum geometry geometry;  /* of the reading that the prediction is compared with */
    double sheen_gu; /* GU at 60 degrees of the finished, topcoated surface; NAN: as the drawdowns were */
};

/* The one place where the K and S that a mix adds up to become the K and S of a film. */
struct film_terms predict_terms(double mixed_k, double mixed_s);

/* The surface constants that hold under this case: the shelf's, with sheen_return and haze for its sheen. */
struct surface predict_surface(const struct shelf *shelf, const struct film_case *film);

/* part[count]: mass fractions, sum 1. */
void predict_reflectance(const struct shelf *shelf, const double part[], const struct film_case *film,
                         struct spectrum *out);
/* by_part[i * BANDS + band] = d reflectance / d part[i] (the parts taken as independent). */
void predict_slopes(const struct shelf *shelf, const double part[], const struct film_case *film,
                    struct spectrum *out, double *by_part);
/* The same by the mixed K, the mixed S and the film of each band (each may be NULL). by_k stays finite: an
 * opaque film without absorption is given a trace of it. */
void predict_ks_slopes(const struct shelf *shelf, const double part[], const struct film_case *film,
                       struct spectrum *out, double by_k[BANDS], double by_s[BANDS], double by_film[BANDS]);

/* Contrast ratio as measured: Y (D65/10) over black over Y over a white of .80, at film_um
 * (docs/decisions.md). 1 when opaque. Black is an ideal one (inner reflectance 0); the white reads .80 in the
 * case's geometry. film->backing is not looked at. */
double predict_contrast_ratio(const struct shelf *shelf, const double part[], const struct film_case *film);

#define PREDICT_HIDES 0.98 /* contrast ratio from which a film hides */
#define PREDICT_WHITE 0.80 /* the white that it is measured over */

/* Smallest film that hides (contrast ratio >= .98), um; INFINITY when no film under 1 mm does; NAN when S is
 * relative. With real backings beside black and white the worst pair counts: darkest Y over lightest Y as
 * seen through the film, which is black over the lightest; it only ever grows with the film (see predict.c).
 */
double predict_film_to_hide(const struct shelf *shelf, const double part[], enum geometry geometry,
                            double sheen_gu, const struct spectrum *backings, size_t backing_count);
/* Whole coats of coat_um for a film; INFINITY and NAN pass. */
double predict_coats(double film_um, double coat_um);

#endif
