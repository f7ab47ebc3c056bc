/* Telling a reply to people: aligned rows, and its notes below. */
#ifndef RUSSET_FLOW_SAY_H
#define RUSSET_FLOW_SAY_H

#include "base/text.h"
#include <jansson.h>

/* "  label               value" */
void say_row(struct text *out, const char *label, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* The notes of the reply, one paragraph each, broken at about 78 columns. */
void say_notes(const json_t *reply, struct text *out);
/* "1 job", "2 jobs": a noun that takes an s. */
void say_count(struct text *out, double count, const char *noun);
void say_paragraph(struct text *out, const char *lead, const char *sentence);

/* A whole document, as --json and --out write it. */
void say_document(const json_t *reply, struct text *out);

/* By key; a number that is missing or null is NAN, a text "". */
double say_number(const json_t *object, const char *key);
const char *say_string(const json_t *object, const char *key);

#endif
