/* The part of areal.h that needs transforms: Sal, Str, Std of heights about their mean. FFTW in double,
 * FFTW_ESTIMATE: the same plan each time. */
#ifndef RUSSET_SURFACE_AREAL_SPECTRAL_H
#define RUSSET_SURFACE_AREAL_SPECTRAL_H

#include "surface/areal.h"

/* Writes value[AREAL_SAL], [AREAL_STR], [AREAL_STD] and is_open. The heights must differ. */
void areal_spectral(const struct relief *relief, double mean, struct areal *out);

#endif
