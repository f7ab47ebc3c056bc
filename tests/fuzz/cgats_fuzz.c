#include "fuzz_help.h"
#include "mutate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_one(data, size, cgats_read);
    return 0;
}

MUTATE_BY(mutate_words);
