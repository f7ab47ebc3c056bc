/* The air interface of a film: Saunderson's correction (Saunderson 1942), with the reading's geometry. */
#ifndef RUSSET_PAINT_SURFACE_H
#define RUSSET_PAINT_SURFACE_H

#include "colour/reading.h"

struct surface {
    double k1; /* outer reflection of the incoming beam, 0..0.2 */
    double k2; /* inner reflection of the diffuse light, 0..0.95 */
    double
        sheen_return; /* part of k1 that an sce or 45/0 reading still catches, 0 (mirror) .. 1 (dead matt) */
};

/* Measured from inner reflectance and back. sci keeps k1, the others keep k1 * sheen_return. Exact inverses
 * of each other inside 0 <= inner <= 1. d_inner (may be NULL) receives the derivative of measured by inner.
 */
double surface_measured(double inner, const struct surface *surface, enum geometry geometry, double *d_inner);
double surface_inner(double measured, const struct surface *surface, enum geometry geometry);

#endif
