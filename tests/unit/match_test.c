/* The match against slow twins and properties. Shelves: tests/match_shelf.h. Internal stages are looked at
 * through paint/match_search.h. */
#include "colour/difference.h"
#include "match_run.h"
#include "paint/match_search.h"

static double sum_of(const struct recipe *recipe) {
    double sum = 0;
    for (size_t k = 0; k < recipe->count; k++) sum += recipe->part[k];
    return sum;
}

/* ---- weights ---- */

static void weights_sum_to_the_batch_on_the_grid(void) {
    struct shelf shelf = match_shelf(12, true);
    for (size_t i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        const struct match_task task = task_for(&shelf, i, i % 2);
        const struct match_result result = run(&task, arena);
        for (size_t r = 0; r < result.count; r++) {
            const struct recipe *recipe = &result.recipe[r].recipe;
            long steps = 0;
            for (size_t k = 0; k < recipe->count; k++) {
                const double step = recipe->mass_g[k] / task.scale_step_g;
                CHECK_NEAR(step, floor(step + .5), 1e-6);
                steps += lround(step);
            }
            CHECK(steps == lround(task.batch_g / task.scale_step_g));
            CHECK_NEAR(sum_of(recipe), 1, 1e-12);
            CHECK(r == 0 || result.recipe[r].f >= result.recipe[r - 1].f - 1e-4);
        }
        arena_free(arena);
    }
    memory_free(shelf.toner);
}

/* .1 g in 20 g: plain rounding of the unrounded optimum against the search. */
static void the_grid_is_searched_and_not_rounded(void) {
    struct shelf shelf = match_shelf(12, true);
    double searched = 0, rounded = 0;
    for (size_t i = 0; i < 8; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, true);
        task.batch_g = 20;
        task.scale_step_g = .1;
        task.top = 3;
        task.on_grid = false;
        const struct match_recipe free_one = run(&task, arena).recipe[0];
        double part[SHELF_MOST] = {0}, sum = 0;
        for (size_t k = 0; k < free_one.recipe.count; k++) {
            const double g = floor(free_one.recipe.mass_g[k] / .1 + .5) * .1;
            part[free_one.recipe.toner[k]] = g;
            sum += g;
        }
        for (size_t k = 0; k < shelf.count; k++) part[k] /= sum;
        task.on_grid = true;
        const double f = run(&task, arena).recipe[0].f;
        CHECK_AT_MOST(f, match_objective(&task, part, NULL) + 1e-9);
        searched += f / 8;
        rounded += match_objective(&task, part, NULL) / 8;
        arena_free(arena);
    }
    printf("  figure: .1 g in 20 g, mean F of the best: %.3f rounded, %.3f searched\n", rounded, searched);
    memory_free(shelf.toner);
}

/* ---- bounds, wishes ---- */

/* No set of toners is left to search, and the pool stays empty (found by match_fuzz). */
static void a_dose_that_nobody_can_meet_is_refused(void) {
    struct shelf shelf = match_shelf(5, true);
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 0, 0);
    struct match_result result;
    struct fault fault = {0};
    task.minimum_dose = .9999;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT && fault.word == WORD_MATCH_NO_SET);
    arena_free(arena);
    memory_free(shelf.toner);
}

static void bounds_and_wishes_hold(void) {
    struct shelf shelf = match_shelf(10, true);
    const int white = shelf_find(&shelf, "titanium-white"), first = 0, second = 3;
    (void)white;
    for (size_t i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, i % 2);
        task.require[first] = true;
        task.exclude[second] = true;
        task.most[5] = .05;
        task.stock_g[6] = 3;
        task.least[7] = .02;
        task.minimum_dose = .004;
        task.max_toners = 4;
        const struct match_result result = run(&task, arena);
        for (size_t r = 0; r < result.count; r++) {
            double part[SHELF_MOST];
            size_t toners = 0;
            recipe_spread(&result.recipe[r].recipe, &shelf, part);
            for (size_t k = 0; k < 10; k++) {
                toners += part[k] > 0;
                CHECK(part[k] == 0 || part[k] >= .004 - 1e-9);
            }
            CHECK(toners <= 4);
            CHECK(part[first] > 0 && part[second] == 0);
            CHECK_AT_MOST(part[5], .05 + 1e-9);
            CHECK_AT_MOST(part[6] * 100, 3 + 1e-9);
            CHECK(part[7] >= .02 - 1e-9);
            CHECK(part[10] >= .40 - 1e-9 && part[10] <= .80 + 1e-9);
        }
        arena_free(arena);
    }
    memory_free(shelf.toner);
}

