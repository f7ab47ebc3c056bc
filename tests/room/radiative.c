/* Adding and doubling (van de Hulst 1980, Multiple Light Scattering; Prahl 1995, "The adding-doubling
 * method"), azimuthally averaged, 16 directions: 8 Gauss points below the cosine of the critical angle and 8
 * Radau points above it that include straight down; 16 Radau points when film and air have the same index.
 * The start is a thin layer by the diamond scheme (Wiscombe 1976), phase functions are truncated at 16
 * moments (delta-M, Wiscombe 1977).
 *
 *     mu dI/dtau = -I + (a/2) sum_j w_j [h(mu, mu_j) I_j(down) + h(mu, -mu_j) I_j(up)]
 *
 * Operators are scaled by D = sqrt(2 w mu): D R D^-1 is symmetric by reciprocity, which halves the work and
 * is checked. Fresnel's equations at the surface; the beam of an instrument comes in at normal incidence (8
 * degrees differ by 1e-5 of the surface's reflectance). By reciprocity d/8 is the hemispherical flux of an 8
 * degree beam. */
#include "room/radiative.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { N = DIRECTIONS, HALF = DIRECTIONS / 2 };
#if defined __x86_64__ && defined __GNUC__ && !defined __clang__ && !defined __SANITIZE_ADDRESS__
#define FAST __attribute__((target_clones("avx2", "default")))
#else
#define FAST
#endif
typedef double square[N][N];

/* P_n(x) and P_{n-1}(x). */
static double legendre(int n, double x, double *before) {
    double p = 1, q = 0;
    for (int k = 1; k <= n; k++) {
        const double next = ((2 * k - 1) * x * p - (k - 1) * q) / k;
        q = p;
        p = next;
    }
    if (before) *before = q;
    return p;
}

static void gauss(int n, double low, double high, double mu[], double weight[]) {
    for (int i = 0; i < n; i++) {
        double x = -cos(acos(-1.0) * (i + .75) / (n + .5)), slope = 1;
        for (int step = 0; step < 60; step++) {
            double before;
            const double p = legendre(n, x, &before);
            slope = n * (x * p - before) / (x * x - 1);
            x -= p / slope;
        }
        mu[i] = low + (high - low) * (x + 1) / 2;
        weight[i] = (high - low) / ((1 - x * x) * slope * slope);
    }
}

/* f(x) = (P_{n-1}(x) + P_n(x)) / (1 + x): its n - 1 roots and -1 are the Radau points; here mirrored, so that
 * +1 is one. */
static double radau_function(int n, double x) {
    double before;
    const double p = legendre(n, x, &before);
    return (p + before) / (1 + x);
}

static void radau(int n, double low, double high, double mu[], double weight[]) {
    int found = 0;
    double left = -1 + 1e-9, f_left = radau_function(n, left);
    for (int i = 1; i <= 4000 && found < n - 1; i++) {
        const double right = -1 + 2.0 * i / 4000, f_right = radau_function(n, right);
        if (f_left * f_right <= 0) {
            double a = left, b = right, fa = f_left;
            for (int step = 0; step < 100; step++) {
                const double m = (a + b) / 2, fm = radau_function(n, m);
                if (fa * fm <= 0)
                    b = m;
                else
                    a = m, fa = fm;
            }
            const double x = (a + b) / 2;
            double before;
            legendre(n, x, &before);
            mu[n - 2 - found] = low + (high - low) * (1 - x) / 2;
            weight[n - 2 - found] = (high - low) / 2 * (1 - x) / (n * n * before * before);
            found++;
        }
        left = right, f_left = f_right;
    }
    assert(found == n - 1);
    mu[n - 1] = high;
    weight[n - 1] = (high - low) / 2 * 2 / ((double)n * n);
}

static double fresnel_inside(double index, double mu) {
    const double sin2 = index * index * (1 - mu * mu);
    if (sin2 >= 1) return 1;
    const double out = sqrt(1 - sin2);
    const double s = (index * mu - out) / (index * mu + out), p = (mu - index * out) / (mu + index * out);
    return (s * s + p * p) / 2;
}

static void make_oblique(struct directions *at) {
    const int first = at->index > 1 ? HALF : 0;
    at->oblique_mu = sqrt(1 - .5 / (at->index * at->index));
    at->oblique_inside = fresnel_inside(at->index, at->oblique_mu);
    for (int i = first; i < N; i++) {
        at->along[i] = 1;
        for (int j = first; j < N; j++)
            if (j != i) at->along[i] *= (at->oblique_mu - at->mu[j]) / (at->mu[i] - at->mu[j]);
    }
}

