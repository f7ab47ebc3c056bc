/* Pinches on a coarse scale: .1 g in 20 g, planned as let-downs, and poured as pour.h plans the pour. */
#include "colour/difference.h"
#include "match_run.h"
#include "paint/match_search.h"
#include "paint/pour.h"

static struct match_task coarse_task(const struct shelf *shelf, size_t target, bool let_downs) {
    struct match_task task = task_for(shelf, target, true);
    task.batch_g = 20, task.scale_step_g = .1, task.top = 3, task.let_downs = let_downs;
    return task;
}

/* Every mass is a whole number of what it is weighed by, let-downs are pinches, and what is poured of the
 * binder itself is on the grid too. Returns how many are let down. */
static size_t check_weighable(const struct match_task *task, const struct match_recipe *r, int binder) {
    double sum = 0, binder_g = 0;
    size_t let_down = 0;
    for (size_t i = 0; i < r->recipe.count; i++) {
        const double g = r->recipe.mass_g[i], steps = g / match_step_g(task, r, i);
        sum += g;
        let_down += r->let_down[i];
        if (r->recipe.toner[i] == binder)
            binder_g += g;
        else
            CHECK_NEAR(steps, floor(steps + .5), 1e-6);
        if (!r->let_down[i]) continue;
        CHECK(g <= MATCH_LET_DOWN_MOST * task->batch_g + 1e-9 && r->hard_to_weigh[i]);
        binder_g -= (MATCH_LET_DOWN - 1) * g;
    }
    CHECK_NEAR(sum, task->batch_g, 1e-9);
    CHECK(binder_g >= -1e-9);
    CHECK_NEAR(binder_g / task->scale_step_g, floor(binder_g / task->scale_step_g + .5), 1e-6);
    return let_down;
}

/* dE00 between the recipe and the grams as the pour has them on the same scale. */
static double poured_off(const struct match_task *task, const struct match_recipe *r) {
    struct toner toner[RECIPE_TONERS_MOST];
    struct pour_recipe alone = {.shelf = *task->shelf, .film = task->film};
    struct pour_plan plan;
    alone.shelf.toner = toner, alone.shelf.count = r->recipe.count;
    for (size_t i = 0; i < r->recipe.count; i++) {
        toner[i] = task->shelf->toner[r->recipe.toner[i]];
        alone.part[i] = r->recipe.part[i];
    }
    const struct pour_task pour = {.recipe = &alone,
                                   .batch_g = task->batch_g,
                                   .scale = {task->scale_step_g, 0},
                                   .tolerance_de00 = 1,
                                   .let_downs = true,
                                   .pot_g = (double)INFINITY};
    pour_plan_make(&pour, &plan);
    return difference_de00(plan.lab, plan.grid_lab);
}

static void pinches_are_planned_as_let_downs(void) {
    struct shelf shelf = match_shelf(12, true);
    double whole = 0, fine = 0, off = 0, free_f = 0;
    size_t let_downs = 0;
    for (size_t i = 0; i < 8; i++) {
        struct arena *arena = arena_new();
        const struct match_task plain = coarse_task(&shelf, i, false), planned = coarse_task(&shelf, i, true);
        struct match_task unrounded = plain;
        unrounded.on_grid = false;
        const double coarse = run(&plain, arena).recipe[0].f;
        const struct match_result result = run(&planned, arena);
        for (size_t r = 0; r < result.count; r++)
            let_downs += check_weighable(&planned, &result.recipe[r], result.binder);
        CHECK_AT_MOST(result.recipe[0].f, coarse + 1e-4);
        free_f += run(&unrounded, arena).recipe[0].f / 8;
        whole += coarse / 8;
        fine += result.recipe[0].f / 8;
        off += poured_off(&planned, &result.recipe[0]) / 8;
        arena_free(arena);
    }
    printf(
        "  figure: .1 g in 20 g, mean F of the best over the unrounded: %.3f in whole steps, %.3f with %zu "
        "let-downs in 24 recipes; poured so, the first are %.3f dE00 off their plan (mean)\n",
        whole - free_f, fine - free_f, let_downs, off);
    CHECK(let_downs > 0);
    CHECK_AT_MOST(fine - free_f, .75 * (whole - free_f));
    CHECK_AT_MOST(off, .1);
    memory_free(shelf.toner);
}

/* A fine scale, or a shelf without binder, plans none. */
static void a_fine_scale_plans_none(void) {
    struct shelf shelf = match_shelf(12, true);
    struct arena *arena = arena_new();
    struct match_task task = coarse_task(&shelf, 1, true);
    task.scale_step_g = .01;
    const struct match_result result = run(&task, arena);
    for (size_t r = 0; r < result.count; r++)
        for (size_t i = 0; i < result.recipe[r].recipe.count; i++) CHECK(!result.recipe[r].let_down[i]);
    arena_free(arena);
    memory_free(shelf.toner);
}

int main(void) {
    RUN(pinches_are_planned_as_let_downs);
    RUN(a_fine_scale_plans_none);
    return check_done();
}
