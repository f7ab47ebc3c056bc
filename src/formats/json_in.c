/* JSON by RFC 8259, read with jansson: duplicate keys, NaN, infinities, \u0000 and text behind the value are
 * refused; depth is bounded by jansson (2048), the number of values here, so that 64 MiB of "0,0,0" cannot
 * ask for gigabytes. */
#include "formats/json_in.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { FORMAT_KNOWN = 1, VALUES_MOST = 500000 };

static size_t skip_string(const char *s, size_t n, size_t i) {
    for (i++; i < n && s[i] != '"'; i++)
        if (s[i] == '\\') i++;
    return i;
}

/* Every value but the first stands behind one of these marks. */
static bool has_too_many_values(const char *s, size_t n) {
    size_t marks = 0;
    for (size_t i = 0; i < n && marks <= VALUES_MOST; i++) {
        if (s[i] == '"')
            i = skip_string(s, n, i);
        else if (s[i] == ',' || s[i] == '[' || s[i] == '{')
            marks++;
    }
    return marks > VALUES_MOST;
}

static enum status load(const struct bytes *bytes, const struct text_in *text, json_t **out,
                        struct fault *fault) {
    if (has_too_many_values(text->data, text->size))
        return FAULT(fault, JSON_TOO_MANY, bytes->name, COUNT_TEXT(VALUES_MOST));
    json_error_t error;
    *out = json_loadb(text->data, text->size, JSON_REJECT_DUPLICATES, &error);
    if (*out) return STATUS_OK;
    return FAULT(fault, JSON_BROKEN, bytes->name, COUNT_TEXT(error.line), COUNT_TEXT(error.column),
                 SHOWN_TEXT(error.text));
}

enum status json_read(const struct bytes *bytes, json_t **out, struct fault *fault) {
    struct arena *arena = arena_new();
    struct text_in text;
    *out = NULL;
    enum status status = text_in_decode(bytes, arena, &text, fault);
    if (status == STATUS_OK) status = load(bytes, &text, out, fault);
    arena_free(arena);
    return status;
}

/* Is name one of "a|b|c"? */
static bool is_among(const char *name, const char *kinds) {
    const size_t n = strlen(name);
    for (const char *k = kinds; n > 0; k++) {
        const char *end = strchr(k, '|');
        const size_t length = end ? (size_t)(end - k) : strlen(k);
        if (length == n && memcmp(k, name, n) == 0) return true;
        if (!end) break;
        k = end;
    }
    return false;
}

/* "reading|prediction" as people say it. */
static const char *kinds_text(char out[160], const char *kinds) {
    size_t n = 0;
    for (const char *k = kinds; *k && n + 5 < 160; k++) {
        const char *piece = *k == '|' ? " or " : (const char[]){*k, 0};
        n += (size_t)snprintf(out + n, 160 - n, "%s", piece);
    }
    return out;
}

enum status json_check_kind(const json_t *object, const char *kinds, const char *file, struct fault *fault) {
    char words[160] = "";
    const char *wanted = kinds_text(words, kinds);
    if (!json_is_object(object)) return FAULT(fault, JSON_NOT_OBJECT, file, wanted);
    const json_t *kind = json_object_get(object, "kind"), *format = json_object_get(object, "format");
    if (!json_is_string(kind)) return FAULT(fault, JSON_KIND_MISSING, file, wanted);
    if (!is_among(json_string_value(kind), kinds))
        return FAULT(fault, JSON_KIND_OTHER, file, SHOWN_TEXT(json_string_value(kind)), wanted);
    if (format && (!json_is_integer(format) || json_integer_value(format) < 1))
        return FAULT(fault, JSON_FORMAT_WRONG, file);
    if (format && json_integer_value(format) > FORMAT_KNOWN)
        return FAULT(fault, JSON_FORMAT_NEWER, file, COUNT_TEXT(json_integer_value(format)),
                     COUNT_TEXT(FORMAT_KNOWN));
    return STATUS_OK;
}

/* "toners.white" and "k" -> "toners.white.k"; both may be a stranger's text of any length. */
static const char *path_of(char out[160], struct json_place place, const char *key) {
    if (place.path && *place.path)
        snprintf(out, 160, "%s.%s", SHOWN_TEXT(place.path), SHOWN_TEXT(key));
    else
        snprintf(out, 160, "%s", SHOWN_TEXT(key));
    return out;
}
#define PATH_TEXT(place, key) path_of((char[160]){0}, (place), (key))

static const char *type_of(const json_t *value) {
    if (!value) return "missing";
    if (json_is_string(value)) return "a text";
    if (json_is_number(value)) return "a number";
    if (json_is_array(value)) return "a list";
    if (json_is_object(value)) return "an object";
    return json_is_null(value) ? "null" : "true or false";
}

static enum status number_in(const json_t *value, const char *path, double low, double high,
                             struct json_place place, double *out, struct fault *fault) {
    if (!json_is_number(value)) return FAULT(fault, JSON_NOT_NUMBER, place.file, path, type_of(value));
    const double number = json_number_value(value);
    if (!(number >= low && number <= high))
        return FAULT(fault, JSON_NUMBER_OUTSIDE, place.file, path, NUMBER_TEXT(number), NUMBER_TEXT(low),
                     NUMBER_TEXT(high));
    *out = number;
    return STATUS_OK;
}

enum status json_get_number(const json_t *object, const char *key, double low, double high,
                            struct json_place place, double *out, struct fault *fault) {
    const json_t *value = json_object_get(object, key);
    if (!value) return FAULT(fault, JSON_MISSING, place.file, PATH_TEXT(place, key), "a number");
    return number_in(value, PATH_TEXT(place, key), low, high, place, out, fault);
}

enum status json_get_number_or(const json_t *object, const char *key, double low, double high,
                               double otherwise, struct json_place place, double *out, struct fault *fault) {
    const json_t *value = json_object_get(object, key);
    if (value && !json_is_null(value))
        return number_in(value, PATH_TEXT(place, key), low, high, place, out, fault);
    *out = otherwise;
    return STATUS_OK;
}

enum status json_get_text(const json_t *object, const char *key, struct json_place place, const char **out,
                          struct fault *fault) {
    const json_t *value = json_object_get(object, key);
    if (!value) return FAULT(fault, JSON_MISSING, place.file, PATH_TEXT(place, key), "a text");
    if (!json_is_string(value))
        return FAULT(fault, JSON_NOT_TEXT, place.file, PATH_TEXT(place, key), type_of(value));
    *out = json_string_value(value);
    return STATUS_OK;
}

enum status json_get_numbers(const json_t *object, const char *key, size_t n, double low, double high,
                             struct json_place place, double *out, struct fault *fault) {
    const json_t *list = json_object_get(object, key);
    const char *path = PATH_TEXT(place, key);
    if (!list) return FAULT(fault, JSON_MISSING, place.file, path, "a list of numbers");
    if (!json_is_array(list))
        return FAULT(fault, JSON_NOT_LIST, place.file, path, type_of(list), COUNT_TEXT((long long)n));
    if (json_array_size(list) != n)
        return FAULT(fault, JSON_LIST_LENGTH, place.file, path, COUNT_TEXT((long long)json_array_size(list)),
                     COUNT_TEXT((long long)n));
    for (size_t i = 0; i < n; i++) {
        char item[200];
        snprintf(item, sizeof item, "%s[%zu]", path, i);
        const enum status status = number_in(json_array_get(list, i), item, low, high, place, &out[i], fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}
