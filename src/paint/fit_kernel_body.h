/* See fit_kernel.h. Included once for each build; KERNEL_NAME is set by the file that includes it. */
#pragma GCC diagnostic ignored "-Wpsabi"
#include "paint/fit_kernel.h"
#include <math.h>
#include <string.h>

typedef double four __attribute__((vector_size(32)));
enum { FOURS = FIT_LANES / 4 };

/* Column by column: what a column takes from those behind it does not wait for the sums of others. */
static bool cholesky(double *a, size_t n, size_t wide, double *room) {
    for (size_t k = 0; k < n; k++) {
        double *pivot = a + k * (wide + 1);
        const size_t below = n - 1 - k < wide ? n - 1 - k : wide;
        if (!(pivot[0] > 0)) return false;
        pivot[0] = sqrt(pivot[0]);
        for (size_t x = 1; x <= below; x++) {
            double *row = a + (k + x) * (wide + 1);
            row[x] /= pivot[0];
            room[wide - x] = row[x]; /* backwards, as a row lies */
            const double own = row[x], *restrict from = room + (wide - x);
            double *restrict to = row;
            for (size_t d = 0; d < x; d++) to[d] -= own * from[d];
        }
    }
    return true;
}

static void forward(const double *a, size_t n, size_t wide, double *b, size_t across) {
    for (size_t c = 0; c < across; c += FIT_LANES)
        for (size_t i = 0; i < n; i++) {
            const double *row = a + i * (wide + 1);
            double *own = b + i * across + c;
            four sum[FOURS];
            memcpy(sum, own, sizeof sum);
            for (size_t j = i > wide ? i - wide : 0; j < i; j++) {
                const four f = (four){0} + row[i - j];
                for (int x = 0; x < FOURS; x++) {
                    four y;
                    memcpy(&y, b + j * across + c + 4 * x, sizeof y);
                    sum[x] -= f * y;
                }
            }
            for (int x = 0; x < FOURS; x++) sum[x] /= (four){0} + row[0];
            memcpy(own, sum, sizeof sum);
        }
}

/* A panel of rows at a time stays near the processor. */
static void take(const double *b, size_t n, size_t across, double *c, size_t m) {
    enum { PANEL = 64 };
    for (size_t from = 0; from < n; from += PANEL) {
        const size_t to = from + PANEL < n ? from + PANEL : n;
        for (size_t i = 0; i < m; i++)
            for (size_t at = 0; at <= i; at += FIT_LANES) {
                four sum[FOURS] = {{0}};
                double taken[FIT_LANES];
                for (size_t k = from; k < to; k++) {
                    const four f = (four){0} + b[k * across + i];
                    for (int x = 0; x < FOURS; x++) {
                        four y;
                        memcpy(&y, b + k * across + at + 4 * x, sizeof y);
                        sum[x] -= f * y;
                    }
                }
                memcpy(taken, sum, sizeof taken);
                for (size_t x = 0; x < FIT_LANES && at + x <= i; x++) c[i * m + at + x] += taken[x];
            }
    }
}

const struct fit_kernel KERNEL_NAME = {cholesky, forward, take};
