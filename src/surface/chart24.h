/* The classic chart of 24 patches (McCamy, Marcus and Davidson 1976): published reflectances. */
#ifndef RUSSET_SURFACE_CHART24_H
#define RUSSET_SURFACE_CHART24_H

#include "colour/spectrum.h"

enum { CHART24_PATCHES = 24 };
/* How far a chart at hand may be off the mean of thirty: making and age, dE (ours, from the spread that its
 * publishers name). */
#define CHART24_LAB_SD 0.8

/* patch 0..23, by rows: dark skin first, black last. */
void chart24_reflectance(int patch, struct spectrum *out);

#endif