void directions_make(struct directions *out, double index) {
    memset(out, 0, sizeof *out);
    out->index = index;
    if (index > 1) {
        const double critical = sqrt(1 - 1 / (index * index));
        gauss(HALF, 0, critical, out->mu, out->weight);
        radau(HALF, critical, 1, out->mu + HALF, out->weight + HALF);
    } else {
        radau(N, 0, 1, out->mu, out->weight);
    }
    for (int i = 0; i < N; i++) out->inside[i] = index > 1 ? fresnel_inside(index, out->mu[i]) : 0;
    out->outside = (index - 1) * (index - 1) / ((index + 1) * (index + 1));
    make_oblique(out);
    for (int k = 0; k < MOMENTS; k++)
        for (int i = 0; i < N; i++)
            for (int j = 0; j < N; j++)
                out->moment[k][i][j] =
                    (2 * k + 1) * legendre(k, out->mu[i], NULL) * legendre(k, out->mu[j], NULL);
}

void medium_henyey_greenstein(struct medium *medium, double absorb, double scatter, double g) {
    medium->absorb = absorb;
    medium->scatter = scatter;
    medium->moment[0] = 1;
    for (int k = 1; k < MOMENTS; k++) medium->moment[k] = medium->moment[k - 1] * g;
}

/* Rows in lanes of four: the compiler takes whatever registers the machine has. */
typedef double lane __attribute__((vector_size(32)));
enum { LANES = N / 4 };
typedef lane rows[N][LANES];

FAST static void multiply(square out, square a, square b) {
    rows right, result;
    memcpy(right, b, sizeof right);
    for (int i = 0; i < N; i++) {
        lane r0 = {0}, r1 = {0}, r2 = {0}, r3 = {0};
        for (int k = 0; k < N; k++) {
            const double x = a[i][k];
            r0 += x * right[k][0], r1 += x * right[k][1], r2 += x * right[k][2], r3 += x * right[k][3];
        }
        result[i][0] = r0, result[i][1] = r1, result[i][2] = r2, result[i][3] = r3;
    }
    memcpy(out, result, sizeof result);
}

/* x = a^-1 b, a is spoiled; no pivoting: every matrix here is diagonally strong (identity plus something
 * small or positive). */
FAST static void solve(square a, square b) {
    rows left, right;
    memcpy(left, a, sizeof left);
    memcpy(right, b, sizeof right);
    for (int k = 0; k < N; k++) {
        const double pivot = 1 / left[k][k / 4][k % 4];
        for (int j = k / 4; j < LANES; j++) left[k][j] *= pivot;
        for (int j = 0; j < LANES; j++) right[k][j] *= pivot;
        for (int i = k + 1; i < N; i++) {
            const double x = left[i][k / 4][k % 4];
            for (int j = k / 4; j < LANES; j++) left[i][j] -= x * left[k][j];
            for (int j = 0; j < LANES; j++) right[i][j] -= x * right[k][j];
        }
    }
    for (int k = N - 1; k > 0; k--)
        for (int i = 0; i < k; i++) {
            const double x = left[i][k / 4][k % 4];
            for (int j = 0; j < LANES; j++) right[i][j] -= x * right[k][j];
        }
    memcpy(b, right, sizeof right);
}

/* The diamond scheme in symmetric scaling: A = dtau/2 M^-1 (1 - a/2 h++ W), B = dtau/2 M^-1 a/2 h+- W. */
static void thin_layer(struct slab *out, const struct directions *at, const double moment[MOMENTS],
                       double albedo, double tau) {
    square a, b, identity_plus, x, g;
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) {
            double even = 0, odd = 0;
            for (int k = 0; k < MOMENTS; k += 2) {
                even += moment[k] * at->moment[k][i][j];
                odd += moment[k + 1] * at->moment[k + 1][i][j];
            }
            const double scale =
                tau / 2 * albedo / 2 * sqrt(at->weight[i] * at->weight[j] / (at->mu[i] * at->mu[j]));
            a[i][j] = (i == j ? tau / 2 / at->mu[i] : 0) - scale * (even + odd);
            b[i][j] = scale * (even - odd);
            identity_plus[i][j] = (i == j) + a[i][j];
        }
    memcpy(x, b, sizeof x);
    solve(identity_plus, x); /* (1 + A)^-1 B */
    square product;
    multiply(product, b, x);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) {
            g[i][j] = (i == j) + a[i][j] - product[i][j];
            out->t[i][j] = i == j;
        }
    square keep;
    memcpy(keep, g, sizeof g);
    memcpy(out->r, x, sizeof x);
    /* R = 2 G B (1 + A)^-1; transposed (all are symmetric): 2 (1 + A)^-1 B G = 2 X G; solve G^-1 R = 2 X'
     * needs X', so: */
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) out->r[i][j] = 2 * x[j][i];
    solve(g, out->r);
    solve(keep, out->t);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) out->t[i][j] = 2 * out->t[i][j] - (i == j);
}

