/* One input, and how much is done for it. */
#ifndef RUSSET_TESTS_FUZZ_RUN_H
#define RUSSET_TESTS_FUZZ_RUN_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define MUST(condition)            \
    do {                           \
        if (!(condition)) abort(); \
    } while (0)

/* ---- what is dear is done for few ---- */

/* A corpus that is only run through (-runs=0) gets everything. */
static inline bool fuzz_is_whole(void) {
    static int whole = -1;
    char words[4096] = "";
    if (whole >= 0) return whole;
    FILE *file = fopen("/proc/self/cmdline", "rb");
    const size_t n = file ? fread(words, 1, sizeof words - 1, file) : 0;
    whole = memmem(words, n, "\0-runs=0", 9) != NULL;
    if (file) fclose(file);
    return whole;
}

/* One input in so many, told by its bytes alone (FNV-1a), so that a run can be repeated. */
static inline bool fuzz_is_one_in(unsigned many, const uint8_t *data, size_t size) {
    uint64_t sum = 0xcbf29ce484222325U;
    for (size_t i = 0; i < size; i++) sum = (sum ^ data[i]) * 0x100000001b3U;
    return (sum >> 32) % many == 0;
}

static inline bool fuzz_is_chosen(unsigned many, const uint8_t *data, size_t size) {
    return fuzz_is_whole() || fuzz_is_one_in(many, data, size);
}

#endif
