#include "base/dense.h"
#include <math.h>

bool dense_cholesky(double *a, size_t n) {
    for (size_t j = 0; j < n; j++) {
        for (size_t i = j; i < n; i++) {
            double sum = a[i * n + j];
            for (size_t k = 0; k < j; k++) sum -= a[i * n + k] * a[j * n + k];
            if (i > j)
                a[i * n + j] = sum / a[j * n + j];
            else if (sum > 0)
                a[j * n + j] = sqrt(sum);
            else
                return false; /* NaN comes here too */
        }
    }
    return true;
}

void dense_forward_solve(const double *l, size_t n, double *b) {
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) b[i] -= l[i * n + k] * b[k];
        b[i] /= l[i * n + i];
    }
}

void dense_cholesky_solve(const double *l, size_t n, double *b) {
    dense_forward_solve(l, n, b);
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++) b[i] -= l[k * n + i] * b[k];
        b[i] /= l[i * n + i];
    }
}
