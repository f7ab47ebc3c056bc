/* The small shelf of tests/data/shelf/acrylics.json, for unit tests. */
#ifndef RUSSET_TESTS_ACRYLICS_SHELF_H
#define RUSSET_TESTS_ACRYLICS_SHELF_H

#include "check.h"
#include "formats/shelf_json.h"

static inline void acrylics_shelf_read(struct arena *arena, struct shelf *out) {
    static char text[1 << 20];
    struct fault fault;
    FILE *file = fopen(TEST_DATA "/shelf/acrylics.json", "r");
    CHECK(file != NULL);
    const size_t n = file ? fread(text, 1, sizeof text, file) : 0;
    if (file) fclose(file);
    const struct bytes bytes = {(const unsigned char *)text, n, "acrylics.json"};
    CHECK(shelf_read(&bytes, arena, out, &fault) == STATUS_OK);
}

#endif
