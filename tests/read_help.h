/* For the tests of readers: reads a text or a file of tests/data/formats and remembers what came of it. */
#ifndef RUSSET_TESTS_READ_HELP_H
#define RUSSET_TESTS_READ_HELP_H

#include "check.h"
#include "device/disk.h"
#include "formats/sample_file.h"

static struct arena *arena;
static struct sample_file file;
static struct fault fault;

static inline void start_afresh(void) {
    arena_free(arena);
    arena = arena_new();
    memset(&file, 0, sizeof file);
    memset(&fault, 0, sizeof fault);
}

static inline enum status read_bytes(const void *data, size_t size, enum geometry geometry) {
    start_afresh();
    const struct bytes bytes = {data, size, "t"};
    const enum status status = sample_file_read(&bytes, geometry, arena, &file, &fault);
    /* Whatever is refused is refused in one sentence. */
    if (status != STATUS_OK)
        CHECK(status == STATUS_INPUT && fault.status == STATUS_INPUT && strlen(fault.text) > 10);
    return status;
}

static inline enum status read_string(const char *text) {
    return read_bytes(text, strlen(text), GEOMETRY_UNKNOWN);
}

static inline enum status read_data(const char *name) {
    char path[300];
    struct bytes bytes;
    start_afresh();
    snprintf(path, sizeof path, "%s/formats/%s", TEST_DATA, name);
    const enum status status = disk_read(disk_real(), path, DISK_TEXT_MIB, arena, &bytes, &fault);
    if (status != STATUS_OK) return status;
    bytes.name = arena_text(arena, name, strlen(name));
    return sample_file_read(&bytes, GEOMETRY_UNKNOWN, arena, &file, &fault);
}

static inline bool has_note(enum word word) {
    for (size_t i = 0; i < file.note_count; i++)
        if (file.note[i].word == word) return true;
    return false;
}

#endif
