#include "shop/rows.h"
#include <stdio.h>

const char *rows_text(const char *text) {
    return text ? text : "";
}

const char *rows_about(const char *about) {
    return about && *about ? about : "{}";
}

void rows_begin(struct book *book, char id[ID_LENGTH + 1], long long *at_ms, const char **zone) {
    book_need_pen(book);
    if (zone && !*zone) *zone = book_zone(book);
    if (!id[0]) book_new_id(book, id);
    if (*at_ms == 0) *at_ms = book_now_ms(book);
}

long long rows_changed_ms(const struct book *book, long long before_ms) {
    const long long now = book_now_ms(book);
    return now > before_ms ? now : before_ms + 1;
}

enum status rows_need_one(struct query *query, const char *noun, const char *text) {
    const bool found = query_row(query);
    const enum status status = query_run(query);
    return status != STATUS_OK || found ? status : FAULT(query->fault, SHOP_NO_SUCH, noun, text);
}

enum status rows_exactly_one(struct query *query, size_t found, const char *noun, const char *text) {
    const enum status status = query_end(query);
    if (status != STATUS_OK || found == 1) return status;
    return found ? FAULT(query->fault, SHOP_SEVERAL, noun, text)
                 : FAULT(query->fault, SHOP_NO_SUCH, noun, text);
}

enum status rows_next_number(struct book *book, const char *table, const char *series, long long *number,
                             struct fault *fault) {
    book_need_pen(book);
    char sql[120];
    snprintf(sql, sizeof sql, "SELECT 1 + coalesce(max(number), 0) FROM %s WHERE origin = ? AND series = ?",
             table);
    struct query q = query_make(book, sql, fault);
    query_text(&q, book_own_id(book));
    query_text(&q, rows_text(series));
    if (query_row(&q)) *number = query_get_count(&q, 0);
    return query_end(&q);
}

/* Lists double at the powers of two. */
void *rows_grow(struct arena *arena, void *list, size_t count, size_t size) {
    if (count & (count - 1)) return list;
    void *grown = arena_need(arena, count ? 2 * count : 1, size);
    if (count) memcpy(grown, list, count * size);
    return grown;
}
