/* The front door: any bytes, told by content; JSON mostly by its corpus. */
#include "fuzz_help.h"
#include "mutate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct sample_file file;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const enum status status = sample_file_read(&bytes, GEOMETRY_SCI, arena, &file, &fault);
    if (status == STATUS_OK)
        must_be_readings(&file);
    else
        must_be_sentence(status, &fault);
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
