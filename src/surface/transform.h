/* Two-dimensional transforms of large planes in single precision, rows and then columns (or back), shared out
 * among the threads. The same numbers for any number of threads: a line is always transformed alone and
 * alike. FFTW_ESTIMATE: the same plan each time. */
#ifndef RUSSET_SURFACE_TRANSFORM_H
#define RUSSET_SURFACE_TRANSFORM_H

#include "base/work.h"
#include <complex.h>
#include <fftw3.h>

/* In place; kinds as FFTW names them, not normalised. */
void transform_real(float *plane, int width, int height, fftwf_r2r_kind down, fftwf_r2r_kind across,
                    struct work *work);
/* rows of width reals -> width / 2 + 1 complex numbers each, then columns. from and to may not overlap. */
void transform_forward(const float *from, int width, int height, fftwf_complex *to, struct work *work);
/* The way back (not normalised); from is used up. */
void transform_back(fftwf_complex *from, int width, int height, float *to, struct work *work);

#endif
