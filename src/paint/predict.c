/* Forward path: mass fractions -> K, S (shelf_mix) -> film over backing (film.c) -> air interface
 * (surface.c). Every backing comes as measured and bare, so it is brought inside by the surface constants of
 * the drawdowns, whatever sheen the job will have.
 *
 * Hiding (ISO 6504-3 and ASTM D2805 take the same ratio): Y over black / Y over a white of .80, D65/10, as
 * measured, hides at .98. The ratio only grows with the film. Over black (inner 0) every band rises towards
 * the opaque film. Over a backing w the difference to black falls in every band: with m the interface (and
 * haze), d/dX (m(Rw) - m(R0)) = m'(Rw) f(Rw) - m'(R0) f(R0), f(R) = S(1-R)^2 - 2KR, and m' f falls with R
 * where f > 0 since (1-R)^2 / (1 - k2 R)^2 does, while f(R0) >= 0. So if Y over w falls, the ratio grows
 * because Y over black does not; if it rises, the ratio 1 - (Yw - Y0)/Yw grows as well. With the beam
 * (beam.h) K and S change with the film and the argument is no proof; the sweep of predict_test holds all the
 * same. Hence bisection, on the logarithm of the film from 1 nm to 1 mm. */
#include "paint/predict.h"
#include <assert.h>
#include <math.h>

/* Keeps d R / d K of an opaque film finite at K = 0; moves R by less than the sixth decimal. */
static const double trace_of_k = 1e-15;

struct film_terms predict_terms(double mixed_k, double mixed_s) {
    return (struct film_terms){fmax(mixed_k, trace_of_k), mixed_s};
}

struct surface predict_surface(const struct shelf *shelf, const struct film_case *film) {
    struct surface surface = shelf->surface;
    if (isnan(film->sheen_gu)) return surface;
    surface.sheen_return = film->geometry == shelf->geometry
                               ? topcoat_return(&shelf->topcoat, film->sheen_gu, film->geometry)
                               : sheen_return(film->sheen_gu, film->geometry);
    surface.haze = sheen_haze(film->sheen_gu, &shelf->topcoat);
    return surface;
}

static double backing_inner(const struct shelf *shelf, const struct film_case *film, int band) {
    return isinf(film->film_um) ? 0
                                : surface_inner(film->backing.band[band], &shelf->surface, film->geometry);
}

void predict_reflectance(const struct shelf *shelf, const double part[], const struct film_case *film,
                         struct spectrum *out) {
    double k[BANDS], s[BANDS];
    shelf_mix(shelf, part, k, s);
    const struct surface surface = predict_surface(shelf, film);
    struct beam beam[BANDS];
    shelf_beams(shelf, part, beam);
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(k[b], s[b]);
        const double inner =
            film_lit(&beam[b], terms.k, terms.s, film->film_um, backing_inner(shelf, film, b));
        out->band[b] = surface_measured(inner, &surface, film->geometry, NULL);
    }
}

static void put(double *slopes, int band, double value) {
    if (slopes) slopes[band] = value;
}

void predict_ks_slopes(const struct shelf *shelf, const double part[], const struct film_case *film,
                       struct spectrum *out, double by_k[BANDS], double by_s[BANDS], double by_film[BANDS]) {
    double k[BANDS], s[BANDS], rk, rs, rx, outward;
    shelf_mix(shelf, part, k, s);
    const struct surface surface = predict_surface(shelf, film);
    struct beam beam[BANDS];
    shelf_beams(shelf, part, beam);
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(k[b], s[b]);
        const double backing = backing_inner(shelf, film, b);
        const double inner =
            film_lit_slopes(&beam[b], terms.k, terms.s, film->film_um, backing, &rk, &rs, &rx);
        out->band[b] = surface_measured(inner, &surface, film->geometry, &outward);
        put(by_k, b, outward * rk);
        put(by_s, b, outward * rs);
        put(by_film, b, outward * rx);
    }
}

