/* A measured lamp: what is read can be weighed with. */
#include "formats/lamp_file.h"
#include "fuzz_help.h"
#include "mutate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct sampled lamp;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const enum status status = lamp_file_read(&bytes, arena, &lamp, &fault);
    if (status != STATUS_OK) {
        must_be_sentence(status, &fault);
    } else {
        double sum = 0;
        MUST(lamp.count > 1 && lamp.step_nm > 0 && lamp.first_nm <= 400);
        for (size_t i = 0; i < lamp.count; i++) {
            MUST(lamp.value[i] >= 0 && isfinite(lamp.value[i]));
            sum += lamp.value[i];
        }
        MUST(sum > 0);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_words);