/* What is in the pot can only be added to: c_i >= m_i / (M + D). */
static void what_is_in_the_pot_stays_in(void) {
    struct shelf shelf = match_shelf(10, true);
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 1, false);
    const double pot[] = {2, 0, 5, 0, 0, 3}, binder = 30, more = 20, whole = 40 + more;
    for (size_t i = 0; i < 6; i++) task.least[i] = pot[i] / whole;
    task.least[10] = binder / whole;
    task.batch_g = whole;
    task.binder_high = .95;
    const struct match_result result = run(&task, arena);
    for (size_t r = 0; r < result.count; r++) {
        double part[SHELF_MOST];
        recipe_spread(&result.recipe[r].recipe, &shelf, part);
        for (size_t i = 0; i < 11; i++) CHECK(part[i] >= task.least[i] - 1e-9);
    }
    arena_free(arena);
    memory_free(shelf.toner);
}

static void the_order_on_the_shelf_does_not_matter(void) {
    struct shelf shelf = match_shelf(10, true), turned = match_shelf(10, true);
    for (size_t i = 0; i < 11; i++) turned.toner[i] = shelf.toner[10 - i];
    for (size_t i = 0; i < 3; i++) {
        struct arena *arena = arena_new();
        const struct match_task a = task_for(&shelf, i, false);
        struct match_task b = a;
        b.shelf = &turned;
        const struct match_result x = run(&a, arena), y = run(&b, arena);
        CHECK_NEAR(x.recipe[0].f, y.recipe[0].f, 3e-4);
        CHECK(x.search.subsets == y.search.subsets);
        arena_free(arena);
    }
    memory_free(shelf.toner);
    memory_free(turned.toner);
}

/* Two tins of one toner: nothing breaks, and the match is as good. */
static void a_toner_that_stands_there_twice(void) {
    struct shelf shelf = match_shelf(9, true);
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 2, true);
    const double alone = run(&task, arena).recipe[0].f;
    struct toner *more = memory_need(11, sizeof *more);
    memcpy(more, shelf.toner, 10 * sizeof *more);
    more[10] = more[2];
    snprintf(more[10].id, sizeof more[10].id, "the-other-tin");
    struct shelf twice = shelf;
    twice.toner = more;
    twice.count = 11;
    task.shelf = &twice;
    CHECK_NEAR(run(&task, arena).recipe[0].f, alone, 2e-4);
    memory_free(more);
    memory_free(shelf.toner);
    arena_free(arena);
}

/* ---- kernels ---- */

/* A polished lane's F is the scalar path's, whatever the film, the surface, the beam and crowding. */
static void the_kernel_meets_the_scalar_path(void) {
    struct shelf shelf = match_shelf(12, true);
    double worst = 0;
    for (size_t i = 0; i < 16; i++) {
        struct match_model *model = memory_need(1, sizeof *model);
        struct match_task task = task_for(&shelf, i, i & 1);
        shelf.beam.on = (i & 2) != 0;
        shelf.beam.forward = .4;
        shelf.toner[4].crowd = (i & 2) ? .7 : 0;
        for (size_t t = 0; t < 12; t++) shelf.toner[t].lean = i % 3 ? .05 * ((double)(t % 5) - 2) : 0;
        task.film.geometry = (i & 4) ? GEOMETRY_SCE : GEOMETRY_SCI;
        task.film.sheen_gu = (i & 8) ? 4 : (double)NAN;
        CHECK(match_model_make(&task, model, NULL) == STATUS_OK);
        struct match_lane lane;
        const signed char column[] = {0, 2, 4, 7, 9};
        CHECK(match_lane_make(model, column, 5, &lane));
        const struct match_schedule still = {0, 0, 1e-6, true};
        match_kernel_f64_base(model, &lane, 1, 6, &still);
        double part[SHELF_MOST];
        struct objective_value value;
        match_lane_spread(model, &lane, part);
        objective_of(&model->objective, part, &value);
        worst = fmax(worst, fabs(value.f - lane.f));
        CHECK_NEAR(lane.f, value.f, 2e-5);
        match_kernel_f32_base(model, &lane, 1, 6, &still);
        CHECK_NEAR(lane.f, value.f, 1e-3 + 1e-4 * value.f);
        memory_free(model);
    }
    printf("  figure: polishing kernel against the scalar path, 16 cases: F within %.1e\n", worst);
    shelf.beam.on = false;
    memory_free(shelf.toner);
}

