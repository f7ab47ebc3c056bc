/* The doubt of an estimated target against draws that are made another way: curves with the band's own spread
 * and smoothness are drawn, what of them moves the Lab that was seen is taken out by regression on the draws
 * themselves, and the Lab's own uncertainty is put in its place. */
#include "base/dense.h"
#include "colour/difference.h"
#include "match_shelf.h"
#include "paint/objective.h"
#include "paint/target_doubt.h"

enum { DRAWS = 4000 };

static double draw[DRAWS][BANDS]; /* of what the target's reflectance is more */

static double gauss(unsigned long long *seed) {
    return sqrt(-2 * log(1 - check_random(seed))) * cos(6.283185307179586 * check_random(seed));
}

static const struct weights *light_of(enum light light) {
    return weights_of((struct view){light, OBSERVER_10});
}

/* By photograph: the colour to .6 dE or so, the curve to 5 to 15 per cent. */
static struct reading estimate_of(struct spectrum reflectance) {
    struct reading r = {.reflectance = reflectance,
                        .geometry = GEOMETRY_PHOTO,
                        .has_spectrum = true,
                        .has_cov = true,
                        .has_band = true};
    static const double cov[3][3] = {{.36, .1, .05}, {.1, .25, .08}, {.05, .08, .49}};
    for (int b = 0; b < BANDS; b++) r.band.band[b] = reflectance.band[b] * (.05 + .10 * fabs(b - 15.) / 15);
    memcpy(r.lab_cov, cov, sizeof cov);
    r.lab = lab_of_spectrum(&r.reflectance, light_of(LIGHT_D65));
    return r;
}

static struct reading estimate(void) {
    struct spectrum tan;
    for (int b = 0; b < BANDS; b++) tan.band[b] = .06 + .38 / (1 + exp((180 - 10. * b) / 45));
    return estimate_of(tan);
}

static void lab_moves(const struct reading *r, const double by[BANDS], const struct weights *light,
                      double out[3]) {
    struct spectrum there = r->reflectance;
    for (int b = 0; b < BANDS; b++) there.band[b] += by[b];
    const struct lab a = lab_of_spectrum(&there, light), c = lab_of_spectrum(&r->reflectance, light);
    out[0] = a.l - c.l, out[1] = a.a - c.a, out[2] = a.b - c.b;
}

static void draw_curves(const struct reading *r, unsigned long long *seed) {
    static double l[BANDS * BANDS];
    for (int b = 0; b < BANDS; b++)
        for (int c = 0; c < BANDS; c++) {
            const double d = (b - c) * 10 / 45.;
            l[BANDS * b + c] = exp(-d * d / 2) + (b == c ? .002 : 0);
        }
    CHECK(dense_cholesky(l, BANDS));
    for (int n = 0; n < DRAWS; n++) {
        double z[BANDS];
        for (int b = 0; b < BANDS; b++) z[b] = gauss(seed);
        for (int b = 0; b < BANDS; b++) {
            double sum = 0;
            for (int c = 0; c <= b; c++) sum += l[BANDS * b + c] * z[c];
            draw[n][b] = .1 * sum * r->band.band[b] / 1.96; /* a tenth, so that Lab moves along a line */
        }
    }
}

/* g[b][a]: what a curve has in band b for each unit of Lab, by least squares over the draws. */
static void regress(const struct reading *r, double g[BANDS][3]) {
    double square[9] = {0};
    memset(g, 0, sizeof(double[BANDS][3]));
    for (int n = 0; n < DRAWS; n++) {
        double lab[3];
        lab_moves(r, draw[n], light_of(LIGHT_D65), lab);
        for (int a = 0; a < 3; a++) {
            for (int k = 0; k < 3; k++) square[3 * a + k] += lab[a] * lab[k];
            for (int b = 0; b < BANDS; b++) g[b][a] += lab[a] * draw[n][b];
        }
    }
    CHECK(dense_cholesky(square, 3));
    for (int b = 0; b < BANDS; b++) dense_cholesky_solve(square, 3, g[b]);
}

static double band_variance(const struct reading *r) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += pow(r->band.band[b] / 1.96, 2);
    return sum;
}

/* Draws of the target around its estimate, from lab_cov and the band. */
static void draw_targets(const struct reading *r) {
    unsigned long long seed = 45;
    double g[BANDS][3], l[9], blind = 0, seen = 0;
    draw_curves(r, &seed);
    regress(r, g);
    for (int i = 0; i < 9; i++) l[i] = r->lab_cov[i / 3][i % 3];
    CHECK(dense_cholesky(l, 3));
    for (int n = 0; n < DRAWS; n++) {
        double lab[3];
        lab_moves(r, draw[n], light_of(LIGHT_D65), lab);
        for (int b = 0; b < BANDS; b++) {
            for (int a = 0; a < 3; a++) draw[n][b] -= g[b][a] * lab[a];
            blind += 100 * draw[n][b] * draw[n][b] / DRAWS;
        }
    }
    for (int b = 0; b < BANDS; b++)
        for (int a = 0; a < 3; a++)
            for (int k = 0; k < 3; k++) seen += g[b][a] * r->lab_cov[a][k] * g[b][k];
    const double factor = sqrt((band_variance(r) - seen) / blind);
    CHECK(band_variance(r) > seen);
    for (int n = 0; n < DRAWS; n++) {
        const double z[3] = {gauss(&seed), gauss(&seed), gauss(&seed)};
        const double e[3] = {l[0] * z[0], l[3] * z[0] + l[4] * z[1], l[6] * z[0] + l[7] * z[1] + l[8] * z[2]};
        for (int b = 0; b < BANDS; b++)
            draw[n][b] = 10 * factor * draw[n][b] + g[b][0] * e[0] + g[b][1] * e[1] + g[b][2] * e[2];
    }
}

