/* Small dense symmetric systems. Matrices are row-major n x n; only what is said is read or written. */
#ifndef RUSSET_BASE_DENSE_H
#define RUSSET_BASE_DENSE_H

#include "base/status.h"
#include <stdbool.h>
#include <stddef.h>

/* Cholesky A = L L' in place (lower triangle; the upper is left alone). False when A is not positive
 * definite. */
bool dense_cholesky(double *a, size_t n) MUST_USE;
/* Solves L L' x = b in place of b. */
void dense_cholesky_solve(const double *l, size_t n, double *b);
/* Solves L y = b in place of b: |y|^2 = b' A^-1 b. */
void dense_forward_solve(const double *l, size_t n, double *b);

#endif