/* objective_slope against central differences. */
static void the_gradient_is_that_of_the_objective(void) {
    struct shelf shelf = match_shelf(8, true);
    for (size_t i = 0; i < 6; i++) {
        struct objective *o = memory_need(1, sizeof *o);
        const struct match_task task = task_for(&shelf, i, i % 2);
        shelf.beam.on = i % 3 == 0;
        shelf.beam.forward = .4;
        for (size_t t = 0; t < 8; t++) shelf.toner[t].lean = i < 3 ? 0 : .05 * ((double)(t % 5) - 2);
        objective_make(o, &shelf, &task.target, &task.film, task.light, task.light_weight, 3, .004);
        double part[9] = {.05, .02, .03, .1, .04, .06, .07, .03, .6}, gradient[9];
        objective_slope(o, part, 0, gradient);
        for (size_t k = 0; k < 9; k++) {
            const double h = 1e-6, here = part[k];
            part[k] = here + h;
            const double up = objective_slope(o, part, 0, NULL);
            part[k] = here - h;
            const double down = objective_slope(o, part, 0, NULL);
            part[k] = here;
            CHECK_NEAR(gradient[k], (up - down) / (2 * h), 1e-4 * (1 + fabs(gradient[k])));
        }
        memory_free(o);
    }
    shelf.beam.on = false;
    memory_free(shelf.toner);
}

static bool same_bytes(const struct match_result *a, const struct match_result *b) {
    return a->count == b->count && memcmp(&a->search, &b->search, sizeof a->search) == 0 &&
           memcmp(a->recipe, b->recipe, a->count * sizeof *a->recipe) == 0;
}

static void every_build_and_any_threads_give_the_same_bytes(void) {
    struct shelf shelf = match_shelf(14, true);
    for (size_t i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, i % 2);
        shelf.beam.on = i >= 2;
        task.path = MATCH_PATH_BASE;
        const struct match_result base = run(&task, arena);
        task.path = MATCH_PATH_BEST;
        const struct match_result best = run(&task, arena);
        struct match_result two = {0};
        struct work *work = work_new(2, NULL, NULL);
        CHECK(match_run(&task, work, arena, &two, NULL) == STATUS_OK);
        CHECK(same_bytes(&base, &best));
        CHECK(same_bytes(&base, &two));
        work_free(work);
        arena_free(arena);
    }
    shelf.beam.on = false;
    memory_free(shelf.toner);
}

/* ---- the linear stage ---- */

