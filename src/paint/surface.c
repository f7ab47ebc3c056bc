/* Saunderson 1942 (J. Opt. Soc. Am. 32:727): with R behind the interface,
 *
 *     measured = keep k1 + (1 - k1)(1 - k2) R / (1 - k2 R)        keep: 1 for sci; sheen_return for sce, 45/0
 * and photo
 *
 * A 45/0 reading takes one direction where d/8 takes all of them, so (1 - k1)(1 - k2) is not its factor: it
 * has one of its own, 1 + oblique times as large, found by the fit (with k2 alone taking it up, tints went
 * off: docs/room.md). Photo is read with the shelf's.
 *
 * A clear over the colour has about its index, so it adds no interface, but it brings its own sheen, and its
 * matting agent scatters a little: haze = S X of a film without absorption over the colour, which lifts dark
 * colours and leaves white alone: 1 - R' = (1 - R) / (1 + haze (1 - R))      (Kubelka-Munk, K = 0; film.c)
 *
 * Sheen: MODEL OF OURS. Facets with normally distributed slopes (rms m, in radians of tilt) return the
 * mirror's light as a lobe.
 *   - GU at 60 degrees: share of the lobe inside the receptor of ISO 2813 (4.4 by 11.7 degrees), times 89.14
 * GU, what Fresnel gives a smooth n = 1.5: GU = 89.14 erf(2.2 / (sqrt2 2m)) erf(5.85 / (sqrt2 m)), m in
 * degrees. A tilt turns the ray by 2 m in the plane of incidence and by 2 cos(60) m across it. Solved for m.
 *   - sce: the trap takes the lobe within 6 degrees of the mirror's direction (from memory: traps of spheres
 * span 10 to 13 degrees): return = exp(-6^2 / (2 (2 m)^2)).
 *   - 45/0 and photo: facets tilted 22.5 degrees send 45 to 0: return = pi D(22.5) / (4 cos 45), D(t) =
 * exp(-tan^2 t / 2 m^2) / (2 pi m^2 cos^4 t) (Cook and Torrance 1982, Beckmann's D; shadowing left out), held
 * at its largest for rougher surfaces, at most 1. Both fall from near 1 (dead matt) to 0 (mirror) and never
 * rise with the gloss. Readings of the shop's own sheens are better.
 *
 * What the shop's own clears return, read in sce or 45/0 under TOPCOAT, stands before this model
 * (topcoat_return).
 *
 * Haze: a straight line in log10 of the gloss, 0 at a full gloss clear (89.14 GU). The figure per decade
 * comes from drawdowns with TOPCOAT; the modelled one (0.0015: a jet black at 3 GU gains .0008) is a guess of
 * ours that says so. */
#include "paint/surface.h"
#include <assert.h>
#include <math.h>

static const double full_gloss_gu = 89.14;
static const double radians = 3.14159265358979323846 / 180;

static double kept_k1(const struct surface *surface, enum geometry geometry) {
    return surface->k1 *
           (geometry == GEOMETRY_SCI || geometry == GEOMETRY_UNKNOWN ? 1 : surface->sheen_return);
}

static double let_through(const struct surface *surface) {
    return (1 - surface->k1) * (1 - surface->k2) * (1 + surface->oblique);
}

/* 1 - R is what a haze changes: y -> y / (1 + haze y). */
static double hazed(double inner, double haze, double *slope) {
    const double y = 1 - inner, below = 1 + haze * y;
    *slope = 1 / (below * below);
    return (inner + haze * y) / below;
}

static double cleared(double inner, double haze) {
    const double y = 1 - inner;
    return (inner - haze * y) / (1 - haze * y);
}

double surface_measured(double inner, const struct surface *surface, enum geometry geometry,
                        double *d_inner) {
    double haze_slope;
    const double r = hazed(inner, surface->haze, &haze_slope);
    const double through = let_through(surface), below = 1 - surface->k2 * r;
    if (d_inner) *d_inner = through / (below * below) * haze_slope;
    return kept_k1(surface, geometry) + through * r / below;
}

