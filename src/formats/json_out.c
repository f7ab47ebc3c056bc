#include "formats/json_out.h"
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FORMAT = 1 };
static const char not_finite[] = "NOT FINITE";

json_t *json_start(const char *kind) {
    json_t *object = json_object();
    json_put_text(object, "russet", RUSSET_VERSION);
    json_put_text(object, "kind", kind);
    json_put_count(object, "format", FORMAT);
    return object;
}

void json_put(json_t *object, const char *key, json_t *value) {
    json_object_set_new(object, key, value);
}

/* Rounds through decimal text, so that what is stored is the double nearest to the printed digits. */
static double rounded(double value, int digits) {
    char text[400];
    if (digits < 0)
        snprintf(text, sizeof text, "%.*e", -digits - 1, value);
    else
        snprintf(text, sizeof text, "%.*f", digits, value);
    const double r = strtod(text, NULL);
    return r == 0 ? 0 : r; /* no -0 */
}

json_t *json_number(double value, int digits) {
    return isfinite(value) ? json_real(rounded(value, digits)) : json_string(not_finite);
}

void json_put_number(json_t *object, const char *key, double value, int digits) {
    json_put(object, key, json_number(value, digits));
}

void json_put_count(json_t *object, const char *key, long long value) {
    json_put(object, key, json_integer(value));
}

/* A name of the machine (a file's) may be no UTF-8: it is taken as Latin-1 then, and never left out. */
static json_t *text_of(const char *value) {
    struct text text = {0};
    if (text_is_utf8(value, strlen(value))) return json_string(value);
    for (const char *c = value; *c; c++) {
        const unsigned char byte = (unsigned char)*c;
        const char two[2] = {(char)(0xC0 | byte >> 6), (char)(0x80 | (byte & 0x3F))};
        text_add_bytes(&text, byte < 0x80 ? c : two, byte < 0x80 ? 1 : 2);
    }
    json_t *string = json_string(text.data);
    text_free(&text);
    return string;
}

void json_put_text(json_t *object, const char *key, const char *value) {
    json_put(object, key, value ? text_of(value) : json_null());
}

void json_put_flag(json_t *object, const char *key, bool value) {
    json_put(object, key, json_boolean(value));
}

void json_put_null(json_t *object, const char *key) {
    json_put(object, key, json_null());
}

json_t *json_numbers(const double *value, size_t n, int digits) {
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) json_array_append_new(array, json_number(value[i], digits));
    return array;
}

json_t *json_spectrum(const struct spectrum *spectrum) {
    return json_numbers(spectrum->band, BANDS, DIGITS_REFLECTANCE);
}

json_t *json_lab(struct lab lab) {
    return json_numbers((const double[]){lab.l, lab.a, lab.b}, 3, DIGITS_LAB);
}

void json_add_note(json_t *object, const struct fault *note) {
    json_t *notes = json_object_get(object, "notes");
    if (!notes) {
        notes = json_array();
        json_put(object, "notes", notes);
    }
    char key[80];
    word_key(note->word, key, sizeof key);
    json_t *entry = json_object();
    json_put_text(entry, "id", key);
    json_put_text(entry, "text", note->text);
    json_array_append_new(notes, entry);
}

/* The path of the first number that was not finite, or NULL. */
static const char *find_not_finite(const json_t *value, const char *key) {
    if (json_is_string(value)) return strcmp(json_string_value(value), not_finite) == 0 ? key : NULL;
    const char *found = NULL;
    for (size_t i = 0; !found && json_is_array(value) && i < json_array_size(value); i++)
        found = find_not_finite(json_array_get(value, i), key);
    if (!json_is_object(value)) return found;
    for (void *it = json_object_iter((json_t *)(uintptr_t)value); it && !found;
         it = json_object_iter_next((json_t *)(uintptr_t)value, it))
        found = find_not_finite(json_object_iter_value(it), json_object_iter_key(it));
    return found;
}

static bool is_plain(const json_t *value) {
    return !json_is_object(value) && !json_is_array(value);
}

static void add_scalar(struct text *out, const json_t *value) {
    char *dumped = json_dumps(value, JSON_ENCODE_ANY | JSON_REAL_PRECISION(9));
    text_add(out, dumped ? dumped : "null");
    free(dumped);
}

static void indent(struct text *out, int depth) {
    text_add(out, "\n");
    for (int i = 0; i < depth; i++) text_add(out, "  ");
}

static void add_value(struct text *out, const json_t *value, int depth);

static void add_array(struct text *out, const json_t *array, int depth) {
    const size_t n = json_array_size(array);
    bool plain = true;
    for (size_t i = 0; i < n; i++) plain = plain && is_plain(json_array_get(array, i));
    text_add(out, "[");
    for (size_t i = 0; i < n; i++) {
        if (i) text_add(out, plain ? ", " : ",");
        if (!plain) indent(out, depth + 1);
        add_value(out, json_array_get(array, i), depth + 1);
    }
    if (!plain) indent(out, depth);
    text_add(out, "]");
}

static void add_object(struct text *out, const json_t *object, int depth) {
    json_t *o = (json_t *)(uintptr_t)object;
    bool first = true;
    text_add(out, "{");
    for (void *it = json_object_iter(o); it; it = json_object_iter_next(o, it)) {
        if (!first) text_add(out, ",");
        first = false;
        indent(out, depth + 1);
        json_t *key = json_string(json_object_iter_key(it));
        add_scalar(out, key);
        json_decref(key);
        text_add(out, ": ");
        add_value(out, json_object_iter_value(it), depth + 1);
    }
    if (!first) indent(out, depth);
    text_add(out, "}");
}

static void add_value(struct text *out, const json_t *value, int depth) {
    if (json_is_array(value))
        add_array(out, value, depth);
    else if (json_is_object(value))
        add_object(out, value, depth);
    else
        add_scalar(out, value);
}

enum status json_finish(const json_t *object, struct text *out, struct fault *fault) {
    const char *bad = find_not_finite(object, "the result");
    if (bad) return FAULT(fault, INTERNAL_NOT_FINITE, bad);
    add_value(out, object, 0);
    text_add(out, "\n");
    return STATUS_OK;
}
