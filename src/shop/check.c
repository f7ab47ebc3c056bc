#include "shop/check.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/rows.h"
#include "shop/schema.h"
#include "shop/scrub.h"
#include "shop/tables.h"
#include <stdio.h>

enum { PROBLEMS_MOST = 100 };

struct checker {
    struct book *book;
    struct arena *arena;
    struct fault *fault;
    struct checked *out;
};

/* Room for the next problem; the hundredth is written over: more than that tells nothing new. */
static struct fault *next_problem(struct checker *checker) {
    struct checked *out = checker->out;
    if (!out->problem) out->problem = arena_need(checker->arena, PROBLEMS_MOST, sizeof *out->problem);
    if (out->problem_count == PROBLEMS_MOST) out->problem_count--;
    return &out->problem[out->problem_count++];
}
#define PROBLEM(checker, word, ...) ((void)FAULT(next_problem(checker), word, __VA_ARGS__))

static enum status check_integrity(struct checker *checker) {
    struct query q = query_make(checker->book, "PRAGMA integrity_check(20)", checker->fault);
    while (query_row(&q)) {
        const char *said = query_get_text(&q, 0, checker->arena);
        if (strcmp(said, "ok") != 0) PROBLEM(checker, CHECK_INTEGRITY, said);
    }
    return query_end(&q);
}

static enum status check_references(struct checker *checker) {
    struct query q = query_make(
        checker->book, "SELECT \"table\", count(*) FROM pragma_foreign_key_check GROUP BY 1", checker->fault);
    while (query_row(&q))
        PROBLEM(checker, CHECK_REFERENCES, query_get_text(&q, 0, checker->arena),
                COUNT_TEXT(query_get_count(&q, 1)));
    return query_end(&q);
}

/* One text of all that the schema says, in the order of the names. */
static int schema_text(sqlite3 *database, struct text *out) {
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(
        database,
        "SELECT type || ' ' || name || ' ' || sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY 1", -1,
        &statement, NULL);
    while (code == SQLITE_OK && (code = sqlite3_step(statement)) == SQLITE_ROW) {
        text_format(out, "%s\n", (const char *)sqlite3_column_text(statement, 0));
        code = SQLITE_OK;
    }
    sqlite3_finalize(statement);
    return code == SQLITE_DONE ? SQLITE_OK : code;
}

enum status check_schema(struct book *book, bool *same, struct fault *fault) {
    struct text here = {0}, wanted = {0};
    sqlite3 *fresh = NULL;
    int code = sqlite3_open(":memory:", &fresh);
    for (int i = 1; code == SQLITE_OK && i <= BOOK_SCHEMA; i++)
        code = sqlite3_exec(fresh, schema_step(i), NULL, NULL, NULL);
    if (code == SQLITE_OK) code = schema_text(fresh, &wanted);
    if (code == SQLITE_OK) code = schema_text(book_database(book), &here);
    *same = code == SQLITE_OK && strcmp(here.data, wanted.data) == 0;
    sqlite3_close(fresh);
    text_free(&here);
    text_free(&wanted);
    return code == SQLITE_OK ? STATUS_OK : book_fault(book, code, fault);
}

static enum status check_version(struct checker *checker) {
    bool same = true;
    const enum status status = check_schema(checker->book, &same, checker->fault);
    if (status == STATUS_OK && !same) PROBLEM(checker, CHECK_SCHEMA, book_dir(checker->book));
    return status;
}

static void check_document(struct checker *checker, const char *table, const char *id, const char *text) {
    json_t *document = json_loads(text, JSON_DECODE_ANY | JSON_REJECT_DUPLICATES, NULL);
    if (!document)
        PROBLEM(checker, CHECK_DOCUMENT, table, id);
    else if (json_object_get(document, "digest") && !document_seal_holds(document))
        PROBLEM(checker, CHECK_SEAL, table, id);
    json_decref(document);
}

static enum status check_column(struct checker *checker, const struct table *table, const char *column) {
    char sql[200];
    snprintf(sql, sizeof sql, "SELECT %s, %s FROM %s WHERE %s IS NOT NULL", table->key, column, table->name,
             column);
    struct query q = query_make(checker->book, sql, checker->fault);
    while (query_row(&q)) {
        struct arena *own = arena_new();
        const char *id = query_get_text(&q, 0, own);
        check_document(checker, table->name, id, query_get_text(&q, 1, own));
        arena_free(own);
    }
    return query_end(&q);
}

