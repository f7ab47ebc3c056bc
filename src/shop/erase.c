#include "shop/erase.h"
#include "shop/customer_store.h"
#include "shop/document.h"
#include "shop/forget.h"
#include "shop/photographs.h"
#include "shop/rows.h"
#include "shop/scrub.h"
#include "shop/tables.h"
#include <stdio.h>

/* One erasure at work. */
struct rubber {
    struct book *book;
    struct arena *arena;
    struct fault *fault;
    const char *customer;
    struct traces traces;
    size_t rows;
};

/* Rows of the customer's own jobs: every text in them may speak of the person. {J} is the list of the jobs.
 */
struct place {
    const char *table, *where;
    const char *emptied, *titles; /* columns, parted by blanks: emptied, and searched for words of the name */
};
#define JOBS "(SELECT id FROM job WHERE customer = ?1)"
#define ENTRIES "(SELECT id FROM entry WHERE job IN " JOBS ")"
static const struct place own_places[] = {
    {"job", "customer = ?1", "words place return_cause", "title"},
    {"piece", "job IN " JOBS, "words", "name"},
    {"material", "piece IN (SELECT id FROM piece WHERE job IN " JOBS ")", "words", ""},
    {"colour", "job IN " JOBS, "words", "name"},
    {"entry", "job IN " JOBS, "words", ""},
    {"entry_photograph", "entry IN " ENTRIES, "words", ""},
    {"pot", "job IN " JOBS, "", "name"},
    {"pot_event", "pot IN (SELECT id FROM pot WHERE job IN " JOBS ")", "words", ""},
    {"coat", "job IN " JOBS, "", ""},
    {"finish", "job IN " JOBS, "", "name words"},
    {"quote", "job IN " JOBS, "", ""},
    {"invoice", "job IN " JOBS, "", ""},
};

static bool is_among(const char *columns, const char *name) {
    const size_t n = strlen(name);
    for (const char *at = strstr(columns, name); at; at = strstr(at + 1, name))
        if ((at == columns || at[-1] == ' ') && (at[n] == 0 || at[n] == ' ')) return true;
    return false;
}

/* What a value becomes; the same pointer when it stays. place NULL: a row of somebody else. */
static const char *clean_value(struct rubber *rubber, const struct place *place, const struct column *column,
                               const char *value) {
    if (column->type != COLUMN_JSON) {
        if (place && is_among(place->emptied, column->name)) return *value ? "" : value;
        const bool title = place && is_among(place->titles, column->name);
        return traces_out_of_text(&rubber->traces, value, title, rubber->arena);
    }
    if (!place && !traces_may_stand_in(&rubber->traces, value)) return value;
    json_t *document = json_loads(value, JSON_DECODE_ANY, NULL);
    const bool changed =
        document && traces_out_of_document(&rubber->traces, document, place != NULL, rubber->arena);
    const char *clean = changed ? document_text(document, rubber->arena) : value;
    json_decref(document);
    return clean;
}

static enum status write_value(struct rubber *rubber, const char *table, const char *column, long long row,
                               const char *value) {
    char sql[160];
    snprintf(sql, sizeof sql, "UPDATE %s SET %s = ? WHERE rowid = ?", table, column);
    struct query q = query_make(rubber->book, sql, rubber->fault);
    query_text(&q, value);
    query_count(&q, row);
    rubber->rows++;
    return query_run(&q);
}

/* Each place in its table is read whole before anything is written to it. */
struct change {
    long long row;
    const char *value;
};

static enum status write_changes(struct rubber *rubber, const char *table, const char *column,
                                 const struct change *change, size_t count) {
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        status = write_value(rubber, table, column, change[i].row, change[i].value);
    return status;
}

static enum status clean_column(struct rubber *rubber, const char *table, const char *where,
                                const struct place *place, const struct column *column) {
    struct text sql = {0};
    text_format(&sql, "SELECT rowid, %s FROM %s WHERE %s IS NOT NULL AND ?1 IS NOT NULL AND %s", column->name,
                table, column->name, where);
    struct query q = query_make(rubber->book, sql.data, rubber->fault);
    struct change *change = NULL;
    size_t count = 0;
    query_text(&q, rubber->customer);
    while (query_row(&q)) {
        struct arena *one = arena_new();
        const char *value = query_get_text(&q, 1, one), *clean = clean_value(rubber, place, column, value);
        if (clean != value) {
            change = rows_grow(rubber->arena, change, count, sizeof *change);
            change[count++] = (struct change){query_get_count(&q, 0), clean};
        }
        arena_free(one);
    }
    const enum status status = query_end(&q);
    text_free(&sql);
    return status == STATUS_OK ? write_changes(rubber, table, column->name, change, count) : status;
}

/* Two customers may share a name, a house or a telephone: what another one is known by is theirs. */
static bool is_others(const struct table *table, const struct column *column) {
    return strcmp(table->name, "customer") == 0 && is_among("name telephone email address", column->name);
}

static enum status clean_table(struct rubber *rubber, const struct table *table, const char *where,
                               const struct place *place) {
    struct column *column;
    size_t count;
    enum status status = table_columns(rubber->book, table, rubber->arena, &column, &count, rubber->fault);
    for (size_t i = 0; status == STATUS_OK && i < count; i++)
        if (column[i].type >= COLUMN_TEXT && !column[i].is_key && (place || !is_others(table, &column[i])))
            status = clean_column(rubber, table->name, where, place, &column[i]);
    return status;
}

static enum status clean_own(struct rubber *rubber) {
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < sizeof own_places / sizeof *own_places; i++) {
        const struct place *place = &own_places[i];
        status = clean_table(rubber, table_find(place->table), place->where, place);
    }
    return status;
}

