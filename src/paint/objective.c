/* F and its gradient. Uncertain targets: the expectation of dE00 over Lab ~ N(lab, cov) by seven points of
 * degree three (Julier and Uhlmann 1997, n = 3, kappa = 1). Valid for any mix; at dE00 = 0 or RMS = 0 F has a
 * kink and the gradient is one of its subgradients. */
#include "paint/objective.h"
#include "base/dense.h"
#include "colour/difference.h"
#include "paint/target_doubt.h"
#include <assert.h>
#include <math.h>

static double mean_price(const struct shelf *shelf) {
    double sum = 0, count = 0;
    for (size_t i = 0; i < shelf->count; i++) {
        if (shelf->toner[i].price_minor_per_kg < 0) continue;
        sum += (double)shelf->toner[i].price_minor_per_kg;
        count++;
    }
    return count > 0 ? sum / count : 0;
}

static void set_prices(struct objective *o) {
    const double mean = mean_price(o->shelf);
    for (size_t i = 0; i < o->shelf->count; i++) {
        const long long price = o->shelf->toner[i].price_minor_per_kg;
        o->price[i] = mean > 0 ? (price < 0 ? 1 : (double)price / mean) : 0;
    }
}

static void add_term(struct objective *o, size_t light, struct lab lab, double weight) {
    o->term[o->terms++] = (struct objective_term){light, lab, weight};
}

/* step[3][3]: rows are two standard deviations along the axes; false when the covariance says nothing. */
static bool uncertainty_steps(const struct reading *target, const struct weights *light, double step[3][3]) {
    double l[9], cov[3][3];
    if (!target_doubt(target, light, cov)) return false;
    const double least = 1e-9 * (1 + cov[0][0] + cov[1][1] + cov[2][2]);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) l[3 * i + j] = cov[i][j] + (i == j ? least : 0);
    if (!dense_cholesky(l, 3)) return false;
    for (int axis = 0; axis < 3; axis++)
        for (int i = 0; i < 3; i++) step[axis][i] = i >= axis ? 2 * l[3 * i + axis] : 0;
    return true;
}

static void add_light(struct objective *o, const struct reading *target, size_t light, struct lab lab,
                      double weight) {
    double step[3][3];
    if (!uncertainty_steps(target, o->light[light], step)) {
        add_term(o, light, lab, weight);
        return;
    }
    add_term(o, light, lab, weight / 4);
    for (int i = 0; i < 6; i++) {
        const double *s = step[i / 2], sign = i % 2 ? -1 : 1;
        const struct lab moved = {lab.l + sign * s[0], lab.a + sign * s[1], lab.b + sign * s[2], lab.view};
        add_term(o, light, moved, weight / 8);
    }
}

static bool is_d65_10(struct view view) {
    return view.light == LIGHT_D65 && view.observer == OBSERVER_10;
}

/* Only the colour under D65/10 is known. */
static void make_lab_only(struct objective *o, const struct reading *target,
                          const struct weights *const light[], size_t count) {
    o->lights = 1;
    o->light[0] = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    o->light_given[0] = OBJECTIVE_LIGHTS_MOST;
    for (size_t i = 0; i < count; i++)
        if (is_d65_10(light[i]->view) && o->light_given[0] == OBJECTIVE_LIGHTS_MOST) o->light_given[0] = i;
    add_light(o, target, 0, target->lab, 1);
}

static void make_spectral(struct objective *o, const struct reading *target,
                          const struct weights *const light[], const double weight[], size_t count) {
    double sum = 0;
    for (size_t i = 0; i < count; i++) sum += weight[i];
    assert(sum > 0);
    o->lights = count;
    for (size_t i = 0; i < count; i++) {
        o->light[i] = light[i];
        o->light_given[i] = i;
        add_light(o, target, i, lab_of_spectrum(&target->reflectance, light[i]), weight[i] / sum);
    }
    for (int b = 0; b < BANDS; b++) o->target[b] = target->reflectance.band[b];
}

