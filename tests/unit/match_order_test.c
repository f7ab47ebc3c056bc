/* The match in the order of a bench (docs/match.md): lights, backings, traces, and what stock and doses leave
 * room for. Shelves: tests/match_shelf.h. */
#include "colour/difference.h"
#include "match_run.h"

static double weakest_of(const struct match_recipe *r) {
    return fmax(r->de00[1], r->de00[2]);
}

/* dE00 between the film over the task's second backing and over its first. */
static double shown(const struct match_task *task, const struct match_recipe *r) {
    struct film_case film = task->film;
    struct spectrum seen;
    double part[SHELF_MOST];
    film.backing = task->backing[1];
    recipe_spread(&r->recipe, task->shelf, part);
    predict_reflectance(task->shelf, part, &film, &seen);
    return difference_de00(lab_of_spectrum(&seen, task->light[0]),
                           lab_of_spectrum(&r->reflectance, task->light[0]));
}

/* F is what was asked for; the first recipe falls apart less in the other lights, and shows less of the other
 * backings when there are some. */
static void the_order_of_a_bench_counts_lights_and_backings(void) {
    struct shelf shelf = match_shelf(12, true);
    double by_f = 0, by_bench = 0, one = 0, both = 0;
    for (size_t i = 0; i < 6; i++) {
        struct arena *arena = arena_new();
        struct match_task task = task_for(&shelf, i, true);
        const double plain = weakest_of(&run(&task, arena).recipe[0]);
        task.bench_order = true, task.tolerance = 1;
        const struct match_result bench = run(&task, arena);
        for (size_t r = 0; r < bench.count; r++) {
            double part[SHELF_MOST];
            recipe_spread(&bench.recipe[r].recipe, &shelf, part);
            CHECK_NEAR(bench.recipe[r].f, match_objective(&task, part, NULL), 1e-12);
        }
        CHECK(bench.recipe[0].traces == 0);
        for (size_t k = 0; k < bench.recipe[0].recipe.count; k++)
            CHECK(bench.recipe[0].recipe.mass_g[k] > 2.5 * task.scale_step_g);
        by_f += plain, by_bench += weakest_of(&bench.recipe[0]);
        task = task_for(&shelf, i, false);
        task.bench_order = true, task.tolerance = 1;
        task.backing[0] = task.film.backing;
        for (int b = 0; b < BANDS; b++) task.backing[1].band[b] = .05;
        task.backing_count = 1;
        one += shown(&task, &run(&task, arena).recipe[0]);
        task.backing_count = 2;
        both += shown(&task, &run(&task, arena).recipe[0]);
        arena_free(arena);
    }
    printf("  figure: 6 targets, weakest other light of the first recipe: %.3f by F, %.3f by the bench; "
           "shows of a "
           "black backing %.2f, %.2f when it was named\n",
           by_f / 6, by_bench / 6, one / 6, both / 6);
    CHECK(by_bench < by_f);
    CHECK(both < one);
    memory_free(shelf.toner);
}

/* F and the weakest other light of the first recipe; holds: whether it has this toner. */
static double cost_of_first(const struct match_task *task, size_t toner, bool *holds) {
    struct arena *arena = arena_new();
    const struct match_recipe first = run(task, arena).recipe[0];
    *holds = false;
    for (size_t k = 0; k < first.recipe.count; k++) *holds = *holds || first.recipe.toner[k] == (int)toner;
    arena_free(arena);
    return first.f + weakest_of(&first);
}

/* 15 g of white, a little red and .02 g of another toner: the first recipe has that trace where
 * it brings more than a tenth of a dE00 in every light, and has not where it brings less. */
static void a_trace_stays_where_it_is_worth_it(void) {
    struct shelf shelf = match_shelf(19, true);
    const size_t other = 6, white = 18, binder = 19;
    CHECK(shelf.toner[white].role == ROLE_WHITE);
    int kept = 0, left = 0;
    for (size_t trace = 0; trace < white; trace++) {
        if (trace == other) continue;
        struct match_task task = task_for(&shelf, 0, true);
        double part[SHELF_MOST] = {0};
        part[white] = .3, part[other] = .05, part[trace] = .02 / 15, part[binder] = .65 - .02 / 15;
        predict_reflectance(&shelf, part, &task.film, &task.target.reflectance);
        task.target.lab = lab_of_spectrum(&task.target.reflectance, task.light[0]);
        task.bench_order = true, task.tolerance = 1, task.batch_g = 15, task.max_toners = 3;
        for (size_t i = 0; i < binder; i++) task.exclude[i] = i != white && i != other && i != trace;
        bool first_has, holds;
        const double first = cost_of_first(&task, trace, &first_has);
        task.require[trace] = true;
        const double with = cost_of_first(&task, trace, &holds);
        task.require[trace] = false, task.exclude[trace] = true;
        const double without = cost_of_first(&task, trace, &holds);
        CHECK(first <= fmin(with, without) + MATCH_TRACED + MATCH_TONER + .05);
        if (without > with + MATCH_TRACED + MATCH_TONER + .05) {
            CHECK(first_has);
            kept++;
        }
        if (without < with + MATCH_TRACED + MATCH_TONER - .05) {
            CHECK(!first_has);
            left++;
        }
    }
    printf("  figure: a trace of .02 g in 15 g: %d worth it and kept, %d not and left out\n", kept, left);
    CHECK(kept > 0 && left > 0);
    memory_free(shelf.toner);
}

/* Stock for less than half of the batch: the middle of the binder's limits cannot be met, leaner mixes can.
 */
static void what_only_a_lean_mix_can_meet(void) {
    struct shelf shelf = match_shelf(12, true);
    struct arena *arena = arena_new();
    struct match_result result;
    struct fault fault;
    struct match_task task = task_for(&shelf, 1, true);
    task.bench_order = true, task.tolerance = 1, task.batch_g = 60;
    for (size_t i = 0; i < 12; i++) task.stock_g[i] = 4;
    result = run(&task, arena);
    for (size_t r = 0; r < result.count; r++) {
        double part[SHELF_MOST];
        recipe_spread(&result.recipe[r].recipe, &shelf, part);
        CHECK(part[12] >= 40. / 60 - 1e-9 && part[12] <= .80 + 1e-9);
        for (size_t i = 0; i < 12; i++) CHECK(part[i] * 60 <= 4 + 1e-9);
    }
    task.batch_g = 101; /* 5 x 4 g and 80 % */
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_CANNOT_MEET);
    task.batch_g = 60;
    task.stock_g[12] = 20; /* 40 % of 60 g are 24 g */
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_BINDER_SHORT);
    task.stock_g[12] = (double)INFINITY;
    task.require[0] = task.require[1] = true, task.minimum_dose = .35;
    for (size_t i = 0; i < 12; i++) task.stock_g[i] = (double)INFINITY;
    CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_INPUT &&
          fault.word == WORD_MATCH_MUST_EXCEED);
    arena_free(arena);
    memory_free(shelf.toner);
}

int main(void) {
    RUN(the_order_of_a_bench_counts_lights_and_backings);
    RUN(a_trace_stays_where_it_is_worth_it);
    RUN(what_only_a_lean_mix_can_meet);
    return check_done();
}
