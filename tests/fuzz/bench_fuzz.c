/* A recipe for pouring (match, pour, or the text of a QR code): what is read can be poured, and its compact
 * form is read again. */
#include "formats/bench_json.h"
#include "fuzz_help.h"
#include "mutate.h"
#include <math.h>

static void must_pour(const struct pour_recipe *recipe) {
    struct pour_task task = {.recipe = recipe,
                             .batch_g = 60,
                             .scale = {.01, 0},
                             .tolerance_de00 = 1,
                             .let_downs = true,
                             .pot_g = (double)INFINITY};
    struct pour_plan plan;
    struct pour_state state;
    pour_plan_make(&task, &plan);
    pour_look(&task, &plan, &state);
    MUST(plan.count > 0 && plan.count <= POUR_STEPS_MOST && isfinite(plan.worst_de00) &&
         isfinite(plan.total_g));
    MUST(fabs(plan.total_g - 60) < .05);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct fault fault = {0};
    struct bench_recipe recipe, again;
    const struct bytes bytes = {data, size, "f"};
    const enum status status = bench_read(&bytes, 0, arena, &recipe, &fault);
    if (status != STATUS_OK) {
        must_be_sentence(status, &fault);
    } else {
        must_pour(&recipe.pour);
        struct text text = {0};
        json_t *compact = bench_compact(&recipe);
        bench_compact_text(compact, &text);
        const struct bytes written = {(const unsigned char *)text.data, text.length, "f"};
        MUST(bench_read(&written, 0, arena, &again, &fault) == STATUS_OK &&
             again.pour.shelf.count == recipe.pour.shelf.count);
        json_decref(compact);
        text_free(&text);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
