/* The air interface of a film: Saunderson's correction (Saunderson 1942), with the reading's geometry, the
 * sheen and the haze of a matted topcoat. */
#ifndef RUSSET_PAINT_SURFACE_H
#define RUSSET_PAINT_SURFACE_H

#include "colour/reading.h"

struct surface {
    double k1; /* outer reflection of the incoming beam, 0..0.2 */
    double k2; /* inner reflection of the diffuse light, 0..0.95 */
    double
        sheen_return; /* part of k1 that an sce or 45/0 reading still catches, 0 (mirror) .. 1 (dead matt) */
    double haze;      /* scatter (S X) that a clear over the colour adds; 0: no clear */
    double oblique; /* what a 45/0 reading gets through the interface beyond the diffuse light of the others,
                       as a share: -.2 .. .2; 0 for all others */
};

/* What a shop's clears do to the colour beneath; all zero: not measured, the model's figure stands. */
enum { TOPCOAT_SHEENS_MOST = 6 };

struct topcoat {
    bool measured;
    double haze_per_decade; /* haze that matting adds for each tenfold drop of the gloss at 60 degrees */
    size_t sheens;          /* at which the drawdowns (not sci) showed what they still catch of the surface */
    double sheen_gu[TOPCOAT_SHEENS_MOST], returned[TOPCOAT_SHEENS_MOST]; /* rising gloss; part of k1, 0..1 */
};

#define TOPCOAT_MODELLED_HAZE 0.0015 /* per decade; model of ours, see surface.c */

/* Measured from inner reflectance and back. sci keeps k1, the others keep k1 * sheen_return. Exact inverses
 * of each other inside 0 <= inner <= 1; a measured value that no inner reflectance reaches (below the outer
 * reflection, above white) gives 0 or 1. d_inner (may be NULL) receives the derivative of measured by inner.
 */
double surface_measured(double inner, const struct surface *surface, enum geometry geometry, double *d_inner);
double surface_inner(double measured, const struct surface *surface, enum geometry geometry);

/* Part of k1 that a reading still catches from a surface of this gloss (GU at 60 degrees, ISO 2813). Model of
 * ours, see surface.c. */
double sheen_return(double gu60, enum geometry geometry);
/* The same as the shop's clears have it, in the geometry of its drawdowns: between the sheens that were read
 * a straight line of the logit over the logarithm of the gloss, beyond them the model shifted to meet the
 * last one. No sheens read: sheen_return. */
double topcoat_return(const struct topcoat *topcoat, double gu60, enum geometry geometry);
/* Haze of a clear of this gloss. topcoat NULL: as modelled. */
double sheen_haze(double gu60, const struct topcoat *topcoat);

/* Fresnel's reflection of unpolarised light that comes from air on a smooth surface of index n >= 1, at an
 * angle from the normal. */
double fresnel_at(double n, double degrees);
/* For diffuse light from outside, and for diffuse light from inside (k2 of an ideal film): 1 - (1 - outside)
 * / n^2. */
double fresnel_diffuse_outside(double n);
double fresnel_diffuse_inside(double n);

#endif
