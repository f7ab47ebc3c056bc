#include "flow/say.h"
#include "formats/json_out.h"
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { LABEL_WIDTH = 22, LINE_WIDTH = 78 };

void say_row(struct text *out, const char *label, const char *format, ...) {
    char value[600];
    va_list args;
    va_start(args, format);
    vsnprintf(value, sizeof value, format, args);
    va_end(args);
    text_format(out, "  %-*s %s\n", LABEL_WIDTH, label, value);
}

/* Columns, not bytes: the following bytes of a UTF-8 character take no room. */
static size_t columns_of(const char *s, size_t n) {
    size_t columns = 0;
    for (size_t i = 0; i < n; i++) columns += ((unsigned char)s[i] & 0xC0) != 0x80;
    return columns;
}

void say_paragraph(struct text *out, const char *lead, const char *sentence) {
    const size_t indent = columns_of(lead, strlen(lead));
    size_t column = indent;
    text_add(out, lead);
    for (const char *word = sentence; *word;) {
        const size_t n = strcspn(word, " "), columns = columns_of(word, n);
        if (column > indent && column + 1 + columns > LINE_WIDTH) {
            text_format(out, "\n%*s", (int)indent, "");
            column = indent;
        }
        if (column > indent) text_add(out, " "), column++;
        text_add_bytes(out, word, n);
        column += columns;
        word += n;
        while (*word == ' ') word++;
    }
    text_add(out, "\n");
}

void say_count(struct text *out, double count, const char *noun) {
    text_format(out, "%.0f %s%s", count, noun, count == 1 ? "" : "s");
}

void say_notes(const json_t *reply, struct text *out) {
    const json_t *notes = json_object_get(reply, "notes");
    if (json_array_size(notes)) text_add(out, "\n");
    for (size_t i = 0; i < json_array_size(notes); i++)
        say_paragraph(out, "  - ", say_string(json_array_get(notes, i), "text"));
}

double say_number(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

const char *say_string(const json_t *object, const char *key) {
    const char *s = json_string_value(json_object_get(object, key));
    return s ? s : "";
}

void say_document(const json_t *reply, struct text *out) {
    struct fault fault;
    if (json_finish(reply, out, &fault) != STATUS_OK) text_format(out, "%s\n", fault.text);
}
