/* about.json and stock.json: the same bytes are offered as both. */
#include "formats/about_json.h"
#include "fuzz_help.h"
#include "mutate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct about about;
    struct toner toner[2] = {{.id = "white"}, {.id = "black"}};
    struct shelf shelf = {.count = 2, .toner = toner};
    struct fault fault = {0}, note = {0};
    double stock_g[2];
    bool noted;
    const struct bytes bytes = {data, size, "f"};
    enum status status = about_read(&bytes, arena, &about, &fault);
    if (status != STATUS_OK)
        must_be_sentence(status, &fault);
    else
        about_apply(&about, "f", &shelf, &note);
    MUST(toner[0].density_g_ml >= 0 && toner[0].solids >= 0 && toner[0].solids <= 1 &&
         toner[0].price_minor_per_kg >= -1);
    status = stock_read(&bytes, &shelf, stock_g, &noted, &note, &fault);
    if (status != STATUS_OK)
        must_be_sentence(status, &fault);
    else
        MUST(stock_g[0] >= 0 && stock_g[1] >= 0);
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
