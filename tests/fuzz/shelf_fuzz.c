/* toners.json: what is read holds only numbers that can be used, and is written and read again as the same
 * shelf. */
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "fuzz_help.h"
#include "mutate.h"

static void must_be_shelf(const struct shelf *shelf) {
    MUST(shelf->count > 0 && shelf->count <= SHELF_MOST);
    MUST(shelf->surface.k1 >= 0 && shelf->surface.k1 <= 0.2 && shelf->surface.k2 >= 0 &&
         shelf->surface.k2 <= 0.95);
    for (size_t i = 0; i < shelf->count; i++) {
        const struct toner *toner = &shelf->toner[i];
        MUST(toner_id_is_good(toner->id) && toner->role < ROLE_COUNT && toner->price_minor_per_kg >= -1);
        MUST(toner->bend >= 0 && toner->bend <= 1);
        for (int b = 0; b < BANDS; b++)
            MUST(toner->k[b] >= 0 && toner->k[b] <= 1e6 && toner->s[b] >= 0 && toner->s[b] <= 1e6);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct fault fault = {0};
    struct shelf shelf, again;
    const struct bytes bytes = {data, size, "f"};
    const enum status status = shelf_read(&bytes, arena, &shelf, &fault);
    if (status != STATUS_OK) {
        must_be_sentence(status, &fault);
    } else {
        must_be_shelf(&shelf);
        struct text text = {0};
        json_t *object = json_start("toners");
        shelf_put(object, &shelf);
        MUST(json_finish(object, &text, &fault) == STATUS_OK);
        const struct bytes written = {(const unsigned char *)text.data, text.length, "f"};
        MUST(shelf_read(&written, arena, &again, &fault) == STATUS_OK && again.count == shelf.count);
        json_decref(object);
        text_free(&text);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
