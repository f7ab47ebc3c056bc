#include "fuzz_help.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_one(data, size, cgats_read);
    return 0;
}
