/* JSON as russet writes it (jansson): every object starts russet, kind, format; numbers are rounded to the
 * digits of docs/decisions.md before they are stored, so that the same value is the same text everywhere; a
 * number that is not finite never leaves: the object remembers it and json_finish turns it into an internal
 * error. */
#ifndef RUSSET_FORMATS_JSON_OUT_H
#define RUSSET_FORMATS_JSON_OUT_H

#include "base/fault.h"
#include "base/text.h"
#include "colour/reading.h"
#include <jansson.h>

enum digits {
    DIGITS_REFLECTANCE = 6,
    DIGITS_LAB = 4,
    DIGITS_FRACTION = 6,
    DIGITS_KS = -9
}; /* negative: significant */

json_t *json_start(const char *kind); /* {"russet":..., "kind":..., "format":1} */

/* put_*: set a key of an object; a number that is not finite is stored as the text "NOT FINITE" for
 * json_finish to find. */
void json_put_number(json_t *object, const char *key, double value, int digits);
void json_put_count(json_t *object, const char *key, long long value);
void json_put_text(json_t *object, const char *key, const char *value); /* NULL puts null */
void json_put_flag(json_t *object, const char *key, bool value);
void json_put_null(json_t *object, const char *key);
void json_put(json_t *object, const char *key, json_t *value); /* takes the reference */
json_t *json_number(double value, int digits);
json_t *json_numbers(const double *value, size_t n, int digits);
json_t *json_spectrum(const struct spectrum *spectrum);
json_t *json_lab(struct lab lab); /* [L, a, b] */
/* Appends {"id": "...", "text": "..."} to object.notes (made when missing). */
void json_add_note(json_t *object, const struct fault *note);

/* The object as bytes with a newline at the end, two spaces of indent, arrays of numbers on one line.
 * INTERNAL when a number was not finite. */
enum status json_finish(const json_t *object, struct text *out, struct fault *fault) MUST_USE;

#endif
