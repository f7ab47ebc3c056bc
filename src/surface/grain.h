/* What is told of a grain: the parameters of ISO 25178-2 (areal.h) with their half-widths of 95 % intervals,
 * and whether two grains are the same. Lengths in mm here; Sa and its kin are told in um outside. */
#ifndef RUSSET_SURFACE_GRAIN_H
#define RUSSET_SURFACE_GRAIN_H

#include "surface/areal.h"

struct grain {
    struct areal value, u95;
    double s_mm, l_mm; /* the filters it was read through */
};

static const double GRAIN_DIRECTED = .5; /* Str below: the grain has a direction, and Std means something */
static const double GRAIN_SANDED = -.5;  /* Ssk below: hills are cut off, valleys are left */
static const double GRAIN_FIELD = 40;    /* a field of fewer Sal reads Sal low */

/* u95 of what was read: chance of the field (areal_chance), what all slopes are off in common (1 sigma,
 * relative: stereo_aim), what those of one way are off against those across it (askew, likewise; 0 where the
 * pictures mended the torches), and what the method leaves (gloss: 1.3 % of Sa, 1 sigma). In renderings it
 * holds as told; of real leather allow 10 % on Sa. */
void grain_doubt(struct grain *grain, const struct areal *chance, double common, double askew);

enum grain_verdict { GRAIN_SAME, GRAIN_DIFFERENT, GRAIN_NOT_TOLD };
/* Different when the difference is over both u95 in quadrature; Std is not told unless both have a direction.
 */
enum grain_verdict grain_differs(const struct grain *a, const struct grain *b, enum areal_parameter which,
                                 double *difference, double *u95);

#endif