double surface_inner(double measured, const struct surface *surface, enum geometry geometry) {
    const double diffuse = measured - kept_k1(surface, geometry);
    const double through = let_through(surface);
    if (!(diffuse > 0)) return 0;
    const double inner = cleared(diffuse / (through + surface->k2 * diffuse), surface->haze);
    return inner > 0 ? fmin(inner, 1) : 0;
}

static double gu_of_slope(double m_degrees) {
    return full_gloss_gu * erf(2.2 / (sqrt(2) * 2 * m_degrees)) * erf(5.85 / (sqrt(2) * m_degrees));
}

/* rms slope in degrees; GU falls with it: bisection on its logarithm between .05 (a mirror) and 60 degrees
 * (.1 GU). */
static double slope_of_gu(double gu) {
    double low = log(0.05), high = log(60);
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (gu_of_slope(exp(middle)) > gu)
            low = middle;
        else
            high = middle;
    }
    return exp(0.5 * (low + high));
}

static double return_to_sphere(double m_degrees) {
    return exp(-36 / (8 * m_degrees * m_degrees));
}

static double return_at_45(double m_degrees) {
    const double t = tan(22.5 * radians), cosine = cos(22.5 * radians);
    const double m = fmin(m_degrees * radians, t / sqrt(2)); /* where D(22.5) is largest */
    const double d = exp(-t * t / (2 * m * m)) / (2 * m * m * cosine * cosine * cosine * cosine);
    return fmin(d / (4 * cos(45 * radians)), 1);
}

double sheen_return(double gu60, enum geometry geometry) {
    assert(gu60 >= 0);
    const double m = slope_of_gu(gu60);
    return geometry == GEOMETRY_45_0 || geometry == GEOMETRY_PHOTO ? return_at_45(m) : return_to_sphere(m);
}

static double logit(double part) {
    const double inside = fmin(fmax(part, 1e-3), 1 - 1e-3);
    return log(inside / (1 - inside));
}

static double log_gloss(double gu60) {
    return log(fmax(gu60, 0.1));
}

double topcoat_return(const struct topcoat *topcoat, double gu60, enum geometry geometry) {
    const size_t n = topcoat->sheens;
    const double *gu = topcoat->sheen_gu, *part = topcoat->returned;
    if (n == 0) return sheen_return(gu60, geometry);
    size_t above = 0;
    while (above < n && gu[above] < gu60) above++;
    double value;
    if (above == 0 || above == n) {
        const size_t end = above == 0 ? 0 : n - 1;
        value =
            logit(part[end]) + logit(sheen_return(gu60, geometry)) - logit(sheen_return(gu[end], geometry));
    } else {
        const double from = log_gloss(gu[above - 1]),
                     t = (log_gloss(gu60) - from) / (log_gloss(gu[above]) - from);
        value = logit(part[above - 1]) * (1 - t) + logit(part[above]) * t;
    }
    return 1 / (1 + exp(-value));
}

double sheen_haze(double gu60, const struct topcoat *topcoat) {
    assert(gu60 >= 0);
    const double per_decade = topcoat && topcoat->measured ? topcoat->haze_per_decade : TOPCOAT_MODELLED_HAZE;
    return per_decade * fmax(log10(full_gloss_gu / fmax(gu60, 0.1)), 0);
}

double fresnel_at(double n, double degrees) {
    assert(n >= 1 && degrees >= 0 && degrees <= 90);
    const double in = cos(degrees * radians), sine = sin(degrees * radians) / n, out = sqrt(1 - sine * sine);
    const double across = (in - n * out) / (in + n * out), along = (out - n * in) / (out + n * in);
    return 0.5 * (across * across + along * along);
}

/* Simpson's rule over 2 R(t) sin t cos t dt; the end at 90 degrees is square-root like in cos t, so t itself
 * is the smooth variable. */
double fresnel_diffuse_outside(double n) {
    enum { STEPS = 2000 };
    double sum = 0;
    for (int i = 0; i <= STEPS; i++) {
        const double degrees = 90.0 * i / STEPS, weight = i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2;
        sum += weight * fresnel_at(n, degrees) * sin(2 * degrees * radians);
    }
    return sum * 90.0 / STEPS * radians / 3;
}

double fresnel_diffuse_inside(double n) {
    return 1 - (1 - fresnel_diffuse_outside(n)) / (n * n);
}
