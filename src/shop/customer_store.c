#include "shop/customer_store.h"
#include "shop/fold.h"
#include "shop/query.h"
#include "shop/rows.h"
#include <string.h>

#define COLUMNS                                                                                     \
    "id, name, telephone, email, address, words, trade, price_list, about, created_ms, changed_ms," \
    " coalesce(erased_ms, 0)"

static void read_row(const struct query *q, struct arena *arena, struct customer_row *out) {
    query_get_id(q, 0, out->id);
    out->name = query_get_text(q, 1, arena);
    out->telephone = query_get_text(q, 2, arena);
    out->email = query_get_text(q, 3, arena);
    out->address = query_get_text(q, 4, arena);
    out->words = query_get_text(q, 5, arena);
    out->trade = query_get_count(q, 6) != 0;
    out->price_list = query_get_text_or_null(q, 7, arena);
    out->about = query_get_text(q, 8, arena);
    out->created_ms = query_get_count(q, 9);
    out->changed_ms = query_get_count(q, 10);
    out->erased_ms = query_get_count(q, 11);
}

static void bind_what_changes(struct query *q, const struct customer_row *customer) {
    query_text(q, rows_text(customer->name));
    query_text(q, rows_text(customer->telephone));
    query_text(q, rows_text(customer->email));
    query_text(q, rows_text(customer->address));
    query_text(q, rows_text(customer->words));
    query_count(q, customer->trade);
    query_text(q, customer->price_list);
    query_text(q, rows_about(customer->about));
    query_count(q, customer->changed_ms);
}

enum status customer_store_add(struct book *book, struct customer_row *customer, struct fault *fault) {
    rows_begin(book, customer->id, &customer->created_ms, NULL);
    customer->changed_ms = customer->created_ms;
    struct query q =
        query_make(book,
                   "INSERT INTO customer (name, telephone, email, address, words, trade, price_list, about, "
                   "changed_ms, id, created_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                   fault);
    bind_what_changes(&q, customer);
    query_text(&q, customer->id);
    query_count(&q, customer->created_ms);
    return query_run(&q);
}

enum status customer_store_change(struct book *book, struct customer_row *customer, struct fault *fault) {
    book_need_pen(book);
    customer->changed_ms = rows_changed_ms(book, customer->changed_ms);
    struct query q =
        query_make(book,
                   "UPDATE customer SET name = ?, telephone = ?, email = ?, address = ?, words = ?, trade = "
                   "?, price_list = ?, about = ?, changed_ms = ? WHERE id = ? AND erased_ms IS NULL "
                   "RETURNING id",
                   fault);
    bind_what_changes(&q, customer);
    query_text(&q, customer->id);
    return rows_need_one(&q, "customer", customer->id);
}

enum status customer_store_find(struct book *book, const char *text, struct arena *arena,
                                struct customer_row *out, struct fault *fault) {
    struct query q = query_make(
        book, "SELECT " COLUMNS " FROM customer WHERE name = ?1 OR " ROWS_BY_KEY("id") " ORDER BY id LIMIT 2",
        fault);
    enum status status;
    query_text(&q, text);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "customer", text);
    return status;
}

enum status customer_store_list(struct book *book, const char *words, size_t most, struct arena *arena,
                                struct customer_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT " COLUMNS " FROM customer WHERE erased_ms IS NULL AND (?1 IS NULL OR "
                                "has_words(name, ?1)) ORDER BY name, id LIMIT ?2",
                                fault);
    query_text(&q, words ? fold_words(words, arena) : NULL);
    query_count(&q, most ? (long long)most : -1);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}
