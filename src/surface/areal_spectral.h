/* The part of areal.h that needs transforms: Sal, Str, Std of heights about their mean. The filters in
 * double (FFTW_ESTIMATE: the same plan each time), the rest in single precision (surface/transform.h). */
#ifndef RUSSET_SURFACE_AREAL_SPECTRAL_H
#define RUSSET_SURFACE_AREAL_SPECTRAL_H

#include "surface/areal.h"

/* Writes value[AREAL_SAL], [AREAL_STR], [AREAL_STD] and is_open. value[AREAL_SQ] must be there
 * already, over 0. */
void areal_spectral(const struct relief *relief, double mean, struct work *work, struct areal *out);

#endif
