/* Inside the fit: its unknowns, the forward model of one film with its slopes, and one step of the solver. */
#ifndef RUSSET_PAINT_FIT_MODEL_H
#define RUSSET_PAINT_FIT_MODEL_H

#include "base/memory.h"
#include "paint/drawdown.h"

/* Unknowns that all films share. */
#define FIT_FLOOR 1e-8 /* per um; nothing is known to be less */

/* FIT_SHEEN on: what a reading under each sheen of the clears still catches of the surface. */
enum fit_global {
    FIT_K1,
    FIT_K2,
    FIT_BEND,
    FIT_CROWD,
    FIT_FORWARD,
    FIT_HAZE,
    FIT_RETURN,
    FIT_OBLIQUE,
    FIT_SHEEN,
    FIT_GLOBALS = FIT_SHEEN + TOPCOAT_SHEENS_MOST
};

struct fit_film { /* one film of the set */
    const struct drawdown *from;
    const double *part; /* [toners] mass fractions as written */
    size_t dosed;       /* the toner that there is least of: a slip of the scale tells most there */
    double dose_sd;     /* of ln(its true mass / its written mass); 0: as written */
    double film_um;     /* as written; INFINITY opaque */
    double film_sd;     /* of ln(true film / written film); 0: not moved */
    const struct spectrum *backing; /* as measured; NULL opaque */
    double weight;                  /* 0..1, robust; 0: left out */
};

struct fit_model {
    size_t toners, films;
    struct fit_film *film;
    enum geometry geometry;
    const bool *crowds;     /* [toners] */
    const bool *clear;      /* [toners] binders: little K and S unless films say so */
    bool free[FIT_GLOBALS]; /* which globals are fitted */
    bool leans;             /* whether toners have an asymmetry of their own */
    size_t sheens;          /* of clears that are told apart (not sci); rising gloss */
    double sheen_gu[TOPCOAT_SHEENS_MOST], sheen_mean[TOPCOAT_SHEENS_MOST]; /* mean: as modelled */
    double k1_most;                                                        /* no sci reading is below it */
    double error;    /* model error, in dE76 of lightness: .1 */
    bool beam;       /* whether light comes in as a beam (beam.h); FIT_FORWARD is then its asymmetry */
    bool relative_s; /* S of `anchor` is 1 */
    size_t anchor;
};

/* Where the search stands. ks: K (first toners) and S (second toners) band by band, never below FIT_FLOOR.
 * stretch: ln of true film over written film. */
struct fit_point {
    double *ks;      /* [BANDS][2 * toners] */
    double *stretch; /* [films] */
    double *dose;    /* [films] ln of the true mass of `dosed` over what is written */
    double *lean;    /* [toners] asymmetry beside FIT_FORWARD */
    double global[FIT_GLOBALS];
};

struct fit_point fit_point_new(const struct fit_model *model, struct arena *arena);
void fit_point_copy(const struct fit_model *model, const struct fit_point *from, struct fit_point *to);

/* Where a fit of the films that count (weight over 0) begins. about: [toners], their roles. */
void fit_start(const struct fit_model *model, const struct toner about[], struct fit_point *at);

/* What the clears do under these shared unknowns. */
struct topcoat fit_topcoat(const struct fit_model *model, const double global[FIT_GLOBALS]);

struct fit_slopes {    /* of the measured reflectance of one film in one band */
    double by_k, by_s; /* of the mix, before crowding is looked at */
    double by_stretch, by_dose, by_global[FIT_GLOBALS];
    double by_lean; /* of the mix's asymmetry */
};
/* Scattering of the mix of a film in a band, as the leans are weighed by it: a toner's counts part x s over
 * this. Never 0. */
double fit_scatter(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                   int band);
/* Reflectance of a film in a band; slopes may be NULL. */
double fit_predict(const struct fit_model *model, const struct fit_point *at, size_t film, int band,
                   struct fit_slopes *slopes);
/* What part of a toner's scattering counts at mass fraction c. */
double fit_counted(const double global[FIT_GLOBALS], bool crowds, double c, double *by_c);
/* Standard deviation that a reading of this reflectance is given. */
double fit_sd(const struct fit_model *model, double reflectance);

/* Sum of squares of the film in its sd's, over the bands. */
double fit_misfit(const struct fit_model *model, const struct fit_point *at, size_t film);
/* The whole spectrum of any film (of the model or not) under this stretch. */
void fit_see(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
             double stretch, double dose, struct spectrum *out);
/* A film whose dosed toner weighs exp(dose) of what is written: what there is of it, and of all, for each
 * part of the batch as written. */
struct fit_dosed {
    double mass, whole;
};
struct fit_dosed fit_dosed(const struct fit_film *film, double dose);
/* Mass fraction of toner i in it; by_dose may be NULL. */
double fit_part(const struct fit_film *film, const struct fit_dosed *dosed, size_t i, double *by_dose);

/* Levenberg-Marquardt until nothing moves or `most` steps; returns the cost. */
double fit_solve(const struct fit_model *model, struct fit_point *at, int most);

/* sd of ln(sum of K over the bands) and of ln(sum of S), of each toner, everything else free as well. */
void fit_spread(const struct fit_model *model, const struct fit_point *at, double k_sd[], double s_sd[]);

#endif
