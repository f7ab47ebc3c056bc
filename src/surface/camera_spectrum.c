/* ln R ~ N(mu, S + U) near the colour: mu and S are the weighted mean and covariance of the library's mixes,
 * weights falling with dE*ab; U is what pigments that are not in the library may do (smooth along the
 * wavelength). Given Lab(R) = lab exactly, by Gauss-Newton on the constraint:
 *
 *     x <- mu + C H' (H C H')^-1 (lab - Lab(x) + H (x - mu)),    H = dLab/dx,  C = S + U
 *
 * and then var = C - C H' (H C H')^-1 H C + G cov G', G = C H' (H C H')^-1. */
#include "surface/camera_spectrum.h"
#include "base/dense.h"
#include "colour/difference.h"
#include "surface/camera_fit.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NEAR_MOST = 60, STEPS = 30 };

static const double smooth_nm = 45; /* how far along the wavelength U hangs together */
static const double own_sd = .02, other_sd = .08, unlike_sd = .20; /* of ln R: U's */
static const double near_de = 8;                                   /* a mix this near is near */
static const double floor_r = .004;                                /* ln of less is meaningless */

struct near_mix {
    double de;
    size_t index;
};

static int by_de(const void *a, const void *b) {
    const struct near_mix *x = a, *y = b;
    if (x->de != y->de) return x->de < y->de ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

static const struct weights *d65(void) {
    return weights_of((struct view){LIGHT_D65, OBSERVER_10});
}

struct gaussian {
    double mean[BANDS], cov[BANDS][BANDS];
};

static void gaussian_of(const struct spectrum library[], const struct near_mix near[], size_t n, double wide,
                        struct gaussian *out) {
    double total = 0;
    memset(out, 0, sizeof *out);
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < n; i++) {
            const double w = exp(-.5 * pow(near[i].de / wide, 2)) + 1e-6;
            double x[BANDS];
            for (int b = 0; b < BANDS; b++)
                x[b] = log(fmax(library[near[i].index].band[b], floor_r)) - (pass ? out->mean[b] : 0);
            if (!pass) total += w;
            for (int b = 0; b < BANDS; b++) {
                if (!pass) out->mean[b] += w * x[b];
                for (int c = 0; pass && c < BANDS; c++) out->cov[b][c] += w * x[b] * x[c] / total;
            }
            if (!pass && i + 1 == n)
                for (int b = 0; b < BANDS; b++) out->mean[b] /= total;
        }
}

static void add_smooth(double sd, struct gaussian *g) {
    for (int b = 0; b < BANDS; b++)
        for (int c = 0; c < BANDS; c++) {
            const double d = (b - c) * BAND_STEP_NM / smooth_nm;
            g->cov[b][c] += sd * sd * (exp(-.5 * d * d) + (b == c ? .002 : 0));
        }
}

/* Lab of exp(x) and its derivative by x. */
static struct lab lab_of_log(const double x[BANDS], double h[3][BANDS]) {
    const struct weights *w = d65();
    struct spectrum r;
    double by_xyz[3][3];
    for (int b = 0; b < BANDS; b++) r.band[b] = exp(x[b]);
    const struct xyz xyz = xyz_of(&r, w);
    lab_slope(xyz, by_xyz);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < BANDS; b++)
            h[a][b] = r.band[b] * (by_xyz[a][0] * w->x[b] + by_xyz[a][1] * w->y[b] + by_xyz[a][2] * w->z[b]);
    return lab_of(xyz, w);
}

/* gain = C H' (H C H')^-1, 31 x 3. */
static bool gain_of(const struct gaussian *g, double h[3][BANDS], double gain[BANDS][3]) {
    double ch[BANDS][3] = {{0}}, hch[9] = {0};
    for (int b = 0; b < BANDS; b++)
        for (int a = 0; a < 3; a++)
            for (int c = 0; c < BANDS; c++) ch[b][a] += g->cov[b][c] * h[a][c];
    for (int a = 0; a < 3; a++)
        for (int k = 0; k < 3; k++)
            for (int b = 0; b < BANDS; b++) hch[3 * a + k] += h[a][b] * ch[b][k];
    for (int a = 0; a < 3; a++) hch[4 * a] += 1e-9;
    if (!dense_cholesky(hch, 3)) return false;
    for (int b = 0; b < BANDS; b++) {
        memcpy(gain[b], ch[b], sizeof gain[b]);
        dense_cholesky_solve(hch, 3, gain[b]);
    }
    return true;
}

static bool condition(const struct gaussian *g, struct lab lab, double x[BANDS], double h[3][BANDS],
                      double gain[BANDS][3]) {
    memcpy(x, g->mean, sizeof g->mean);
    for (int step = 0; step < STEPS; step++) {
        const struct lab now = lab_of_log(x, h);
        double want[3] = {lab.l - now.l, lab.a - now.a, lab.b - now.b};
        if (fmax(fabs(want[0]), fmax(fabs(want[1]), fabs(want[2]))) < 1e-5 && step > 2)
            return gain_of(g, h, gain);
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < BANDS; b++) want[a] += h[a][b] * (x[b] - g->mean[b]);
        if (!gain_of(g, h, gain)) return false;
        for (int b = 0; b < BANDS; b++) {
            const double to = g->mean[b] + gain[b][0] * want[0] + gain[b][1] * want[1] + gain[b][2] * want[2];
            x[b] = fmin(fmax(to, x[b] - .7), x[b] + .7);
            x[b] = fmin(fmax(x[b], log(1e-4)), log(1.2));
        }
    }
    const struct lab now = lab_of_log(x, h);
    return difference_de76(lab, now) < 1e-2;
}

static void band_of(const struct gaussian *g, const double x[BANDS], double h[3][BANDS],
                    double gain[BANDS][3], double cov[3][3], struct spectrum_guess *out) {
    for (int b = 0; b < BANDS; b++) {
        double var = g->cov[b][b];
        for (int a = 0; a < 3; a++) {
            double hc = 0;
            for (int c = 0; c < BANDS; c++) hc += h[a][c] * g->cov[c][b];
            var -= gain[b][a] * hc;
            for (int k = 0; k < 3; k++) var += gain[b][a] * cov[a][k] * gain[b][k];
        }
        out->reflectance.band[b] = exp(x[b]);
        out->band.band[b] = 1.96 * sqrt(fmax(var, 1e-8)) * exp(x[b]);
    }
}

bool spectrum_guess(const struct spectrum library[], size_t count, bool own, struct lab lab, double cov[3][3],
                    struct arena *arena, struct spectrum_guess *out) {
    struct near_mix *near = arena_need(arena, count, sizeof *near);
    struct gaussian *g = arena_need(arena, 1, sizeof *g);
    double x[BANDS], h[3][BANDS], gain[BANDS][3];
    if (count < 40) return false;
    for (size_t i = 0; i < count; i++)
        near[i] = (struct near_mix){difference_de76(lab, lab_of_spectrum(&library[i], d65())), i};
    qsort(near, count, sizeof *near, by_de);
    const size_t n = count < NEAR_MOST ? count : NEAR_MOST;
    out->nearest_de = 0;
    for (int i = 0; i < 5; i++) out->nearest_de += near[i].de / 5;
    out->unlike = out->nearest_de > near_de;
    gaussian_of(library, near, n, fmax(near[n / 2].de, 3), g);
    add_smooth(out->unlike ? unlike_sd : own ? own_sd : other_sd, g);
    if (!condition(g, lab, x, h, gain)) return false;
    band_of(g, x, h, gain, cov, out);
    return true;
}
