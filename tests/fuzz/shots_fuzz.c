/* The log of test shots: what is read can be reckoned with, and the next shot stays inside the limits. */
#include "formats/shots_file.h"
#include "fuzz_help.h"
#include "mutate.h"

enum { SEARCHED_ONE_IN = 16 }; /* the search for the next shot takes as long as reading a hundred logs */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct gun_shot shot[GUN_SHOTS_MOST];
    int line[GUN_SHOTS_MOST];
    size_t count = 0;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const struct gun_limits limits = {{1, 1, 100, 20, 1}, {2, 1, 100, 20, 1}};
    const enum status status = shots_read(&bytes, arena, shot, line, &count, &fault);
    if (status != STATUS_OK) must_be_sentence(status, &fault);
    if (status == STATUS_OK) MUST(count <= GUN_SHOTS_MOST);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        MUST(shot[i].sal_mm > 0 && shot[i].sa_um > 0 && line[i] > 1);
    if (status == STATUS_OK && fuzz_is_chosen(SEARCHED_ONE_IN, data, size)) {
        struct gun_advice advice;
        gun_advise(shot, count, &limits, .3, 5, &advice);
        for (int k = 0; k < GUN_KNOBS; k++)
            MUST(advice.next.knob[k] >= limits.low[k] && advice.next.knob[k] <= limits.high[k]);
        MUST(advice.expected.sal_mm >= 0 && advice.expected.sal_sd > 0);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_words);
