#include "shop/query.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static bool going(const struct query *query) {
    return query->status == STATUS_OK;
}

static void judge(struct query *query, int code) {
    if (going(query) && code != SQLITE_OK) query->status = book_fault(query->book, code, query->fault);
}

struct query query_make(struct book *book, const char *sql, struct fault *fault) {
    struct query query = {.book = book, .fault = fault};
    judge(&query, sqlite3_prepare_v2(book_database(book), sql, -1, &query.statement, NULL));
    return query;
}

void query_text(struct query *query, const char *value) {
    query->bound++;
    if (!going(query)) return;
    judge(query, value ? sqlite3_bind_text(query->statement, query->bound, value, -1, SQLITE_TRANSIENT)
                       : sqlite3_bind_null(query->statement, query->bound));
}

void query_count(struct query *query, long long value) {
    query->bound++;
    if (going(query)) judge(query, sqlite3_bind_int64(query->statement, query->bound, value));
}

void query_null(struct query *query) {
    query->bound++;
    if (going(query)) judge(query, sqlite3_bind_null(query->statement, query->bound));
}

void query_number(struct query *query, double value) {
    if (isnan(value)) {
        query_null(query);
        return;
    }
    query->bound++;
    if (going(query)) judge(query, sqlite3_bind_double(query->statement, query->bound, value));
}

bool query_row(struct query *query) {
    if (!going(query)) return false;
    const int code = sqlite3_step(query->statement);
    if (code != SQLITE_ROW && code != SQLITE_DONE) judge(query, code);
    return code == SQLITE_ROW;
}

enum status query_end(struct query *query) {
    sqlite3_finalize(query->statement); /* its code was judged by the step */
    query->statement = NULL;
    return query->status;
}

enum status query_run(struct query *query) {
    while (query_row(query)) {
    }
    return query_end(query);
}

void query_again(struct query *query) {
    query->bound = 0;
    if (going(query)) sqlite3_reset(query->statement);
}

const char *query_get_text_or_null(const struct query *query, int column, struct arena *arena) {
    const char *text = (const char *)sqlite3_column_text(query->statement, column);
    if (!text) return NULL;
    return arena_text(arena, text, (size_t)sqlite3_column_bytes(query->statement, column));
}

const char *query_get_text(const struct query *query, int column, struct arena *arena) {
    const char *text = query_get_text_or_null(query, column, arena);
    return text ? text : "";
}

void query_get_id(const struct query *query, int column, char id[ID_LENGTH + 1]) {
    const char *text = (const char *)sqlite3_column_text(query->statement, column);
    snprintf(id, ID_LENGTH + 1, "%s", text ? text : "");
}

long long query_get_count(const struct query *query, int column) {
    return sqlite3_column_int64(query->statement, column);
}

double query_get_number(const struct query *query, int column) {
    return query_is_null(query, column) ? (double)NAN : sqlite3_column_double(query->statement, column);
}

bool query_is_null(const struct query *query, int column) {
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL;
}

enum status query_script(struct book *book, const char *sql, struct fault *fault) {
    const int code = sqlite3_exec(book_database(book), sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? STATUS_OK : book_fault(book, code, fault);
}
