/* Results of cards, and adjustments that carry one: what is read can be learnt from, and is written and read
 * again as the same. */
#include "formats/json_out.h"
#include "formats/results_json.h"
#include "fuzz_help.h"
#include "mutate.h"

static void must_be_result(const struct result *result) {
    double sum = 0;
    MUST(result->toners > 0 && result->toners <= SHELF_MOST && result->id && result->state < STATE_COUNT);
    for (size_t i = 0; i < result->toners; i++) {
        MUST(result->mass_g[i] >= 0 && isfinite(result->mass_g[i]) && result->lot[i]);
        sum += result->mass_g[i];
    }
    MUST(sum > 0 && result->film_um > 0);
    for (int b = 0; b < BANDS; b++) {
        MUST(result->measured.band[b] >= 0 && result->measured.band[b] <= 20);
        MUST(isinf(result->film_um) || (result->backing.band[b] >= 0 && result->backing.band[b] <= 20));
    }
}

static void must_come_back(const struct result_set *set, struct arena *arena) {
    struct result_set again = {0};
    struct text text = {0};
    struct fault fault = {0};
    json_t *object = json_start("results"), *list = json_array();
    for (size_t i = 0; i < set->count; i++) json_array_append_new(list, result_json(&set->result[i]));
    json_object_set_new(object, "results", list);
    MUST(json_finish(object, &text, &fault) == STATUS_OK);
    const struct bytes written = {(const unsigned char *)text.data, text.length, "f"};
    MUST(results_read(&written, arena, &again, &fault) == STATUS_OK && again.count == set->count);
    json_decref(object);
    text_free(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct result_set set = {0};
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const enum status status = results_read(&bytes, arena, &set, &fault);
    if (status != STATUS_OK) must_be_sentence(status, &fault);
    for (size_t i = 0; status == STATUS_OK && i < set.count; i++) must_be_result(&set.result[i]);
    if (status == STATUS_OK && set.count) must_come_back(&set, arena);
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
