/* The match against slow twins and properties. Shelves: tests/match_shelf.h. */
#include "match_shelf.h"

static struct match_task task_for(const struct shelf *shelf, size_t target, bool opaque) {
    struct match_task task;
    match_task_preset(&task, shelf);
    task.film = match_film(opaque);
    task.target = match_target(shelf, target, &task.film);
    return task;
}

static void weights_sum_to_the_batch_on_the_grid(void) {
    struct shelf shelf = match_shelf(12, true);
    for (size_t i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        struct match_result result;
        struct fault fault;
        const struct match_task task = task_for(&shelf, i, i % 2);
        CHECK(match_run(&task, NULL, arena, &result, &fault) == STATUS_OK);
        for (size_t r = 0; r < result.count; r++) {
            const struct recipe *recipe = &result.recipe[r].recipe;
            long steps = 0;
            for (size_t k = 0; k < recipe->count; k++) {
                const double step = recipe->mass_g[k] / task.scale_step_g;
                CHECK_NEAR(step, floor(step + .5), 1e-6);
                steps += lround(step);
            }
            CHECK(steps == lround(task.batch_g / task.scale_step_g));
            CHECK(r == 0 || result.recipe[r].f >= result.recipe[r - 1].f - 1e-4);
        }
        arena_free(arena);
    }
    memory_free(shelf.toner);
}

int main(void) {
    RUN(weights_sum_to_the_batch_on_the_grid);
    return check_done();
}
