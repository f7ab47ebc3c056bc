/* The band gives each wavelength's own spread, sd = band / 1.96; what hangs together along the wavelength is
 * taken as exp(-(dnm / 45)^2 / 2), as the estimate itself has it (pigments' curves are that smooth; common
 * practice). Of C = D r D, D = diag(sd), a part moves the Lab that was seen, and that part is known by
 * lab_cov:
 *
 *     G = C H' (H C H')^-1,   T = f (C - G H C) + G lab_cov G',   H = dLab/dR under D65/10
 *
 * f makes the sum of T's variances that of the band (0 when lab_cov alone is more). Under a light with slope
 * L, cov = L T L': three by three, whatever the 31 bands do, and lab_cov for D65/10, since H G = 1. First
 * order in R; a band wider than the reflectance itself is taken at the reflectance. */
#include "paint/target_doubt.h"
#include "base/dense.h"
#include <math.h>
#include <string.h>

static const double smooth_nm = 45, rough = .002;

struct spread {
    double of[BANDS][BANDS];
};

/* dLab/dR by central differences. */
static void lab_by_band(const struct spectrum *at, const struct weights *light, double out[3][BANDS]) {
    const double h = 1e-4;
    for (int b = 0; b < BANDS; b++) {
        struct spectrum up = *at, down = *at;
        up.band[b] += h, down.band[b] -= h;
        const struct lab a = lab_of_spectrum(&up, light), c = lab_of_spectrum(&down, light);
        out[0][b] = (a.l - c.l) / (2 * h);
        out[1][b] = (a.a - c.a) / (2 * h);
        out[2][b] = (a.b - c.b) / (2 * h);
    }
}

static void along_the_band(const struct reading *target, struct spread *out) {
    for (int b = 0; b < BANDS; b++)
        for (int c = 0; c < BANDS; c++) {
            const double d = (b - c) * BAND_STEP_NM / smooth_nm;
            const double x = fmin(target->band.band[b], target->reflectance.band[b]) / 1.96,
                         y = fmin(target->band.band[c], target->reflectance.band[c]) / 1.96;
            out->of[b][c] = x * y * (exp(-.5 * d * d) + (b == c ? rough : 0));
        }
}

static double variance_sum(const struct spread *s) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += s->of[b][b];
    return sum;
}

/* G, 31 x 3, and H C; false when the band says nothing. */
static bool gain(const struct spread *c, double h[3][BANDS], double g[BANDS][3], double hc[3][BANDS]) {
    double hch[9] = {0};
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < BANDS; b++) {
            hc[a][b] = 0;
            for (int k = 0; k < BANDS; k++) hc[a][b] += h[a][k] * c->of[k][b];
        }
    for (int a = 0; a < 3; a++)
        for (int k = 0; k < 3; k++)
            for (int b = 0; b < BANDS; b++) hch[3 * a + k] += hc[a][b] * h[k][b];
    if (!dense_cholesky(hch, 3)) return false;
    for (int b = 0; b < BANDS; b++) {
        for (int a = 0; a < 3; a++) g[b][a] = hc[a][b];
        dense_cholesky_solve(hch, 3, g[b]);
    }
    return true;
}

/* T of a reading with a band; false when the band says nothing. */
static bool whole_spread(const struct reading *target, struct spread *t) {
    double h[3][BANDS], hc[3][BANDS], g[BANDS][3];
    struct spread seen;
    along_the_band(target, t);
    const double asked = variance_sum(t);
    lab_by_band(&target->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}), h);
    if (!gain(t, h, g, hc)) return false;
    for (int b = 0; b < BANDS; b++)
        for (int c = 0; c < BANDS; c++) {
            seen.of[b][c] = 0;
            for (int a = 0; a < 3; a++) {
                t->of[b][c] -= g[b][a] * hc[a][c];
                for (int k = 0; k < 3 && target->has_cov; k++)
                    seen.of[b][c] += g[b][a] * target->lab_cov[a][k] * g[c][k];
            }
        }
    const double unseen = variance_sum(t),
                 factor = fmax(asked - variance_sum(&seen), 0) / fmax(unseen, 1e-30);
    for (int b = 0; b < BANDS; b++)
        for (int c = 0; c < BANDS; c++) t->of[b][c] = fmin(factor, 4) * t->of[b][c] + seen.of[b][c];
    return true;
}

bool target_doubt(const struct reading *target, const struct weights *light, double cov[3][3]) {
    struct spread t;
    double slope[3][BANDS];
    if (target->has_cov) memcpy(cov, target->lab_cov, sizeof target->lab_cov);
    if (!target->has_spectrum || !target->has_band || !whole_spread(target, &t)) return target->has_cov;
    lab_by_band(&target->reflectance, light, slope);
    for (int a = 0; a < 3; a++)
        for (int k = 0; k < 3; k++) {
            cov[a][k] = 0;
            for (int b = 0; b < BANDS; b++)
                for (int c = 0; c < BANDS; c++) cov[a][k] += slope[a][b] * t.of[b][c] * slope[k][c];
        }
    return true;
}