/* Wherever else the whole name or number may stand. */
static enum status clean_others(struct rubber *rubber) {
    size_t count;
    const struct table *tables = tables_all(&count);
    enum status status = STATUS_OK;
    traces_keep_distinct(&rubber->traces);
    for (size_t i = 0; status == STATUS_OK && (rubber->traces.count || rubber->traces.numbers) && i < count;
         i++)
        status = clean_table(rubber, &tables[i], "1", NULL);
    return status;
}

static enum status run_with_customer(struct rubber *rubber, const char *sql) {
    struct query q = query_make(rubber->book, sql, rubber->fault);
    query_text(&q, rubber->customer);
    return query_run(&q);
}

/* Those of the customer's jobs that nobody else's entry and no toner needs. Their bytes go with the scrub. */
static enum status drop_photographs(struct rubber *rubber, size_t *dropped) {
    enum status status = run_with_customer(rubber, "DELETE FROM entry_photograph WHERE entry IN " ENTRIES);
    if (status != STATUS_OK) return status;
    struct query q = query_make(rubber->book,
                                "DELETE FROM kept_file WHERE sha256 NOT IN (SELECT sha256 FROM "
                                "entry_photograph) AND sha256 NOT IN (SELECT sha256 FROM safety_sheet) "
                                "RETURNING sha256",
                                rubber->fault);
    for (*dropped = 0; query_row(&q);) ++*dropped;
    return query_end(&q);
}

static enum status clean_customer(struct rubber *rubber, const struct customer_row *customer) {
    struct query q = query_make(
        rubber->book,
        "UPDATE customer SET name = ?, telephone = '', email = '', address = '', words = '', about = '{}', "
        "changed_ms = ?, erased_ms = coalesce(erased_ms, ?) WHERE id = ? AND (erased_ms IS NULL OR name || "
        "telephone || email || address || words || about <> ?1 || '{}') RETURNING id",
        rubber->fault);
    query_text(&q, rubber->traces.pseudonym);
    query_count(&q, rows_changed_ms(rubber->book, customer->changed_ms));
    query_count(&q, book_now_ms(rubber->book));
    query_text(&q, rubber->customer);
    while (query_row(&q)) rubber->rows++;
    return query_end(&q);
}

enum status erase_bury(struct book *book, const char *id, struct fault *fault) {
    book_need_pen(book);
    struct query q =
        query_make(book, "INSERT INTO tombstone (id, at_ms) VALUES (?, ?) ON CONFLICT DO NOTHING", fault);
    query_text(&q, id);
    query_count(&q, book_now_ms(book));
    return query_run(&q);
}

static enum status rub(struct rubber *rubber, const struct customer_row *customer, size_t *photographs) {
    enum status status = run_with_customer(rubber, "INSERT INTO erasing (customer) VALUES (?1)");
    if (status == STATUS_OK) status = clean_own(rubber);
    if (status == STATUS_OK) status = drop_photographs(rubber, photographs);
    if (status == STATUS_OK) status = clean_customer(rubber, customer);
    if (status == STATUS_OK) status = clean_others(rubber);
    if (status == STATUS_OK) status = run_with_customer(rubber, "DELETE FROM erasing WHERE customer = ?1");
    if (status == STATUS_OK) status = erase_bury(rubber->book, rubber->customer, rubber->fault);
    if (status != STATUS_OK || rubber->rows + *photographs == 0) return status;
    return scrub_owe(rubber->book, rubber->fault);
}

/* The last signs of a key are random, so the pseudonym tells nothing. */
enum status erase_rows(struct book *book, const char *id, struct erasure *out, struct fault *fault) {
    book_need_pen(book);
    struct arena *arena = arena_new();
    struct rubber rubber = {.book = book, .arena = arena, .fault = fault};
    struct customer_row customer;
    size_t photographs = 0;
    char pseudonym[40];
    enum status status = customer_store_find(book, id, arena, &customer, fault);
    if (status == STATUS_OK) {
        rubber.customer = customer.id;
        snprintf(pseudonym, sizeof pseudonym, "erased %.8s", customer.id + ID_LENGTH - 8);
        traces_make(&rubber.traces, arena, pseudonym, customer.erased_ms ? "" : customer.name,
                    customer.telephone, customer.email, customer.address);
        status = rub(&rubber, &customer, &photographs);
    }
    out->rows += rubber.rows;
    out->photographs += photographs;
    arena_free(arena);
    return status;
}

static void read_id(const struct query *q, struct arena *arena, const char **out) {
    *out = query_get_text(q, 0, arena);
}

enum status erase_tombstoned(struct book *book, struct erasure *out, struct fault *fault) {
    book_need_pen(book);
    struct arena *arena = arena_new();
    const char **id;
    size_t count;
    struct query q =
        query_make(book, "SELECT id FROM customer WHERE id IN (SELECT id FROM tombstone) ORDER BY id", fault);
    ROWS_READ(&q, arena, &id, &count, read_id);
    enum status status = query_end(&q);
    for (size_t i = 0; status == STATUS_OK && i < count; i++) status = erase_rows(book, id[i], out, fault);
    arena_free(arena);
    return status;
}

enum status erase_customer(struct book *book, const char *id, struct erasure *out, struct fault *fault) {
    *out = (struct erasure){0};
    enum status status = book_begin(book, fault);
    if (status == STATUS_OK) status = book_end(book, erase_rows(book, id, out, fault), fault);
    if (status == STATUS_OK) status = scrub_finish(book, fault);
    return status == STATUS_OK ? scrub_is_owed(book, &out->owed, fault) : status;
}
