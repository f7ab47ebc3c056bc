/* A finite film over a backing, after Kubelka and Munk 1931 (hyperbolic solution: Kubelka 1948).
 *
 *     dR/dx = S - 2 (K + S) R + S R^2,   R(0) = Rg
 *
 * has, with g = sqrt(K (K + 2 S)) (b S of the books), u = 2 g X, e = exp(-u), r = S / (K + S + g) (the opaque
 * film) and F = (1 - e) / g, the solution
 *
 *     R = (S F (1 - Rg r) + 2 Rg e) / (1 + e + (K + S (1 - Rg)) F)
 *
 * It is the books' form times 2 exp(-u/2) sinh(u/2) / (b S), rearranged until every term is non-negative:
 * nothing cancels, so R is exact to a few ulp of itself (dark values too) for all K, S, X >= 0 and 0 <= Rg
 * <= 1. There are no seams to cross: F = 2 X phi(u) with phi(u) = (1 - e)/u takes all limits by itself: K ->
 * 0 gives ((1 - Rg) S X + Rg) / ((1 - Rg) S X + 1), S -> 0 gives Rg exp(-2 K X), X -> 0 gives Rg, X ->
 * infinity gives r.
 *
 * Slopes: what changes at depth x arrives at the top weakened by e(X) D(x)^2 / (e(x) D(X)^2), D the
 * denominator above, so dR/dK = -2 int R(x) ... dx,   dR/dS = int (1 - R(x))^2 ... dx,   dR/dX = 4 e (S (1 -
 * Rg)^2 - 2 K Rg) / D^2 whose integrands have one sign; integrated in closed form they need phi and the two
 * functions phi2, phi3 below, which have a series near 0 and a plain form beyond (the only seams, met to
 * 1e-15). */
#include "paint/film.h"
#include <assert.h>
#include <math.h>
#include <stddef.h>

/* (1 - exp(-u)) / u */
static double phi1(double u) {
    return u > 0 ? -expm1(-u) / u : 1;
}

/* exp(-u) (u - 1 + exp(-u)) / u^2; 1/2 at 0. Series: sum of (-u)^n / (n + 2)!. */
static double phi2(double u) {
    if (u > 1) return exp(-u) * ((u - 1) + exp(-u)) / (u * u);
    double sum = 0;
    for (int n = 17; n >= 0; n--) sum = (1 - u * sum) / (n + 2);
    return exp(-u) * sum; /* 1/2 - u/6 + ... = (1 - u/3 (1 - u/4 ...)) / 2 */
}

/* exp(-u) (sinh u - u) / u^3; 1/6 at 0. Series: sum of u^2n / (2n + 3)!. */
static double phi3(double u) {
    if (u > 2) return (-0.5 * expm1(-2 * u) - u * exp(-u)) / u / u / u;
    double sum = 1;
    for (int n = 10; n >= 1; n--) sum = 1 + u * u * sum / ((2 * n + 2) * (2 * n + 3));
    return exp(-u) * sum / 6;
}

double film_opaque(double k, double s) {
    assert(k >= 0 && s >= 0);
    return s > 0 ? s / (k + s + sqrt(k * (k + 2 * s))) : 0;
}

double film_ratio_of_opaque(double r) {
    return (1 - r) * (1 - r) / (2 * r);
}

/* The parts that reflectance and slopes share. */
struct parts {
    double g, u, e;
    double clear; /* 1 - Rg r, summed so that it keeps its digits when both are near 1 */
    double below; /* the denominator D */
};

static struct parts parts_of(double k, double s, double x, double backing) {
    struct parts p;
    p.g = sqrt(k * (k + 2 * s));
    p.u = 2 * p.g * x;
    p.e = exp(-p.u);
    p.clear = k + s > 0 ? (1 - backing) + backing * (k + p.g) / (k + s + p.g) : 1;
    p.below = 1 + p.e + (k + s * (1 - backing)) * 2 * x * phi1(p.u);
    return p;
}

static double reflectance_of(const struct parts *p, double s, double x, double backing) {
    return (s * 2 * x * phi1(p->u) * p->clear + 2 * backing * p->e) / p->below;
}

double film_inner(double k, double s, double film_um, double backing) {
    assert(k >= 0 && s >= 0 && film_um >= 0 && backing >= 0 && backing <= 1);
    if (isinf(film_um)) return film_opaque(k, s);
    const struct parts p = parts_of(k, s, film_um, backing);
    return reflectance_of(&p, s, film_um, backing);
}

