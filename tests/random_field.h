/* Random surfaces for tests: heights with a Gaussian autocorrelation exp(-t^2/T^2) (periodic, amplitude
 * exact, phases by chance). */
#ifndef RUSSET_TESTS_RANDOM_FIELD_H
#define RUSSET_TESTS_RANDOM_FIELD_H

#include "check.h"
#include <complex.h>
#include <fftw3.h>

/* n x n heights, pixel step, root mean square sq, correlation lengths tx and ty; freed by the caller. */
static inline double *random_field(int n, double step, double sq, double tx, double ty,
                                   unsigned long long seed) {
    const size_t half = (size_t)n / 2 + 1, all = (size_t)n * (size_t)n;
    const double turn = 6.283185307179586;
    double *z = calloc(all, sizeof *z);
    fftw_complex *s = calloc((size_t)n * half, sizeof *s);
    if (!z || !s) abort();
    fftw_plan plan = fftw_plan_dft_c2r_2d(n, n, s, z, FFTW_ESTIMATE);
    double sum = 0;
    for (int y = 0; y < n; y++)
        for (size_t x = 0; x < half; x++) {
            const double fx = (double)x / (n * step), fy = (double)(y <= n / 2 ? y : y - n) / (n * step);
            const double a = exp(-turn * turn * (fx * fx * tx * tx + fy * fy * ty * ty) / 8);
            const double phase = turn * check_random(&seed);
            s[(size_t)y * half + x] =
                x + (size_t)y == 0 ? 0 : a * (cos(phase) + sin(phase) * (double complex)I);
        }
    fftw_execute(plan);
    fftw_destroy_plan(plan);
    for (size_t i = 0; i < all; i++) sum += z[i] * z[i];
    const double scale = sq / sqrt(sum / (double)all);
    for (size_t i = 0; i < all; i++) z[i] *= scale;
    free(s);
    return z;
}

#endif
