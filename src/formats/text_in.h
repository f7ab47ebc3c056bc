/* Text of any file as UTF-8 (docs/decisions.md "Text in"): UTF-8 with or without its mark, UTF-16 by its
 * mark, else Latin-1. */
#ifndef RUSSET_FORMATS_TEXT_IN_H
#define RUSSET_FORMATS_TEXT_IN_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"

struct text_in {
    char *data; /* valid UTF-8, terminated, the arena's, may be written to */
    size_t size;
    const char *encoding; /* "UTF-8", "UTF-16", "Latin-1" */
};

/* INPUT: an empty file, a zero character (that is no text), UTF-16 that ends within a character. Linear in
 * time; the copy is at most twice the file. */
enum status text_in_decode(const struct bytes *bytes, struct arena *arena, struct text_in *out,
                           struct fault *fault) MUST_USE;

/* A piece of a file fit for a sentence: at most 60 bytes of whole characters, control characters shown as
 * '?'. */
#define SHOWN_TEXT(s) text_in_shown((char[72]){0}, (s))
const char *text_in_shown(char out[72], const char *s);

#endif