/* ---- the covariance ---- */

static void daylight_keeps_what_was_seen(void) {
    struct reading r = estimate();
    double cov[3][3];
    CHECK(target_doubt(&r, light_of(LIGHT_D65), cov));
    for (int a = 0; a < 3; a++)
        for (int k = 0; k < 3; k++) CHECK_NEAR(cov[a][k], r.lab_cov[a][k], 1e-6);
    r.has_band = false;
    CHECK(target_doubt(&r, light_of(LIGHT_A), cov));
    for (int a = 0; a < 3; a++)
        for (int k = 0; k < 3; k++) CHECK(cov[a][k] == r.lab_cov[a][k]);
    r.has_cov = false;
    CHECK(!target_doubt(&r, light_of(LIGHT_A), cov));
    r.has_band = true;
    CHECK(target_doubt(&r, light_of(LIGHT_D65), cov));
    CHECK_NEAR(cov[0][0] + cov[1][1] + cov[2][2], 0, 1e-6); /* a band alone: the colour itself is sure */
    memset(&r.band, 0, sizeof r.band);
    CHECK(!target_doubt(&r, light_of(LIGHT_FL11), cov)); /* a band of nothing says nothing */
}

static void other_lights_are_less_sure_as_drawn(void) {
    const struct reading r = estimate();
    static const enum light lights[] = {LIGHT_A, LIGHT_FL11, LIGHT_LED_B3};
    draw_targets(&r);
    for (int i = 0; i < 3; i++) {
        double cov[3][3], drawn[3][3] = {{0}}, trace = 0, seen = 0;
        CHECK(target_doubt(&r, light_of(lights[i]), cov));
        for (int n = 0; n < DRAWS; n++) {
            double lab[3];
            lab_moves(&r, draw[n], light_of(lights[i]), lab);
            for (int a = 0; a < 3; a++)
                for (int k = 0; k < 3; k++) drawn[a][k] += lab[a] * lab[k] / DRAWS;
        }
        for (int a = 0; a < 3; a++) trace += cov[a][a], seen += r.lab_cov[a][a];
        printf("  figure: %s: variance %.3f by the formula, %.3f drawn; under D65 %.3f\n",
               light_name(lights[i]), trace, drawn[0][0] + drawn[1][1] + drawn[2][2], seen);
        CHECK(trace > seen);
        for (int a = 0; a < 3; a++)
            for (int k = 0; k < 3; k++) CHECK_NEAR(cov[a][k], drawn[a][k], .08 * trace);
    }
}

/* ---- the match ---- */

/* Mean F and dE00 of a recipe over the drawn targets, each taken as sure. */
static double mean_f(const struct match_task *task, const struct match_recipe *recipe, double de00[3]) {
    double part[SHELF_MOST], sum = 0;
    recipe_spread(&recipe->recipe, task->shelf, part);
    memset(de00, 0, 3 * sizeof *de00);
    for (int n = 0; n < DRAWS; n += 8) {
        struct match_task one = *task;
        double each[MATCH_LIGHTS_MOST];
        one.target.has_cov = one.target.has_band = false;
        for (int b = 0; b < BANDS; b++)
            one.target.reflectance.band[b] = fmax(task->target.reflectance.band[b] + draw[n][b], .001);
        sum += match_objective(&one, part, each);
        for (int l = 0; l < 3; l++) de00[l] += each[l] * 8 / DRAWS;
    }
    return sum * 8 / DRAWS;
}

static struct match_recipe best(const struct match_task *task, struct arena *arena) {
    struct match_result result = {0};
    CHECK(match_run(task, NULL, arena, &result, NULL) == STATUS_OK && result.count > 0);
    return result.recipe[0];
}

/* What the match promises under each light is what the draws give; and over them the recipes are no worse
 * than those that are found as if every light were as sure as daylight. */
static void the_promise_is_what_draws_give(void) {
    struct shelf shelf = match_shelf(12, true);
    double f = 0, f_flat = 0, off = 0, off_flat = 0;
    for (size_t i = 1; i < 5; i++) {
        struct arena *arena = arena_new();
        struct match_task task;
        double drawn[3];
        match_task_preset(&task, &shelf);
        task.film = match_film(true);
        task.target = estimate_of(match_target(&shelf, i, &task.film).reflectance);
        task.target.geometry = task.film.geometry;
        draw_targets(&task.target);
        const struct match_recipe recipe = best(&task, arena);
        f += mean_f(&task, &recipe, drawn) / 4;
        for (int l = 0; l < 3; l++) {
            off = fmax(off, fabs(recipe.de00[l] / drawn[l] - 1));
            CHECK_NEAR(recipe.de00[l], drawn[l], .1 * drawn[l]);
        }
        task.target.has_band = false;
        const struct match_recipe flat = best(&task, arena);
        f_flat += mean_f(&task, &flat, drawn) / 4;
        for (int l = 0; l < 3; l++) off_flat = fmax(off_flat, fabs(flat.de00[l] / drawn[l] - 1));
        arena_free(arena);
    }
    printf("  figure: 4 targets, dE00 promised under D65, A, FL11 off by at most %.1f %% of what draws give "
           "(%.1f %% "
           "without the band); mean F %.4f, without %.4f\n",
           100 * off, 100 * off_flat, f, f_flat);
    CHECK(f < f_flat + .002);
    memory_free(shelf.toner);
}

int main(void) {
    RUN(daylight_keeps_what_was_seen);
    RUN(other_lights_are_less_sure_as_drawn);
    RUN(the_promise_is_what_draws_give);
    return check_done();
}
