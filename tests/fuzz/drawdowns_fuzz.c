/* A table that is accepted must hold together, and come back the same when it is written as CGATS. */
#include "formats/cgats_out.h"
#include "formats/drawdowns.h"
#include "fuzz_help.h"
#include "mutate.h"

static void must_hold_together(const struct drawdown_set *set) {
    MUST(set->count > 0 && set->toner_count > 0 && set->toner_count <= SHELF_MOST);
    for (size_t i = 0; i < set->count; i++) {
        const struct drawdown *row = &set->row[i];
        double sum = 0;
        for (size_t t = 0; t < set->toner_count; t++) {
            MUST(row->mass_g[t] >= 0 && row->mass_g[t] <= 1e6);
            sum += row->mass_g[t];
        }
        MUST(row->is_bare == !(sum > 0));
        MUST(isnan(row->film_um) ||
             (row->film_um > 0 && row->film_um <= 2000 && row->backing != DRAWDOWN_OPAQUE));
        MUST(row->backing >= DRAWDOWN_OPAQUE && row->backing < (int)set->count);
        MUST(row->backing == DRAWDOWN_OPAQUE || (set->row[row->backing].is_bare && !row->is_bare));
    }
}

static void must_come_back(const struct drawdown_set *set, struct arena *arena) {
    struct text text = {0};
    struct drawdown_file again;
    struct fault fault = {0};
    cgats_write_drawdowns(set, "f", &text);
    const struct bytes bytes = {(const unsigned char *)text.data, text.length, "again"};
    const enum status status = drawdowns_read(&bytes, GEOMETRY_UNKNOWN, arena, &again, &fault);
    /* Masses under half a microgram are written as 0 and may turn a film into a bare row. */
    if (status != STATUS_OK)
        must_be_sentence(status, &fault);
    else
        MUST(again.set.count == set->count && again.set.toner_count == set->toner_count);
    text_free(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct drawdown_file file;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const enum status status = drawdowns_read(&bytes, GEOMETRY_UNKNOWN, arena, &file, &fault);
    if (status == STATUS_OK) {
        must_hold_together(&file.set);
        must_come_back(&file.set, arena);
    } else {
        must_be_sentence(status, &fault);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_words);
