#include "shop/quote_store.h"
#include "shop/asked_store.h"
#include "shop/rows.h"

enum status quote_store_next(struct book *book, const char *series, long long *number, struct fault *fault) {
    return rows_next_number(book, "quote", series, number, fault);
}

static enum status mark_replaced(struct book *book, const struct quote_row *quote, struct fault *fault) {
    if (!quote->replaces) return STATUS_OK;
    struct query q = query_make(
        book, "UPDATE quote SET state = 'replaced', changed_ms = ? WHERE id = ? AND state = 'open'", fault);
    query_count(&q, book_now_ms(book));
    query_text(&q, quote->replaces);
    return query_run(&q);
}

enum status quote_store_add(struct book *book, struct quote_row *quote, struct fault *fault) {
    rows_begin(book, quote->id, &quote->made_ms, &quote->zone);
    if (!quote->origin) quote->origin = book_own_id(book);
    quote->changed_ms = quote->made_ms;
    struct query q =
        query_make(book,
                   "INSERT INTO quote (id, job, origin, series, number, currency, total_minor, document, "
                   "replaces, made_ms, changed_ms, zone) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                   fault);
    query_text(&q, quote->id);
    query_text(&q, quote->job);
    query_text(&q, quote->origin);
    query_text(&q, rows_text(quote->series));
    query_count(&q, quote->number);
    query_text(&q, quote->currency);
    query_count(&q, quote->total_minor);
    query_text(&q, rows_about(quote->document));
    query_text(&q, quote->replaces);
    query_count(&q, quote->made_ms);
    query_count(&q, quote->changed_ms);
    query_text(&q, quote->zone);
    enum status status = query_run(&q);
    if (status == STATUS_OK) status = mark_replaced(book, quote, fault);
    return status == STATUS_OK ? asked_store_made(book, quote->id, quote->number, fault) : status;
}

enum status quote_store_settle(struct book *book, const char *id, const char *state, struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(book,
                                "UPDATE quote SET state = ?1, accepted_ms = CASE ?1 WHEN 'accepted' THEN ?2 "
                                "END, changed_ms = max(?2, changed_ms + 1) WHERE id = ?3 RETURNING id",
                                fault);
    query_text(&q, state);
    query_count(&q, book_now_ms(book));
    query_text(&q, id);
    return rows_need_one(&q, "quote", id);
}

#define QUOTE                                                                                             \
    "SELECT id, job, origin, series, number, state, currency, total_minor, document, replaces, made_ms, " \
    "coalesce(accepted_ms, 0), changed_ms, zone FROM quote "

static void read_row(const struct query *q, struct arena *arena, struct quote_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->origin = query_get_text(q, 2, arena);
    out->series = query_get_text(q, 3, arena);
    out->number = query_get_count(q, 4);
    out->state = query_get_text(q, 5, arena);
    out->currency = query_get_text(q, 6, arena);
    out->total_minor = query_get_count(q, 7);
    out->document = query_get_text(q, 8, arena);
    out->replaces = query_get_text_or_null(q, 9, arena);
    out->made_ms = query_get_count(q, 10);
    out->accepted_ms = query_get_count(q, 11);
    out->changed_ms = query_get_count(q, 12);
    out->zone = query_get_text(q, 13, arena);
}

enum status quote_store_get(struct book *book, const char *id, struct arena *arena, struct quote_row *out,
                            struct fault *fault) {
    struct query q = query_make(book, QUOTE "WHERE id = ?", fault);
    enum status status;
    query_text(&q, id);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "quote", id);
    return status;
}

enum status quote_store_list(struct book *book, const char *job, struct arena *arena, struct quote_row **out,
                             size_t *count, struct fault *fault) {
    struct query q = query_make(book, QUOTE "WHERE job = ? ORDER BY made_ms, number, id", fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}