/* min |rest + A y|^2, y >= 0, low <= sum y <= high by projected gradient with momentum: slow and plain. */
static double slow_linear(const struct match_linear *x, const int column[], size_t n, double y[]) {
    double lipschitz = 0, z[MATCH_TONERS_MOST], t = 1;
    for (size_t i = 0; i < n; i++) {
        y[i] = z[i] = x->sum_high / (double)n;
        for (size_t j = 0; j < n; j++) lipschitz += fabs(x->gram[column[i]][column[j]]);
    }
    for (int step = 0; step < 6000; step++) {
        double next[MATCH_TONERS_MOST], sum = 0;
        for (size_t i = 0; i < n; i++) {
            double g = -x->pull[column[i]];
            for (size_t j = 0; j < n; j++) g += x->gram[column[i]][column[j]] * z[j];
            next[i] = fmax(z[i] - g / lipschitz, 0);
            sum += next[i];
        }
        /* onto the slab: y -> max(y - shift, 0), the shift by bisection */
        const double wanted = sum < x->sum_low ? x->sum_low : sum > x->sum_high ? x->sum_high : sum;
        if (wanted != sum) {
            double low = -2, high = 2;
            for (int k = 0; k < 60; k++) {
                const double shift = .5 * (low + high);
                double now = 0;
                for (size_t i = 0; i < n; i++) {
                    double g = -x->pull[column[i]];
                    for (size_t j = 0; j < n; j++) g += x->gram[column[i]][column[j]] * z[j];
                    now += fmax(z[i] - g / lipschitz - shift, 0);
                }
                if (now > wanted)
                    low = shift;
                else
                    high = shift;
            }
            for (size_t i = 0; i < n; i++) {
                double g = -x->pull[column[i]];
                for (size_t j = 0; j < n; j++) g += x->gram[column[i]][column[j]] * z[j];
                next[i] = fmax(z[i] - g / lipschitz - .5 * (low + high), 0);
            }
        }
        const double t_next = .5 * (1 + sqrt(1 + 4 * t * t));
        for (size_t i = 0; i < n; i++) {
            z[i] = next[i] + (t - 1) / t_next * (next[i] - y[i]);
            y[i] = next[i];
        }
        t = step % 500 == 499 ? 1 : t_next;
    }
    double value = x->rest;
    for (size_t i = 0; i < n; i++) {
        value -= 2 * x->pull[column[i]] * y[i];
        for (size_t j = 0; j < n; j++) value += y[i] * y[j] * x->gram[column[i]][column[j]];
    }
    return value;
}

/* The best proper part of a subset. */
static const struct match_proper *best_part(const struct match_proper *p, size_t count, const int column[],
                                            size_t n) {
    for (size_t i = 0; i < count; i++) { /* sorted by value */
        bool inside = true;
        for (int k = 0; k < p[i].count; k++) {
            bool found = false;
            for (size_t j = 0; j < n; j++) found |= column[j] == p[i].column[k];
            inside &= found;
        }
        if (inside) return &p[i];
    }
    return NULL;
}

/* Karush, Kuhn, Tucker over the whole subset: what proves the optimum of a convex problem. Returns the
 * largest violation, as a share of the largest gradient. */
static double kkt_violation(const struct match_linear *x, const int column[], size_t n,
                            const struct match_proper *part) {
    double y[MATCH_TONERS_MOST], value, sum = 0, level = 0, worst = 0, scale = 1e-12;
    if (!match_linear_solve(x, part->column, (size_t)part->count, y, &value)) return (double)INFINITY;
    for (int k = 0; k < part->count; k++) sum += y[k];
    for (size_t i = 0; i < n; i++) scale = fmax(scale, fabs(x->pull[column[i]]));
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < n; i++) {
            double g = -x->pull[column[i]];
            bool active = false;
            for (int k = 0; k < part->count; k++) {
                g += x->gram[column[i]][part->column[k]] * y[k];
                active |= part->column[k] == column[i];
            }
            if (pass == 0 && active) level = g;
            if (pass == 1) worst = fmax(worst, active ? fabs(g - level) : level - g);
        }
    if (sum > x->sum_low + 1e-9) worst = fmax(worst, level);   /* only the lower limit may push up */
    if (sum < x->sum_high - 1e-9) worst = fmax(worst, -level); /* only the upper one down */
    return worst / scale;
}