void predict_slopes(const struct shelf *shelf, const double part[], const struct film_case *film,
                    struct spectrum *out, double *by_part) {
    double by_k[BANDS], by_s[BANDS];
    predict_ks_slopes(shelf, part, film, out, by_k, by_s, NULL);
    for (size_t i = 0; i < shelf->count; i++) {
        const struct toner *toner = &shelf->toner[i];
        double counted;
        toner_counted(toner, part[i], &counted);
        for (int b = 0; b < BANDS; b++)
            by_part[i * BANDS + (size_t)b] = by_k[b] * toner->k[b] + by_s[b] * toner->s[b] * counted;
    }
}

/* A mix as seen through films of any thickness: what hiding needs again and again. */
struct seen {
    double k[BANDS], s[BANDS];
    struct beam beam[BANDS];
    struct surface surface;
    enum geometry geometry;
    const struct weights *weights;
};

static struct seen seen_of(const struct shelf *shelf, const double part[], const struct film_case *film) {
    struct seen seen = {.surface = predict_surface(shelf, film), .geometry = film->geometry};
    shelf_mix(shelf, part, seen.k, seen.s);
    shelf_beams(shelf, part, seen.beam);
    seen.weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    return seen;
}

static double y_over(const struct seen *seen, double film_um, const double backing[BANDS]) {
    double y = 0;
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(seen->k[b], seen->s[b]);
        const double inner = film_lit(&seen->beam[b], terms.k, terms.s, film_um, backing[b]);
        y += seen->weights->y[b] * surface_measured(inner, &seen->surface, seen->geometry, NULL);
    }
    return y;
}

struct inner_backing {
    double band[BANDS];
};

static struct inner_backing brought_inside(const struct shelf *shelf, enum geometry geometry,
                                           const struct spectrum *as_measured) {
    struct inner_backing inner;
    for (int b = 0; b < BANDS; b++)
        inner.band[b] =
            surface_inner(as_measured ? as_measured->band[b] : PREDICT_WHITE, &shelf->surface, geometry);
    return inner;
}

static double ratio_over(const struct seen *seen, double film_um, const struct inner_backing *backing) {
    static const struct inner_backing black = {{0}};
    return y_over(seen, film_um, black.band) / y_over(seen, film_um, backing->band);
}

double predict_contrast_ratio(const struct shelf *shelf, const double part[], const struct film_case *film) {
    if (isinf(film->film_um)) return 1;
    const struct seen seen = seen_of(shelf, part, film);
    const struct inner_backing white = brought_inside(shelf, film->geometry, NULL);
    return ratio_over(&seen, film->film_um, &white);
}

static double film_to_hide_over(const struct seen *seen, const struct inner_backing *backing) {
    double low = log(1e-3), high = log(1e3);
    if (ratio_over(seen, exp(high), backing) < PREDICT_HIDES) return (double)INFINITY;
    for (int i = 0; i < 30; i++) {
        const double middle = 0.5 * (low + high);
        if (ratio_over(seen, exp(middle), backing) < PREDICT_HIDES)
            low = middle;
        else
            high = middle;
    }
    return exp(high);
}

/* Black is never above another backing in any band, so the worst pair is black and one of the others: the
 * largest film of all. */
double predict_film_to_hide(const struct shelf *shelf, const double part[], enum geometry geometry,
                            double sheen_gu, const struct spectrum *backings, size_t backing_count) {
    if (shelf->relative_s) return (double)NAN;
    const struct film_case any = {.film_um = (double)INFINITY, .geometry = geometry, .sheen_gu = sheen_gu};
    const struct seen seen = seen_of(shelf, part, &any);
    const struct inner_backing white = brought_inside(shelf, geometry, NULL);
    double film_um = film_to_hide_over(&seen, &white);
    for (size_t i = 0; i < backing_count; i++) {
        const struct inner_backing real = brought_inside(shelf, geometry, &backings[i]);
        film_um = fmax(film_um, film_to_hide_over(&seen, &real));
    }
    return film_um;
}

double predict_coats(double film_um, double coat_um) {
    assert(coat_um > 0);
    return ceil(film_um / coat_um - 1e-9);
}
