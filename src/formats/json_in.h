/* JSON coming in: bounded, typed, and with the file and the path of the value in every complaint. */
#ifndef RUSSET_FORMATS_JSON_IN_H
#define RUSSET_FORMATS_JSON_IN_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include <jansson.h>

/* Parses bytes (duplicate keys, NaN and trailing text are refused). Depth is bounded by jansson. The caller
 * owns *out. */
enum status json_read(const struct bytes *bytes, json_t **out, struct fault *fault) MUST_USE;
/* Is it an object of russet of one of the kinds ("match|prediction"), of a format this program knows? */
enum status json_check_kind(const json_t *object, const char *kinds, const char *file,
                            struct fault *fault) MUST_USE;

/* Where a value stands, for the sentence: file "toners.json", path "toners.white.k". */
struct json_place {
    const char *file, *path;
};

/* Needed values: INPUT when missing, of the wrong type or outside low..high. */
enum status json_get_number(const json_t *object, const char *key, double low, double high,
                            struct json_place place, double *out, struct fault *fault) MUST_USE;
enum status json_get_text(const json_t *object, const char *key, struct json_place place, const char **out,
                          struct fault *fault) MUST_USE;
/* Exactly n numbers. */
enum status json_get_numbers(const json_t *object, const char *key, size_t n, double low, double high,
                             struct json_place place, double *out, struct fault *fault) MUST_USE;
/* An optional number: otherwise when missing or null. */
enum status json_get_number_or(const json_t *object, const char *key, double low, double high,
                               double otherwise, struct json_place place, double *out,
                               struct fault *fault) MUST_USE;

#endif
