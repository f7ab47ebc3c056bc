#include "shop/asked_store.h"
#include "shop/query.h"
#include <string.h>

bool asked_key_is_good(const char *key) {
    const size_t n = strlen(key);
    return n >= ASKED_KEY_LEAST && n <= ASKED_KEY_MOST &&
           strspn(key, "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-") == n;
}

enum status asked_store_get(struct book *book, const char *key, struct asked_row *out, bool *found,
                            struct fault *fault) {
    *out = (struct asked_row){.number = 0};
    struct query q = query_make(book, "SELECT made, number FROM asked WHERE key = ?", fault);
    query_text(&q, key);
    for (*found = false; query_row(&q); *found = true) {
        query_get_id(&q, 0, out->made);
        out->number = query_get_count(&q, 1);
    }
    return query_end(&q);
}

static enum status forget_old(struct book *book, struct fault *fault) {
    struct query q = query_make(book, "DELETE FROM asked WHERE at_ms < ?", fault);
    query_count(&q, book_now_ms(book) - ASKED_DAYS * 86400000LL);
    return query_run(&q);
}

enum status asked_store_keep(struct book *book, const char *key, struct fault *fault) {
    book_need_pen(book);
    enum status status = forget_old(book, fault);
    struct query q = query_make(
        book, "INSERT INTO asked (key, at_ms) VALUES (?, ?) ON CONFLICT (key) DO NOTHING RETURNING key",
        fault);
    query_text(&q, key);
    query_count(&q, book_now_ms(book));
    const bool fresh = query_row(&q);
    const enum status kept = query_run(&q);
    if (status == STATUS_OK) status = kept;
    return status == STATUS_OK && !fresh ? FAULT0(fault, BOOK_ASKED) : status;
}

enum status asked_store_made(struct book *book, const char *id, long long number, struct fault *fault) {
    const char *key = book_asked(book);
    if (!key) return STATUS_OK;
    struct query q = query_make(book, "UPDATE asked SET made = ?, number = ? WHERE key = ?", fault);
    query_text(&q, id);
    query_count(&q, number);
    query_text(&q, key);
    return query_run(&q);
}