static void every_subsets_linear_optimum_is_exact(void) {
    struct shelf shelf = match_shelf(8, true);
    double worst = 0;
    for (size_t i = 0; i < 4; i++) {
        struct match_model *model = memory_need(1, sizeof *model);
        struct match_linear *linear = memory_need(1, sizeof *linear);
        struct match_proper *proper = NULL;
        struct match_task task = task_for(&shelf, i, i % 2);
        size_t count;
        double k0[BANDS], s0[BANDS], y[MATCH_TONERS_MOST];
        if (i >= 2) task.binder_low = .55, task.binder_high = .56;
        CHECK(match_model_make(&task, model, NULL) == STATUS_OK);
        for (int b = 0; b < BANDS; b++) s0[b] = .1;
        match_level_set(model, s0, k0);
        match_linearise(model, k0, s0, linear);
        CHECK(match_enumerate(linear, 5, NULL, &proper, &count) == 8 + 28 + 56 + 70 + 56);
        for (unsigned set = 1; set < 256; set++) {
            int column[8];
            size_t n = 0;
            for (int k = 0; k < 8; k++)
                if (set >> k & 1) column[n++] = k;
            if (n > 5) continue;
            const struct match_proper *part = best_part(proper, count, column, n);
            CHECK(part != NULL);
            if (!part) continue;
            worst = fmax(worst, kkt_violation(linear, column, n, part));
            if (set % (CHECK_SANITIZED ? 64 : 16) == 3)
                CHECK_AT_MOST((double)part->value, slow_linear(linear, column, n, y) * (1 + 1e-6) + 1e-9);
        }
        memory_free(proper);
        memory_free(linear);
        memory_free(model);
    }
    CHECK_AT_MOST(worst, 1e-7);
    printf("  figure: 872 subsets: Karush-Kuhn-Tucker conditions violated by at most %.1e of the gradient\n",
           worst);
    memory_free(shelf.toner);
}

/* ---- against the audit ---- */

static void audit_finds_nothing_better(void) {
    struct shelf shelf = match_shelf(12, true);
    double worst = 0;
    const size_t targets = getenv("RUSSET_LONG") ? 40 : CHECK_SANITIZED ? 2 : 8;
    for (size_t i = 0; i < targets; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, i % 2);
        task.on_grid = false;
        const struct match_result quick = run(&task, arena);
        task.audit = true;
        const struct match_result full = run(&task, arena);
        CHECK(full.search.audited && !quick.search.audited && full.search.subsets == quick.search.subsets);
        worst = fmax(worst, quick.recipe[0].f - full.recipe[0].f);
        CHECK_AT_MOST(quick.recipe[0].f, full.recipe[0].f + .002);
        arena_free(arena);
    }
    printf("  figure: %zu targets, 12 toners: the audit's best is at most %.5f F under the search's\n",
           targets, worst);
    memory_free(shelf.toner);
}

/* Three toners: a dense grid over the simplex cannot beat it. */
static void a_dense_grid_cannot_beat_it(void) {
    struct shelf shelf = match_shelf(3, false);
    for (size_t i = 0; i < 3; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, true);
        task.on_grid = false;
        double best = (double)INFINITY;
        for (int a = 0; a <= 100; a++)
            for (int b = 0; a + b <= 100; b++) {
                const double part[3] = {a / 100., b / 100., (100 - a - b) / 100.};
                best = fmin(best, match_objective(&task, part, NULL));
            }
        CHECK_AT_MOST(run(&task, arena).recipe[0].f, best + 1e-4);
        arena_free(arena);
    }
    memory_free(shelf.toner);
}

/* ---- hostile ---- */

static void tasks_that_cannot_hold_say_so(void) {
    struct shelf shelf = match_shelf(6, true);
    struct arena *arena = arena_new();
    struct match_result result;
    struct fault fault;
    const struct match_task good = task_for(&shelf, 0, false);
    struct match_task task = good;
    for (size_t i = 0; i < 6; i++) task.exclude[i] = true;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_NO_TONERS);
    task = good;
    for (size_t i = 0; i < 6; i++) task.require[i] = true;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_USAGE &&
          fault.word == WORD_MATCH_NEEDS_MORE);
    task = good;
    for (size_t i = 0; i < 6; i++) task.most[i] = .01;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_CANNOT_MEET);
    task = good;
    task.batch_g = 0;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_USAGE);
    task = good;
    task.scale_step_g = 50;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_USAGE &&
          fault.word == WORD_MATCH_STEP_COARSE);
    task = good;
    task.light_weight[0] = (double)INFINITY;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_USAGE && fault.word == WORD_MATCH_WEIGHT);
    task = good;
    for (int i = 0; i < 3; i++) task.light_weight[i] = 0;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_USAGE &&
          fault.word == WORD_MATCH_WEIGHTS_ZERO);
    task = good;
    task.target.reflectance.band[3] = (double)NAN;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT);
    task = good;
    task.require[1] = true;
    task.stock_g[1] = 0;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_NOT_ENOUGH);
    struct shelf empty = shelf;
    empty.count = 0;
    task = good;
    task.shelf = &empty;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_NO_TONERS);
    arena_free(arena);
    memory_free(shelf.toner);
}