/* One layer on its like: T' = T (1 - R R)^-1 T, R' = R + T (1 - R R)^-1 R T; R commutes with (1 - R R)^-1. */
static void double_layer(struct slab *slab) {
    square gap, p, rp, more;
    multiply(gap, slab->r, slab->r);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) gap[i][j] = (i == j) - gap[i][j];
    memcpy(p, slab->t, sizeof p);
    solve(gap, p);
    multiply(rp, slab->r, p);
    multiply(more, slab->t, rp);
    multiply(slab->t, slab->t, p);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) slab->r[i][j] += more[i][j];
}

void slab_make(struct slab *out, const struct directions *at, const struct medium *medium, double film_um) {
    const double cut =
        medium->moment[MOMENTS - 1] * medium->moment[1]; /* the moment after the last, by HG's habit */
    double moment[MOMENTS];
    for (int k = 0; k < MOMENTS; k++) moment[k] = (medium->moment[k] - cut) / (1 - cut);
    const double scatter = medium->scatter * (1 - cut), lost = medium->absorb + scatter;
    memset(out, 0, sizeof *out);
    for (int i = 0; i < N; i++) out->t[i][i] = 1;
    if (!(lost * film_um > 0)) return;
    double tau = lost * film_um;
    int doublings = 0;
    while (tau > .5 * at->mu[0] * 2 && doublings < 60) tau /= 2, doublings++;
    thin_layer(out, at, moment, scatter / lost, tau);
    for (int i = 0; i < doublings; i++) double_layer(out);
}

void slab_stack_reflection(square out, const struct slab *upper, square below) {
    square gap, p, x;
    struct slab u = *upper;
    memcpy(x, below, sizeof x);
    multiply(gap, x, u.r);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) gap[i][j] = (i == j) - gap[i][j];
    multiply(p, x, u.t); /* up at the seam = (1 - B R)^-1 B T */
    solve(gap, p);
    multiply(out, u.t, p);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) out[i][j] += u.r[i][j];
}

/* The floor is rank one in the scaled basis: B = floor d d', d_i = sqrt(2 w_i mu_i), d'd = 1. */
void slab_over(square out, const struct directions *at, const struct slab *slab, double floor) {
    double d[N], td[N] = {0}, back = 0, norm = 0;
    for (int i = 0; i < N; i++) d[i] = sqrt(2 * at->weight[i] * at->mu[i]), norm += d[i] * d[i];
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) {
            td[i] += slab->t[i][j] * d[j];
            back += d[i] * slab->r[i][j] * d[j];
        }
    const double gain = floor / norm / (1 - floor / norm * back);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) out[i][j] = slab->r[i][j] + gain * td[i] * td[j];
}

struct leaving surface_leaving(const struct directions *at, square below) {
    double d[N];
    square a, b;
    memset(b, 0, sizeof b);
    for (int i = 0; i < N; i++) d[i] = sqrt(2 * at->weight[i] * at->mu[i]);
    for (int i = 0; i < N; i++) {
        for (int j = 0; j < N; j++) a[i][j] = (i == j) - below[i][j] * at->inside[j];
        b[i][0] = below[i][N - 1] * (1 - at->outside) / d[N - 1];
    }
    solve(a, b);
    struct leaving out = {0, 0};
    for (int i = 0; i < N; i++) {
        out.diffuse += d[i] * (1 - at->inside[i]) * b[i][0];
        out.oblique += at->along[i] * b[i][0] / d[i];
    }
    out.oblique *= (1 - at->oblique_inside) / (at->index * at->index);
    return out;
}

double slab_flux(const struct directions *at, square operator_, int from) {
    double total = 0;
    for (int i = 0; i < N; i++) {
        const double di = sqrt(2 * at->weight[i] * at->mu[i]);
        if (from >= 0)
            total += di * operator_[i][from] / sqrt(2 * at->weight[from] * at->mu[from]);
        else
            for (int j = 0; j < N; j++) total += di * operator_[i][j] * sqrt(2 * at->weight[j] * at->mu[j]);
    }
    return total;
}