void objective_make(struct objective *out, const struct shelf *shelf, const struct reading *target,
                    const struct film_case *film, const struct weights *const light[], const double weight[],
                    size_t count, double cost_weight) {
    assert(count >= 1 && count <= OBJECTIVE_LIGHTS_MOST && shelf->count <= SHELF_MOST);
    *out = (struct objective){
        .shelf = shelf, .film = *film, .spectral = target->has_spectrum, .cost_weight = cost_weight};
    out->surface = predict_surface(shelf, film);
    for (int b = 0; b < BANDS; b++)
        out->backing[b] =
            isinf(film->film_um) ? 0 : surface_inner(film->backing.band[b], &shelf->surface, film->geometry);
    if (target->has_spectrum)
        make_spectral(out, target, light, weight, count);
    else
        make_lab_only(out, target, light, count);
    set_prices(out);
}

static void see(const struct objective *o, const double part[], struct spectrum *out) {
    double k[BANDS], s[BANDS];
    struct beam beam[BANDS];
    shelf_mix(o->shelf, part, k, s);
    shelf_beams(o->shelf, part, beam);
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(k[b], s[b]);
        const double inner = film_lit(&beam[b], terms.k, terms.s, o->film.film_um, o->backing[b]);
        out->band[b] = surface_measured(inner, &o->surface, o->film.geometry, NULL);
    }
}

static double spectral_sum(const struct objective *o, const struct spectrum *seen) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += (seen->band[b] - o->target[b]) * (seen->band[b] - o->target[b]);
    return sum;
}

static double cost_of(const struct objective *o, const double part[]) {
    double cost = 0;
    for (size_t i = 0; i < o->shelf->count; i++) cost += part[i] * o->price[i];
    return cost;
}

void objective_of(const struct objective *o, const double part[], struct objective_value *out) {
    double weight[OBJECTIVE_LIGHTS_MOST] = {0}, sum[OBJECTIVE_LIGHTS_MOST] = {0};
    struct lab seen[OBJECTIVE_LIGHTS_MOST];
    see(o, part, &out->reflectance);
    for (size_t l = 0; l < o->lights; l++) seen[l] = lab_of_spectrum(&out->reflectance, o->light[l]);
    for (size_t i = 0; i < OBJECTIVE_LIGHTS_MOST; i++) out->de00[i] = (double)NAN;
    out->f = 0;
    for (size_t t = 0; t < o->terms; t++) {
        const struct objective_term *term = &o->term[t];
        const double de00 = difference_de00(term->lab, seen[term->light]);
        /* a light of weight 0 is shown all the same: its points count by their share of seven */
        const double share = o->terms == o->lights ? 1 : t % OBJECTIVE_POINTS == 0 ? .25 : .125;
        out->f += term->weight * de00;
        sum[term->light] += share * de00;
        weight[term->light] += share;
    }
    for (size_t l = 0; l < o->lights; l++)
        if (o->light_given[l] < OBJECTIVE_LIGHTS_MOST) out->de00[o->light_given[l]] = sum[l] / weight[l];
    out->rms_percent = o->spectral ? 100 * sqrt(spectral_sum(o, &out->reflectance) / BANDS) : (double)NAN;
    out->cost = cost_of(o, part);
    out->f += (o->spectral ? .1 * out->rms_percent : 0) + o->cost_weight * out->cost;
}

