/* The three loops that the solver of the fit spends its time in, written once (fit_kernel_body.h) and built
 * twice: for any processor and for AVX2. Sums are taken in the same order in each column, so the bits are the
 * same. Layouts are those of struct normal in fit_solve.c. */
#ifndef RUSSET_PAINT_FIT_KERNEL_H
#define RUSSET_PAINT_FIT_KERNEL_H

#include <stdbool.h>
#include <stddef.h>

enum { FIT_LANES = 16 }; /* columns of the border that are worked on at once; `across` is a multiple of it */

struct fit_kernel {
    /* L of the band matrix a[n][wide + 1], a[i][j] = A(i, i - j), in its place; false: not positive definite.
     * room: [wide]. */
    bool (*cholesky)(double *a, size_t n, size_t wide, double *room);
    /* b[n][across] = L^-1 b */
    void (*forward)(const double *a, size_t n, size_t wide, double *b, size_t across);
    /* c[m][m] - b' b, its lower half */
    void (*take)(const double *b, size_t n, size_t across, double *c, size_t m);
};

extern const struct fit_kernel fit_kernel_base, fit_kernel_avx2;
const struct fit_kernel *fit_kernel_choose(void);

#endif