static void the_ends_of_the_world(void) {
    struct shelf shelf = match_shelf(6, true);
    for (int i = 0; i < 8; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, 0, i & 1);
        for (int b = 0; b < BANDS; b++) task.target.reflectance.band[b] = (i & 2) ? 1 : 0;
        task.target.lab = lab_of_spectrum(&task.target.reflectance, task.light[0]);
        if (i & 4) task.target.has_spectrum = false;
        const struct match_result result = run(&task, arena);
        CHECK(result.count >= 1 && isfinite(result.recipe[0].f));
        arena_free(arena);
    }
    struct shelf one = shelf;
    one.count = 1;
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 1, true);
    task.shelf = &one;
    const struct match_result result = run(&task, arena);
    CHECK(result.count == 1 && result.search.subsets == 1 && result.recipe[0].recipe.part[0] == 1);
    arena_free(arena);
    memory_free(shelf.toner);
}

/* ---- uncertain and Lab-only targets ---- */

static void a_colour_without_a_curve_counts_in_daylight(void) {
    struct shelf shelf = match_shelf(10, true);
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 1, true);
    task.target.has_spectrum = false;
    const struct match_result sure = run(&task, arena);
    CHECK_AT_MOST(sure.recipe[0].de00[0], .05);
    CHECK(isnan(sure.recipe[0].de00[1]) && isnan(sure.recipe[0].metamerism[1]) &&
          isnan(sure.recipe[0].rms_percent));
    task.target.has_cov = true;
    for (int i = 0; i < 3; i++) task.target.lab_cov[i][i] = .25;
    const struct match_result unsure = run(&task, arena);
    CHECK(unsure.recipe[0].de00[0] > .2 && unsure.recipe[0].de00[0] < 1.5);
    arena_free(arena);
    memory_free(shelf.toner);
}

/* ---- the order of a bench ---- */

/* A let-down is counted on only where the binder has room for what comes in with it. */
static void a_let_down_needs_binder(void) {
    struct shelf shelf = match_shelf(12, true);
    size_t roomy = 0, tight = 0;
    for (size_t i = 0; i < 12; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, false);
        task.batch_g = 10, task.top = 5;
        const struct match_result result = run(&task, arena);
        for (size_t r = 0; r < result.count; r++) {
            const struct match_recipe *recipe = &result.recipe[r];
            double binder = 0, least = HUGE_VAL;
            for (size_t k = 0; k < recipe->recipe.count; k++)
                if (recipe->recipe.toner[k] == result.binder)
                    binder = recipe->recipe.mass_g[k];
                else if (recipe->hard_to_weigh[k])
                    least = fmin(least, 9 * recipe->recipe.mass_g[k]);
            const bool eased = recipe->weighing_de00_p95_let_down < .999 * recipe->weighing_de00_p95;
            if (least > binder) CHECK(!eased);
            roomy += eased, tight += isfinite(least) && least > binder;
        }
        arena_free(arena);
    }
    printf("  figure: let-downs in 10 g: %zu recipes with room for one, %zu without\n", roomy, tight);
    CHECK(roomy > 5);
    memory_free(shelf.toner);
}

/* ---- weighing blur ---- */

static double gauss(unsigned long long *seed) {
    return sqrt(-2 * log(1 - check_random(seed))) * cos(6.283185307179586 * check_random(seed));
}

