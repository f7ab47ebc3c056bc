/* A drawdown file: one film per row, with what was weighed and what it was drawn over (docs/formats.md). */
#ifndef RUSSET_FORMATS_DRAWDOWNS_H
#define RUSSET_FORMATS_DRAWDOWNS_H

#include "formats/sample_file.h"
#include "paint/drawdown.h"

struct drawdown_file {
    struct drawdown_set set;
    const char *format, *scale; /* as in struct sample_file */
    size_t note_count;
    const struct fault *note; /* what was assumed or skipped */
};

/* geometry: assumed when the file does not say. Everything belongs to the arena. INPUT with file, line and
 * field when a row cannot be meant: an id twice, a backing that is not there or not bare, a film without a
 * backing, an opaque row with a film, a mass or a film that cannot be, a toner id that is not [a-z0-9-]+,
 * rows of different geometries, a row without a spectrum. */
enum status drawdowns_read(const struct bytes *bytes, enum geometry geometry, struct arena *arena,
                           struct drawdown_file *out, struct fault *fault) MUST_USE;

#endif
