/* A file of measured samples in any of the formats that russet reads: CGATS.17 / ISO 28178 text, CxF3 / ISO
 * 17972-1 XML, CSV (either orientation) and our own JSON, told by content and not by name. */
#ifndef RUSSET_FORMATS_SAMPLE_FILE_H
#define RUSSET_FORMATS_SAMPLE_FILE_H

#include "base/memory.h"
#include "base/text.h"
#include "colour/reading.h"

struct sample_field { /* a column that is not spectral, as text: MIX_white, BACKING, FILM_UM, TOPCOAT,
                         POS_X_MM ... */
    const char *name, *text;
    int line; /* of the file, for messages */
};

struct sample {
    struct reading reading; /* has_spectrum false when the row holds no spectrum */
    const struct sample_field *field;
    size_t field_count;
    int line;
};

struct sample_file {
    const char *name;   /* for messages */
    const char *format; /* "CGATS", "CxF3", "CSV", "JSON" */
    const char *scale;  /* "fraction" or "percent", and how that was told: "percent (by magnitude)" */
    bool decimal_comma; /* fields may be written with one */
    struct sample *sample;
    size_t count;
    size_t note_count;
    const struct fault *note; /* what was assumed or skipped */
};

/* geometry: what to assume when the file does not say (GEOMETRY_UNKNOWN: nothing). All memory is the arena's.
 */
enum status sample_file_read(const struct bytes *bytes, enum geometry geometry, struct arena *arena,
                             struct sample_file *out, struct fault *fault) MUST_USE;
/* By SAMPLE_ID; INPUT with the ids that are there when it is not. */
enum status sample_file_find(const struct sample_file *file, const char *id, const struct sample **out,
                             struct fault *fault) MUST_USE;
const char *sample_field_text(const struct sample *sample,
                              const char *name); /* any case; NULL when not there */

#endif