/* p95 of dE00 between a recipe as meant and as weighed, by drawing. */
static void the_blur_is_what_drawing_gives(void) {
    struct shelf shelf = match_shelf(12, true);
    unsigned long long seed = 5;
    double worst = 0;
    for (size_t i = 0; i < 6; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, i % 2);
        task.batch_g = 60;
        const struct match_recipe best = run(&task, arena).recipe[0];
        enum { DRAWS = 2000 };
        double *de = memory_need(DRAWS, sizeof *de);
        for (int d = 0; d < DRAWS; d++) {
            struct match_task moved = task;
            double part[SHELF_MOST] = {0}, sum = 0, de00[MATCH_LIGHTS_MOST];
            for (size_t k = 0; k < best.recipe.count; k++) {
                double error = 0;
                for (int reading = 0; reading < 2; reading++)
                    error += .01 * (gauss(&seed) + check_random(&seed) - .5);
                part[best.recipe.toner[k]] = fmax(best.recipe.mass_g[k] + error, 0);
                sum += part[best.recipe.toner[k]];
            }
            for (size_t k = 0; k < shelf.count; k++) part[k] /= sum;
            moved.target.reflectance = best.reflectance;
            match_objective(&moved, part, de00);
            size_t at = (size_t)d;
            for (; at > 0 && de[at - 1] > de00[0]; at--) de[at] = de[at - 1];
            de[at] = de00[0];
        }
        const double drawn = de[DRAWS * 95 / 100];
        worst = fmax(worst, fabs(best.weighing_de00_p95 / drawn - 1));
        CHECK_NEAR(best.weighing_de00_p95, drawn, .12 * drawn + .001);
        memory_free(de);
        arena_free(arena);
    }
    printf("  figure: weighing blur p95 against 2000 draws, 6 recipes: within %.0f %%\n", 100 * worst);
    memory_free(shelf.toner);
}

/* ---- stopped in the middle ---- */

struct stopper {
    struct work *work;
    int reports, stop_at;
};

static void stop_there(void *user, double done) {
    struct stopper *stopper = user;
    CHECK(done >= 0 && done <= 1);
    if (++stopper->reports == stopper->stop_at) work_cancel(stopper->work);
}

/* Whenever it is stopped it says CANCELLED and leaves no half a list; not stopped, the same task gives the
 * same bytes afterwards. */
static void a_match_that_is_stopped_says_so(void) {
    struct shelf shelf = match_shelf(12, true);
    struct arena *arena = arena_new();
    struct match_task task = task_for(&shelf, 1, false);
    const struct match_result whole = run(&task, arena);
    for (int audit = 0; audit < 2; audit++)
        for (int at = 1; at <= 3; at++) {
            struct stopper stopper = {.stop_at = at};
            struct match_result result = {0};
            struct fault fault;
            stopper.work = work_new(1 + (unsigned)at % 2, stop_there, &stopper);
            task.audit = audit != 0;
            const enum status status = match_run(&task, stopper.work, arena, &result, &fault);
            if (stopper.reports >= at)
                CHECK(status == STATUS_CANCELLED && fault.word == WORD_CANCELLED);
            else
                CHECK(status == STATUS_OK && result.count > 0);
            CHECK(at > 1 || stopper.reports == 1); /* the first report comes before the end */
            work_free(stopper.work);
        }
    task.audit = false;
    const struct match_result again = run(&task, arena);
    CHECK(same_bytes(&whole, &again));
    arena_free(arena);
    memory_free(shelf.toner);
}

int main(void) {
    RUN(weights_sum_to_the_batch_on_the_grid);
    RUN(the_grid_is_searched_and_not_rounded);
    RUN(bounds_and_wishes_hold);
    RUN(a_dose_that_nobody_can_meet_is_refused);
    RUN(what_is_in_the_pot_stays_in);
    RUN(the_order_on_the_shelf_does_not_matter);
    RUN(a_toner_that_stands_there_twice);
    RUN(the_kernel_meets_the_scalar_path);
    RUN(the_gradient_is_that_of_the_objective);
    RUN(every_build_and_any_threads_give_the_same_bytes);
    RUN(every_subsets_linear_optimum_is_exact);
    RUN(audit_finds_nothing_better);
    RUN(a_dense_grid_cannot_beat_it);
    RUN(tasks_that_cannot_hold_say_so);
    RUN(the_ends_of_the_world);
    RUN(a_colour_without_a_curve_counts_in_daylight);
    RUN(a_let_down_needs_binder);
    RUN(the_blur_is_what_drawing_gives);
    RUN(a_match_that_is_stopped_says_so);
    return check_done();
}
