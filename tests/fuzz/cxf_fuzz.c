#include "fuzz_help.h"
#include "mutate.h"

static enum status read_cxf(struct sample_build *build, struct text_in *text, struct arena *arena,
                            struct fault *fault) {
    return cxf3_read(build, text, arena, fault);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_one(data, size, read_cxf);
    return 0;
}

MUTATE_BY(mutate_words);
