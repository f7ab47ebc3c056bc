/* Recipes for the pour tests. INVENTED: K and S are smooth random curves of a plausible size; a white,
 * colourants from weak to strong, a binder at the end. */
#ifndef RUSSET_TESTS_INVENTED_RECIPE_H
#define RUSSET_TESTS_INVENTED_RECIPE_H

#include "check.h"
#include "paint/pour.h"

static struct toner invented_toner[RECIPE_TONERS_MOST];

static inline void invent_toner(struct toner *t, size_t i, size_t count, unsigned long long *seed) {
    snprintf(t->id, sizeof t->id, "toner-%zu", i);
    snprintf(t->name, sizeof t->name, "Toner %zu", i);
    t->role = i == count - 1 ? ROLE_BINDER : i == 0 ? ROLE_WHITE : ROLE_COLOUR;
    t->density_g_ml = 1 + .4 * check_random(seed);
    const double centre = 31 * check_random(seed), width = 3 + 6 * check_random(seed);
    const double strong = i == 0 ? .002 : i == count - 1 ? 1e-5 : .05 * exp(3 * check_random(seed));
    const double scatter = i == 0 ? .8 : i == count - 1 ? 1e-4 : .01 + .1 * check_random(seed);
    for (int b = 0; b < BANDS; b++) {
        const double off = (b - centre) / width;
        t->k[b] = strong * (.05 + exp(-off * off));
        t->s[b] = scatter * (1 - .01 * b);
    }
}

/* count 2 .. RECIPE_TONERS_MOST; the toners stand in invented_toner until the next call. */
static inline struct pour_recipe invent_recipe(size_t count, unsigned long long *seed) {
    struct pour_recipe r = {.shelf = {.toner = invented_toner, .count = count, .geometry = GEOMETRY_SCI}};
    r.shelf.surface = (struct surface){.k1 = .04, .k2 = .5};
    memset(invented_toner, 0, sizeof invented_toner);
    double total = 0;
    for (size_t i = 0; i < count; i++) {
        invent_toner(&invented_toner[i], i, count, seed);
        r.part[i] =
            invented_toner[i].role == ROLE_COLOUR ? exp(-5 * check_random(seed)) : 1 + check_random(seed);
        total += r.part[i];
    }
    for (size_t i = 0; i < count; i++) r.part[i] /= total;
    r.film =
        (struct film_case){.film_um = (double)INFINITY, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
    return r;
}

static inline struct pour_task invent_task(const struct pour_recipe *recipe, double batch_g) {
    struct pour_task task = {
        .recipe = recipe, .scale = {.01, 0}, .tolerance_de00 = 1, .pot_g = (double)INFINITY};
    task.batch_g = weighing_round(&task.scale, batch_g);
    return task;
}

/* All of the plan's pours up to and with `stage`, that one over by over_g. False for the bed: the rest takes
 * it up. */
static inline bool over_pour(struct pour_task *task, const struct pour_plan *plan, size_t stage,
                             double over_g) {
    memset(task->poured_g, 0, sizeof task->poured_g);
    memset(task->let_down_poured_g, 0, sizeof task->let_down_poured_g);
    for (size_t j = 0; j <= stage; j++) {
        const struct pour_step *step = &plan->step[j];
        const double g = step->g + (j == stage ? over_g : 0);
        if (step->let_down.fraction < 1)
            task->let_down_poured_g[step->toner] += g;
        else
            task->poured_g[step->toner] += g;
    }
    return !plan->step[stage].first_part;
}

#endif
