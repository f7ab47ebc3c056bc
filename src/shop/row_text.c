#include "shop/row_text.h"
#include "shop/document.h"
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct query row_text_query(struct book *book, const struct table *table, const struct column *column,
                            size_t count, struct fault *fault) {
    struct text sql = {0};
    text_add(&sql, "SELECT ");
    for (size_t i = 0; i < count; i++) text_format(&sql, "%s%s", i ? ", " : "", column[i].name);
    text_format(&sql, " FROM %s WHERE %s ORDER BY %s", table->name, table->only, table->order);
    const struct query q = query_make(book, sql.data, fault);
    text_free(&sql);
    return q;
}

static void add_quoted(struct text *out, const char *value) {
    json_t *text = json_string(value);
    char *quoted = json_dumps(text, JSON_ENCODE_ANY);
    text_add(out, quoted ? quoted : "null");
    free(quoted);
    json_decref(text);
}

static void add_value(const struct query *query, int at, enum column_type type, struct text *out) {
    const char *text = (const char *)sqlite3_column_text(query->statement, at);
    if (query_is_null(query, at))
        text_add(out, "null");
    else if (type == COLUMN_WHOLE)
        text_format(out, "%lld", query_get_count(query, at));
    else if (type == COLUMN_REAL)
        text_format(out, "%.17g", query_get_number(query, at));
    else if (type == COLUMN_JSON)
        text_add(out, text ? text : "null");
    else
        add_quoted(out, text ? text : "");
}

void row_text_add(const struct query *query, const struct column *column, size_t count, struct text *out) {
    for (size_t i = 0; i < count; i++) {
        text_format(out, "%s\"%s\":", i ? "," : "{", column[i].name);
        add_value(query, (int)i, column[i].type, out);
    }
    text_add(out, "}\n");
}

static bool bind_value(struct query *query, const json_t *value, const struct column *column) {
    struct arena *arena = NULL;
    bool fits = true;
    if (!value || json_is_null(value))
        query_null(query), fits = !column->needed;
    else if (column->type == COLUMN_WHOLE && json_is_integer(value))
        query_count(query, json_integer_value(value));
    else if (column->type == COLUMN_REAL && json_is_number(value))
        query_number(query, json_number_value(value));
    else if (column->type == COLUMN_TEXT && json_is_string(value))
        query_text(query, json_string_value(value));
    else if (column->type == COLUMN_JSON)
        query_text(query, document_text(value, arena = arena_new()));
    else
        fits = false;
    arena_free(arena);
    return fits;
}

static const char *unknown_key(const json_t *row, const struct column *column, size_t count) {
    const char *key;
    json_t *value;
    json_object_foreach((json_t *)(uintptr_t)row, key, value) {
        size_t i = 0;
        while (i < count && strcmp(column[i].name, key) != 0) i++;
        if (i == count) return key;
    }
    return NULL;
}

enum status row_text_bind(struct query *query, const json_t *row, const struct column *column, size_t count,
                          const char *file, size_t line, struct fault *fault) {
    if (!json_is_object(row)) return FAULT(fault, IMPORT_LINE, file, COUNT_TEXT((long long)line));
    const char *unknown = unknown_key(row, column, count);
    if (unknown) return FAULT(fault, IMPORT_KEY, file, COUNT_TEXT((long long)line), unknown);
    for (size_t i = 0; i < count; i++)
        if (!bind_value(query, json_object_get(row, column[i].name), &column[i]))
            return FAULT(fault, IMPORT_VALUE, file, COUNT_TEXT((long long)line), column[i].name);
    return STATUS_OK;
}