/* dF / d reflectance, and F without its cost. */
static double slope_by_band(const struct objective *o, const struct spectrum *seen, double smooth,
                            double by_band[BANDS]) {
    double f = 0, by_lab[OBJECTIVE_LIGHTS_MOST][3] = {{0}};
    for (int b = 0; b < BANDS; b++) by_band[b] = 0;
    for (size_t t = 0; t < o->terms; t++) {
        const struct objective_term *term = &o->term[t];
        double g[3];
        const double square =
            difference_de00_squared(term->lab, lab_of_spectrum(seen, o->light[term->light]), g);
        const double de00 = sqrt(square + smooth * smooth);
        f += term->weight * de00;
        for (int i = 0; i < 3 && de00 > 0; i++) by_lab[term->light][i] += term->weight * g[i] / (2 * de00);
    }
    for (size_t l = 0; l < o->lights; l++) {
        const struct weights *w = o->light[l];
        const struct xyz xyz = xyz_of(seen, w);
        const double r[3] = {xyz.x / w->white.x, xyz.y / w->white.y, xyz.z / w->white.z};
        double d[3];
        for (int i = 0; i < 3; i++)
            d[i] = r[i] > 216.0 / 24389 ? 1 / (3 * cbrt(r[i] * r[i])) : 24389.0 / 3132;
        const double by_x = 500 * by_lab[l][1] * d[0] / w->white.x,
                     by_z = -200 * by_lab[l][2] * d[2] / w->white.z;
        const double by_y =
            (116 * by_lab[l][0] - 500 * by_lab[l][1] + 200 * by_lab[l][2]) * d[1] / w->white.y;
        for (int b = 0; b < BANDS; b++) by_band[b] += by_x * w->x[b] + by_y * w->y[b] + by_z * w->z[b];
    }
    if (!o->spectral) return f;
    const double rms = sqrt(spectral_sum(o, seen) / BANDS + smooth * smooth * 1e-4);
    for (int b = 0; b < BANDS && rms > 0; b++)
        by_band[b] += 10 * (seen->band[b] - o->target[b]) / (BANDS * rms);
    return f + 10 * rms;
}

static double scatter_of(const struct shelf *shelf, const double part[], int band) {
    double sum = 1e-12;
    for (size_t i = 0; i < shelf->count; i++) sum += part[i] * shelf->toner[i].s[band];
    return sum;
}

/* By the asymmetry of the mix. */
static double lean_slope(const struct beam *beam, const struct film_terms *terms, double film_um,
                         double backing) {
    const double h = 1e-4;
    const struct beam up = beam_leaning(beam, h), down = beam_leaning(beam, -h);
    return (film_lit(&up, terms->k, terms->s, film_um, backing) -
            film_lit(&down, terms->k, terms->s, film_um, backing)) /
           (2 * h);
}

double objective_slope(const struct objective *o, const double part[], double smooth, double gradient[]) {
    double k[BANDS], s[BANDS], by_band[BANDS], by_k[BANDS], by_s[BANDS], by_lean[BANDS];
    const bool leans = shelf_leans(o->shelf);
    struct spectrum seen;
    struct beam beam[BANDS];
    shelf_mix(o->shelf, part, k, s);
    shelf_beams(o->shelf, part, beam);
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(k[b], s[b]);
        double by_film, outward;
        const double inner = film_lit_slopes(&beam[b], terms.k, terms.s, o->film.film_um, o->backing[b],
                                             &by_k[b], &by_s[b], &by_film);
        seen.band[b] = surface_measured(inner, &o->surface, o->film.geometry, &outward);
        by_k[b] *= outward;
        by_s[b] *= outward;
        by_lean[b] = leans ? outward * lean_slope(&beam[b], &terms, o->film.film_um, o->backing[b]) /
                                 scatter_of(o->shelf, part, b)
                           : 0;
    }
    const double f = slope_by_band(o, &seen, smooth, by_band) + o->cost_weight * cost_of(o, part);
    for (size_t i = 0; gradient && i < o->shelf->count; i++) {
        const struct toner *toner = &o->shelf->toner[i];
        double counted;
        toner_counted(toner, part[i], &counted);
        gradient[i] = o->cost_weight * o->price[i];
        for (int b = 0; b < BANDS; b++)
            gradient[i] += by_band[b] * (by_k[b] * toner->k[b] + by_s[b] * toner->s[b] * counted +
                                         by_lean[b] * toner->s[b] *
                                             (o->shelf->beam.forward + toner->lean - beam[b].forward));
    }
    return f;
}