static enum status count_rows(struct checker *checker, const struct table *table) {
    char sql[80];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", table->name);
    struct query q = query_make(checker->book, sql, checker->fault);
    while (query_row(&q)) json_put_count(checker->out->rows, table->name, query_get_count(&q, 0));
    return query_end(&q);
}

static enum status check_table(struct checker *checker, const struct table *table) {
    struct column *column;
    size_t count;
    enum status status = count_rows(checker, table);
    if (status == STATUS_OK)
        status = table_columns(checker->book, table, checker->arena, &column, &count, checker->fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (column[i].type == COLUMN_JSON) status = check_column(checker, table, column[i].name);
    return status;
}

static enum status check_tables(struct checker *checker) {
    size_t count;
    const struct table *table = tables_all(&count);
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < count; i++) status = check_table(checker, &table[i]);
    return status;
}

/* Each row that comes is a problem: what it is about, and one figure. */
struct rule {
    enum word word;
    const char *sql;
};
static const struct rule rules[] = {
    {WORD_CHECK_NUMBERS, "SELECT 'invoice', count(*) FROM invoice i JOIN book b ON b.id = i.origin AND b.own "
                         "= 1 GROUP BY i.series "
                         "HAVING count(*) <> max(number)"},
    {WORD_CHECK_NUMBERS,
     "SELECT 'quote', count(*) FROM quote i JOIN book b ON b.id = i.origin AND b.own = 1 GROUP "
     "BY i.series HAVING count(*) <> max(number)"},
    {WORD_CHECK_POT,
     "SELECT pot, 0 FROM pot_event e WHERE kind = 'put-back' AND EXISTS (SELECT 1 FROM pot_event c "
     "WHERE c.pot = e.pot AND c.kind = 'crosslinked' AND c.at_ms <= e.at_ms)"},
    {WORD_CHECK_ERASING, "SELECT customer, 0 FROM erasing"},
    {WORD_CHECK_BURIED,
     "SELECT id, 0 FROM customer WHERE id IN (SELECT id FROM tombstone) AND erased_ms IS NULL"},
    {WORD_CHECK_OWN, "SELECT 'book', count(*) FROM book WHERE own = 1 HAVING count(*) <> 1"},
};

static enum status check_rule(struct checker *checker, const struct rule *rule) {
    struct query q = query_make(checker->book, rule->sql, checker->fault);
    while (query_row(&q)) {
        const char *const arguments[] = {query_get_text(&q, 0, checker->arena),
                                         COUNT_TEXT(query_get_count(&q, 1)), NULL};
        (void)fault_set(next_problem(checker), rule->word, arguments);
    }
    return query_end(&q);
}

static enum status check_rules(struct checker *checker) {
    bool owed = false;
    enum status status = scrub_is_owed(checker->book, &owed, checker->fault);
    if (status == STATUS_OK && owed) PROBLEM(checker, CHECK_SCRUB, book_dir(checker->book));
    for (size_t i = 0; status == STATUS_OK && i < sizeof rules / sizeof *rules; i++)
        status = check_rule(checker, &rules[i]);
    return status;
}

static enum status check_photographs(struct checker *checker) {
    struct photographs_state *state = &checker->out->photographs;
    const enum status status = photographs_check(checker->book, checker->arena, state, checker->fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < state->missing_count; i++)
        PROBLEM(checker, CHECK_PICTURE_MISSING, state->missing[i]);
    for (size_t i = 0; i < state->changed_count; i++)
        PROBLEM(checker, CHECK_PICTURE_CHANGED, state->changed[i]);
    return STATUS_OK;
}

enum status check_book(struct book *book, struct arena *arena, struct work *work, struct checked *out,
                       struct fault *fault) {
    static enum status (*const steps[])(struct checker *) = {
        check_integrity, check_references, check_version, check_tables, check_rules, check_photographs};
    const size_t count = sizeof steps / sizeof *steps;
    struct checker checker = {book, arena, fault, out};
    *out = (struct checked){.rows = json_object()};
    enum status status = book_look(book, fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++) {
        status = steps[i](&checker);
        work_report(work, (double)(i + 1) / (double)count);
        if (status == STATUS_OK && work_is_cancelled(work)) status = FAULT0(fault, CANCELLED);
    }
    book_rollback(book);
    if (status != STATUS_OK) json_decref(out->rows), out->rows = NULL;
    return status;
}
