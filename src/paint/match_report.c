/* What the bench needs to know of a recipe beyond its colour.
 *
 * Weighing: every addition is the difference of two readings, each rounded (d / sqrt 12) and repeating to d
 * (common practice for a shop scale), so its sd is sqrt(2 (1 + 1/12)) d = 1.47 d. Errors move the mass
 * fractions by (delta_i - c_i sum delta) / M; their colour is taken from the local metric of CIEDE2000 at the
 * recipe's own colour under the first light, dE^2 = sum of three weighted chi-squares, and its 95 % point by
 * two moments and Wilson-Hilferty (against a million draws: docs/match.md). The blur falls as 1 / batch.
 * Let-down: one part of a toner in ten of let-down with binder, itself weighed to .3 %, so a hard toner's
 * error is a tenth, where the recipe has binder enough to take it. */
#include "colour/difference.h"
#include "colour/metamerism.h"
#include "paint/match_search.h"
#include <math.h>

static const double hard_part = 1.0 / 50, let_down = MATCH_LET_DOWN;
/* the toner of a let-down is weighed to 1 in 50 (two sd), and at least 1 g of it (pour.c) */
static const double let_down_worst_sd = 0.01, let_down_least_g = 1;

static double addition_sd(const struct match_task *task) {
    return sqrt(2 * (1 + 1.0 / 12)) * task->scale_step_g;
}

/* Slopes of the colour's metric coordinates by each part of the recipe: out[3][count]. */
static void colour_slopes(const struct match_model *m, const struct match_recipe *r,
                          double out[3][RECIPE_TONERS_MOST]) {
    const struct objective *o = &m->objective;
    const struct weights *w = o->light[0];
    double part[SHELF_MOST], by_k[BANDS], by_s[BANDS];
    struct spectrum seen;
    recipe_spread(&r->recipe, o->shelf, part);
    predict_ks_slopes(o->shelf, part, &o->film, &seen, by_k, by_s, NULL);
    const struct xyz at = xyz_of(&seen, w);
    const struct lab lab = lab_of(at, w);
    const struct de00_metric metric = difference_metric(lab);
    for (size_t i = 0; i < r->recipe.count; i++) {
        const struct toner *toner = &o->shelf->toner[r->recipe.toner[i]];
        const double h = 1e-4;
        double counted;
        toner_counted(toner, r->recipe.part[i], &counted);
        struct spectrum moved = seen;
        for (int b = 0; b < BANDS; b++)
            moved.band[b] += h * (by_k[b] * toner->k[b] + by_s[b] * toner->s[b] * counted);
        const struct lab there = lab_of_spectrum(&moved, w);
        const double step[3] = {(there.l - lab.l) / h, (there.a - lab.a) / h, (there.b - lab.b) / h};
        for (int c = 0; c < 3; c++)
            out[c][i] = metric.f[c][0] * step[0] + metric.f[c][1] * step[1] + metric.f[c][2] * step[2];
    }
}

/* 95 % point of the length of a Gaussian 3-vector with this covariance. */
static double length_p95(double cov[3][3]) {
    double trace = 0, square = 0;
    for (int i = 0; i < 3; i++) {
        trace += cov[i][i];
        for (int j = 0; j < 3; j++) square += cov[i][j] * cov[i][j];
    }
    if (!(trace > 0)) return 0;
    const double degrees = trace * trace / square, spread = 2 / (9 * degrees);
    const double cube = 1 - spread + 1.6448536269514722 * sqrt(spread);
    return sqrt(trace * cube * cube * cube);
}

static double blur(const struct match_recipe *r, double slopes[3][RECIPE_TONERS_MOST], const double sd_g[],
                   double batch_g) {
    double cov[3][3] = {{0}}, mean[3] = {0};
    const struct recipe *recipe = &r->recipe;
    for (int c = 0; c < 3; c++)
        for (size_t i = 0; i < recipe->count; i++) mean[c] += slopes[c][i] * recipe->part[i];
    for (size_t i = 0; i < recipe->count; i++) {
        const double variance = sd_g[i] * sd_g[i] / (batch_g * batch_g);
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++)
                cov[a][b] += variance * (slopes[a][i] - mean[a]) * (slopes[b][i] - mean[b]);
    }
    return length_p95(cov);
}

/* What an error of toner i's mass alone does to the colour, squared. */
static double pull_of(const struct match_recipe *r, double slopes[3][RECIPE_TONERS_MOST], size_t i) {
    double square = 0;
    for (int c = 0; c < 3; c++) {
        double mean = 0;
        for (size_t k = 0; k < r->recipe.count; k++) mean += slopes[c][k] * r->recipe.part[k];
        square += (slopes[c][i] - mean) * (slopes[c][i] - mean);
    }
    return square;
}