static double slope_by_k(const struct parts *p, double k, double s, double x, double backing) {
    const double n = s * p->clear, d = p->g + k + s * (1 - backing);
    const double sum = 8 * x * x * x * n * d * phi3(p->u) + 4 * x * x * (n + backing * d) * phi2(p->u) +
                       4 * x * backing * p->e * phi1(p->u);
    return -2 * sum / p->below / p->below;
}

static double slope_by_s(const struct parts *p, double k, double x, double backing) {
    const double n = (p->g + k) * p->clear, open = 1 - backing;
    const double sum = 8 * x * x * x * n * n * phi3(p->u) + 8 * x * x * n * open * phi2(p->u) +
                       4 * x * open * open * p->e * phi1(p->u);
    return sum / p->below / p->below;
}

static double slope_by_film(const struct parts *p, double k, double s, double backing) {
    return 4 * p->e * (s * (1 - backing) * (1 - backing) - 2 * k * backing) / p->below / p->below;
}

/* d r / dK = -r / g, d r / dS = K / (g (K + S + g)). */
static double opaque_slopes(double k, double s, double *by_k, double *by_s) {
    const double g = sqrt(k * (k + 2 * s)), r = film_opaque(k, s);
    if (by_k) *by_k = r > 0 ? -r / g : 0;
    if (by_s) *by_s = k > 0 ? sqrt(k) / sqrt(k + 2 * s) / (k + s + g) : 0;
    return r;
}

double film_inner_slopes(double k, double s, double film_um, double backing, double *by_k, double *by_s,
                         double *by_film) {
    assert(k >= 0 && s >= 0 && film_um >= 0 && backing >= 0 && backing <= 1);
    if (isinf(film_um)) {
        if (by_film) *by_film = 0;
        return opaque_slopes(k, s, by_k, by_s);
    }
    const struct parts p = parts_of(k, s, film_um, backing);
    if (by_k) *by_k = slope_by_k(&p, k, s, film_um, backing);
    if (by_s) *by_s = slope_by_s(&p, k, film_um, backing);
    if (by_film) *by_film = slope_by_film(&p, k, s, backing);
    return reflectance_of(&p, s, film_um, backing);
}

/* Inversion. The books' form R = (1 - Rg (a - c)) / (a - Rg + c), times S X, is linear in A = (K + S) X, C =
 * g X coth(g X) and Z = S X: A (R + Rg) + C (R - Rg) - Z (1 + R Rg) = 0 Two backings give A : C : Z as a
 * cross product, which also holds for a dye (Z = 0); C = g X coth(g X) gives the scale. */
struct direction {
    double a, c, z;
};

static struct direction row_of(double backing, double inner) {
    return (struct direction){inner + backing, inner - backing, -(1 + inner * backing)};
}

static struct direction across(struct direction p, struct direction q) {
    return (struct direction){p.c * q.z - p.z * q.c, p.z * q.a - p.a * q.z, p.a * q.c - p.c * q.a};
}

/* atanh(t) / t */
static double atanh_over(double t) {
    return t > 0 ? atanh(t) / t : 1;
}

/* g X coth(g X) > g X always, so g / C >= 1 is noise on an opaque film: the largest film that is still seen
 * stands for it. */
static bool terms_of(struct direction d, double film_um, struct film_terms *out) {
    static const double nearly_opaque = 1 - 1e-12;
    bool real = d.c > 0 && d.z >= 0 && d.a >= d.z;
    const double c = fmax(d.c, 1e-12), z = fmax(d.z, 0), a = fmax(d.a, z);
    double t = sqrt((a - z) * (a + z)) / c;
    if (t >= 1) real = false, t = nearly_opaque;
    const double scale = atanh_over(t) / c / film_um;
    out->k = (a - z) * scale;
    out->s = z * scale;
    return real;
}

static struct direction positive(struct direction d) {
    const double sign = d.c < 0 || (d.c == 0 && d.a < 0) ? -1 : 1;
    return (struct direction){sign * d.a, sign * d.c, sign * d.z};
}

bool film_invert(double film_um, const double backing[2], const double inner[2], struct film_terms *out) {
    assert(film_um > 0 && isfinite(film_um) && backing[0] != backing[1]);
    const struct direction d = across(row_of(backing[0], inner[0]), row_of(backing[1], inner[1]));
    return terms_of(positive(d), film_um, out);
}

/* An opaque reading fixes A : Z = (1 + r^2) : 2 r, one finite film then gives C. */
bool film_invert_opaque(double film_um, double backing, double inner, double opaque, struct film_terms *out) {
    assert(film_um > 0 && isfinite(film_um));
    const struct direction opaque_row = {2 * opaque, 0, -(1 + opaque * opaque)};
    return terms_of(positive(across(opaque_row, row_of(backing, inner))), film_um, out);
}
