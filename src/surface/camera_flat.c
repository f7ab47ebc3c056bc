#include "surface/camera_flat.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { ROUNDS = 12, MOST = 1024 };

static const double biweight = 4.685; /* 95 % efficient (Huber & Ronchetti 2009) */
static const double sd_least = 2e-3;
static const double curve_sd = .5; /* ridge: a quadratic term is that small or smaller, in ln light */

static void terms_at(const struct camera_flat *flat, const double mm[2], double t[FLAT_TERMS]) {
    double p[2];
    for (int i = 0; i < 2; i++) {
        p[i] = (mm[i] - flat->origin_mm[i]) / flat->scale_mm;
        p[i] = fmin(fmax(p[i], flat->low[i]), flat->high[i]);
    }
    const double all[FLAT_TERMS] = {1, p[0], p[1], p[0] * p[0], p[0] * p[1], p[1] * p[1]};
    memcpy(t, all, sizeof all);
}

void flat_none(const double size_mm[2], struct camera_flat *out) {
    *out = (struct camera_flat){.origin_mm = {size_mm[0] / 2, size_mm[1] / 2},
                                .scale_mm = fmax(size_mm[0], size_mm[1]) / 2,
                                .low = {-1, -1},
                                .high = {1, 1}};
}

/* The middle value, by Hoare's FIND (1961): the light is fitted some hundred times a photograph, and to sort
 * for each was most of it. Leaves v in another order. */
static double middle_of(double v[], size_t n) {
    size_t low = 0, high = n - 1;
    const size_t k = n / 2;
    while (low < high) {
        const double pivot = v[k];
        size_t i = low, j = high;
        for (;;) {
            while (v[i] < pivot) i++;
            while (pivot < v[j]) j--;
            if (i <= j) {
                const double swapped = v[i];
                v[i++] = v[j], v[j] = swapped;
                if (j == 0) break;
                j--;
            }
            if (i > j) break;
        }
        if (j < k) low = i;
        if (k < i) high = j;
    }
    return v[k];
}

static double robust_sd(const double off[], size_t n) {
    double size[MOST];
    for (size_t i = 0; i < n; i++) size[i] = fabs(off[i]);
    return fmax(sd_least, 1.4826 * middle_of(size, n));
}

static bool solve(double term[][FLAT_TERMS], const double value[], const double weight[], size_t n,
                  double out[FLAT_TERMS]) {
    double normal[FLAT_TERMS * FLAT_TERMS] = {0};
    memset(out, 0, FLAT_TERMS * sizeof *out);
    for (size_t i = 0; i < n; i++)
        for (int a = 0; a < FLAT_TERMS; a++) {
            out[a] += weight[i] * term[i][a] * value[i];
            for (int b = 0; b <= a; b++) normal[a * FLAT_TERMS + b] += weight[i] * term[i][a] * term[i][b];
        }
    for (int a = 1; a < FLAT_TERMS; a++)
        normal[a * FLAT_TERMS + a] += (a < 3 ? 1e-3 : 1) * pow(sd_least / curve_sd, 2);
    if (!dense_cholesky(normal, FLAT_TERMS)) return false;
    dense_cholesky_solve(normal, FLAT_TERMS, out);
    return true;
}

static bool fit_channel(double term[][FLAT_TERMS], const double value[], size_t n, double out[FLAT_TERMS],
                        double *sd) {
    double weight[MOST], off[MOST], sorted[MOST];
    memcpy(sorted, value, n * sizeof *sorted);
    const double middle = middle_of(sorted, n);
    for (size_t i = 0; i < n; i++) off[i] = value[i] - middle;
    *sd = robust_sd(off, n);
    for (int round = 0; round < ROUNDS; round++) {
        for (size_t i = 0; i < n; i++) {
            const double u = off[i] / (biweight * *sd);
            weight[i] = fabs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;
        }
        if (!solve(term, value, weight, n, out)) return false;
        for (size_t i = 0; i < n; i++) {
            off[i] = value[i];
            for (int a = 0; a < FLAT_TERMS; a++) off[i] -= term[i][a] * out[a];
        }
        *sd = robust_sd(off, n);
    }
    return true;
}

bool flat_fit(const double (*mm)[2], const double (*light)[3], size_t count, const double size_mm[2],
              struct camera_flat *out) {
    double term[MOST][FLAT_TERMS], value[MOST];
    flat_none(size_mm, out);
    if (count < FLAT_FEWEST) return false;
    if (count > MOST) count = MOST;
    for (size_t i = 0; i < count; i++) terms_at(out, mm[i], term[i]);
    for (int c = 0; c < 3; c++) {
        for (size_t i = 0; i < count; i++) {
            assert(light[i][c] > 0);
            value[i] = log(light[i][c]);
        }
        if (!fit_channel(term, value, count, out->term[c], &out->sd[c])) {
            flat_none(size_mm, out);
            return false;
        }
    }
    for (int i = 0; i < 2; i++) {
        double low = 1, high = -1;
        for (size_t k = 0; k < count; k++) {
            const double p = (mm[k][i] - out->origin_mm[i]) / out->scale_mm;
            low = fmin(low, p), high = fmax(high, p);
        }
        out->low[i] = low - .1, out->high[i] = high + .1;
    }
    return true;
}

double flat_at(const struct camera_flat *flat, int channel, const double mm[2]) {
    double t[FLAT_TERMS], sum = 0;
    terms_at(flat, mm, t);
    for (int a = 0; a < FLAT_TERMS; a++) sum += flat->term[channel][a] * t[a];
    return exp(sum);
}