static double eased_sd(double sd, double mass_g) {
    const double own = fmin(let_down_worst_sd, sd / let_down_least_g);
    return hypot(sd / let_down, mass_g * own);
}

/* sd of each mass with let-downs: what is planned as one, then of the hard toners those that matter most, as
 * long as the binder has room for what comes in with them (a pour does the same: pour.c). */
static void ease(const struct match_model *m, const struct match_recipe *r,
                 double slopes[3][RECIPE_TONERS_MOST], double sd, double eased[]) {
    bool asked[RECIPE_TONERS_MOST] = {false};
    double room = 0;
    for (size_t i = 0; i < r->recipe.count; i++) {
        eased[i] = sd;
        if (m->has_binder && r->recipe.toner[i] == m->column[m->count].toner) room += r->recipe.mass_g[i];
        if (!r->let_down[i]) continue;
        asked[i] = true;
        room -= r->recipe.mass_g[i] * (let_down - 1);
        eased[i] = eased_sd(sd, r->recipe.mass_g[i]);
    }
    for (;;) {
        size_t best = r->recipe.count;
        for (size_t i = 0; i < r->recipe.count; i++)
            if (r->hard_to_weigh[i] && !asked[i] &&
                (best == r->recipe.count || pull_of(r, slopes, i) > pull_of(r, slopes, best)))
                best = i;
        if (best == r->recipe.count) return;
        const double mass = r->recipe.mass_g[best];
        asked[best] = true;
        if (mass * (let_down - 1) > room) continue;
        room -= mass * (let_down - 1);
        eased[best] = eased_sd(sd, mass);
    }
}

static void report_weighing(const struct match_model *m, struct match_recipe *r) {
    const struct match_task *task = m->task;
    const double sd = addition_sd(task);
    double slopes[3][RECIPE_TONERS_MOST], plain[RECIPE_TONERS_MOST], eased[RECIPE_TONERS_MOST];
    colour_slopes(m, r, slopes);
    for (size_t i = 0; i < r->recipe.count; i++) {
        const bool binder = m->has_binder && r->recipe.toner[i] == m->column[m->count].toner;
        r->hard_to_weigh[i] = !binder && r->recipe.mass_g[i] * hard_part < sd;
        plain[i] = r->let_down[i] ? eased_sd(sd, r->recipe.mass_g[i]) : sd;
    }
    ease(m, r, slopes, sd, eased);
    r->weighing_de00_p95 = blur(r, slopes, plain, task->batch_g);
    r->weighing_de00_p95_let_down = blur(r, slopes, eased, task->batch_g);
    /* not under ten steps, and on the scale's grid */
    const double least = fmax(task->batch_g * r->weighing_de00_p95 / MATCH_BLUR, 10 * task->scale_step_g);
    r->min_batch_g = ceil(least / task->scale_step_g - 1e-9) * task->scale_step_g;
}

static void report_price(const struct shelf *shelf, struct match_recipe *r) {
    double minor = 0;
    r->price_minor = -1;
    for (size_t i = 0; i < r->recipe.count; i++) {
        const struct toner *toner = &shelf->toner[r->recipe.toner[i]];
        r->ml[i] = toner->density_g_ml > 0 ? r->recipe.mass_g[i] / toner->density_g_ml : 0;
        if (toner->price_minor_per_kg < 0) minor = (double)NAN;
        minor += (double)toner->price_minor_per_kg * r->recipe.mass_g[i] / 1000;
    }
    if (!isnan(minor)) r->price_minor = (long long)floor(minor + .5);
}

static void report_metamerism(const struct match_task *task, struct match_recipe *r) {
    for (size_t l = 0; l < MATCH_LIGHTS_MOST; l++) {
        double index;
        r->metamerism[l] = (double)NAN;
        if (l == 0 || l >= task->light_count || !task->target.has_spectrum) continue;
        if (metamerism_index(&task->target.reflectance, &r->reflectance, task->light[0], task->light[l],
                             &index))
            r->metamerism[l] = index;
    }
}

static void report_hiding(const struct match_task *task, struct match_recipe *r) {
    const struct shelf *shelf = task->shelf;
    double part[SHELF_MOST];
    recipe_spread(&r->recipe, shelf, part);
    r->contrast_ratio = shelf->relative_s && !isinf(task->film.film_um)
                            ? (double)NAN
                            : predict_contrast_ratio(shelf, part, &task->film);
    r->film_um_to_hide = predict_film_to_hide(shelf, part, task->film.geometry, task->film.sheen_gu,
                                              task->backing, task->backing_count);
}

void match_report(const struct match_model *model, struct match_recipe *recipe) {
    const struct match_task *task = model->task;
    recipe->lab = lab_of_spectrum(&recipe->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    report_weighing(model, recipe);
    report_price(task->shelf, recipe);
    report_metamerism(task, recipe);
    report_hiding(task, recipe);
}
