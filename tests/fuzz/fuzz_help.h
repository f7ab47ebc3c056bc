/* What every reader promises, whatever it is fed: a refusal is INPUT with one sentence of valid text, a
 * success holds only numbers that can be used. */
#ifndef RUSSET_TESTS_FUZZ_HELP_H
#define RUSSET_TESTS_FUZZ_HELP_H

#include "formats/sample_build.h"
#include "formats/sample_readers.h"
#include "fuzz_run.h"
#include <math.h>

/* ---- promises ---- */

static inline void must_be_sentence(enum status status, const struct fault *fault) {
    MUST(status == STATUS_INPUT && fault->status == STATUS_INPUT && fault->word != WORD_NONE);
    MUST(strlen(fault->text) > 10 && text_is_utf8(fault->text, strlen(fault->text)));
}

static inline void must_be_readings(const struct sample_file *file) {
    MUST(file->count > 0 && file->count <= SAMPLES_MOST && file->scale && file->format);
    for (size_t i = 0; i < file->count; i++) {
        const struct reading *r = &file->sample[i].reading;
        MUST(r->id[0] && text_is_utf8(r->id, strlen(r->id)));
        MUST(isfinite(r->lab.l) && isfinite(r->lab.a) && isfinite(r->lab.b));
        for (int b = 0; b < BANDS && r->has_spectrum; b++)
            MUST(r->reflectance.band[b] >= 0 && r->reflectance.band[b] <= 20);
        for (size_t k = 0; k < file->sample[i].field_count; k++)
            MUST(file->sample[i].field[k].name && file->sample[i].field[k].text);
    }
    for (size_t i = 0; i < file->note_count; i++)
        MUST(file->note[i].status == STATUS_OK && file->note[i].text[0]);
}

typedef enum status fuzz_reader(struct sample_build *build, struct text_in *text, struct arena *arena,
                                struct fault *fault);

/* Straight into one reader, past the telling of formats. */
static inline void fuzz_one(const uint8_t *data, size_t size, fuzz_reader *reader) {
    struct arena *arena = arena_new();
    struct sample_file file;
    struct fault fault = {0};
    struct text_in text;
    const struct bytes bytes = {data, size, "f"};
    struct sample_build *build = build_start("f", GEOMETRY_UNKNOWN, arena, &file);
    enum status status = text_in_decode(&bytes, arena, &text, &fault);
    if (status == STATUS_OK) status = reader(build, &text, arena, &fault);
    if (status == STATUS_OK) status = build_finish(build, "any", &fault);
    if (status == STATUS_OK)
        must_be_readings(&file);
    else
        must_be_sentence(status, &fault);
    arena_free(arena);
}

#endif
