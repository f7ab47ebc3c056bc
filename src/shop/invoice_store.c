#include "shop/invoice_store.h"
#include "shop/asked_store.h"
#include "shop/rows.h"

enum status invoice_store_next(struct book *book, const char *series, long long *number,
                               struct fault *fault) {
    return rows_next_number(book, "invoice", series, number, fault);
}

enum status invoice_store_add(struct book *book, struct invoice_row *invoice, struct fault *fault) {
    rows_begin(book, invoice->id, &invoice->made_ms, &invoice->zone);
    if (!invoice->origin) invoice->origin = book_own_id(book);
    struct query q =
        query_make(book,
                   "INSERT INTO invoice (id, job, quote, origin, series, number, issued_day, currency, "
                   "total_minor, document, cancels, made_ms, zone) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, "
                   "?, ?)",
                   fault);
    query_text(&q, invoice->id);
    query_text(&q, invoice->job);
    query_text(&q, invoice->quote);
    query_text(&q, invoice->origin);
    query_text(&q, rows_text(invoice->series));
    query_count(&q, invoice->number);
    query_text(&q, invoice->issued_day);
    query_text(&q, invoice->currency);
    query_count(&q, invoice->total_minor);
    query_text(&q, rows_about(invoice->document));
    query_text(&q, invoice->cancels);
    query_count(&q, invoice->made_ms);
    query_text(&q, invoice->zone);
    const enum status status = query_run(&q);
    return status == STATUS_OK ? asked_store_made(book, invoice->id, invoice->number, fault) : status;
}

#define INVOICE                                                                                             \
    "SELECT id, job, quote, origin, series, number, issued_day, currency, total_minor, document, cancels, " \
    "made_ms, zone FROM invoice "

static void read_row(const struct query *q, struct arena *arena, struct invoice_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->quote = query_get_text_or_null(q, 2, arena);
    out->origin = query_get_text(q, 3, arena);
    out->series = query_get_text(q, 4, arena);
    out->number = query_get_count(q, 5);
    out->issued_day = query_get_text(q, 6, arena);
    out->currency = query_get_text(q, 7, arena);
    out->total_minor = query_get_count(q, 8);
    out->document = query_get_text(q, 9, arena);
    out->cancels = query_get_text_or_null(q, 10, arena);
    out->made_ms = query_get_count(q, 11);
    out->zone = query_get_text(q, 12, arena);
}

enum status invoice_store_get(struct book *book, const char *id, struct arena *arena, struct invoice_row *out,
                              struct fault *fault) {
    struct query q = query_make(book, INVOICE "WHERE id = ?", fault);
    enum status status;
    query_text(&q, id);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "invoice", id);
    return status;
}

enum status invoice_store_list(struct book *book, const char *job, struct arena *arena,
                               struct invoice_row **out, size_t *count, struct fault *fault) {
    struct query q =
        query_make(book, INVOICE "WHERE ?1 IS NULL OR job = ?1 ORDER BY origin, series, number", fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}
