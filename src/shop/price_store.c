#include "shop/price_store.h"
#include "shop/rows.h"

#define LIST "SELECT id, name, currency, words, about, created_ms, changed_ms FROM price_list "

static void read_list(const struct query *q, struct arena *arena, struct price_list_row *out) {
    query_get_id(q, 0, out->id);
    out->name = query_get_text(q, 1, arena);
    out->currency = query_get_text(q, 2, arena);
    out->words = query_get_text(q, 3, arena);
    out->about = query_get_text(q, 4, arena);
    out->created_ms = query_get_count(q, 5);
    out->changed_ms = query_get_count(q, 6);
}

static void bind_list(struct query *q, const struct price_list_row *list) {
    query_text(q, rows_text(list->name));
    query_text(q, rows_text(list->words));
    query_text(q, rows_about(list->about));
    query_count(q, list->changed_ms);
    query_text(q, list->id);
}

enum status price_store_add_list(struct book *book, struct price_list_row *list, struct fault *fault) {
    rows_begin(book, list->id, &list->created_ms, NULL);
    list->changed_ms = list->created_ms;
    struct query q = query_make(
        book,
        "INSERT INTO price_list (name, words, about, changed_ms, id, currency, created_ms) VALUES (?, ?, ?, "
        "?, ?, ?, ?)",
        fault);
    bind_list(&q, list);
    query_text(&q, list->currency);
    query_count(&q, list->created_ms);
    return query_run(&q);
}

/* The currency stays: the prices are in it. */
enum status price_store_change_list(struct book *book, struct price_list_row *list, struct fault *fault) {
    book_need_pen(book);
    list->changed_ms = rows_changed_ms(book, list->changed_ms);
    struct query q = query_make(
        book,
        "UPDATE price_list SET name = ?, words = ?, about = ?, changed_ms = ? WHERE id = ? RETURNING id",
        fault);
    bind_list(&q, list);
    return rows_need_one(&q, "price list", list->id);
}

enum status price_store_find_list(struct book *book, const char *text, struct arena *arena,
                                  struct price_list_row *out, struct fault *fault) {
    struct query q =
        query_make(book, LIST "WHERE name = ?1 OR " ROWS_BY_KEY("id") " ORDER BY id LIMIT 2", fault);
    enum status status;
    query_text(&q, text);
    ROWS_READ_ONE(&status, &q, arena, out, read_list, "price list", text);
    return status;
}

enum status price_store_lists(struct book *book, struct arena *arena, struct price_list_row **out,
                              size_t *count, struct fault *fault) {
    struct query q = query_make(book, LIST "ORDER BY name, id", fault);
    ROWS_READ(&q, arena, out, count, read_list);
    return query_end(&q);
}

enum status price_store_add(struct book *book, struct price_row *price, struct fault *fault) {
    rows_begin(book, price->id, &price->at_ms, NULL);
    struct query q = query_make(book,
                                "INSERT INTO price (id, price_list, item, unit, minor, from_day, words, "
                                "at_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, price->id);
    query_text(&q, price->list);
    query_text(&q, price->item);
    query_text(&q, rows_text(price->unit));
    query_count(&q, price->minor);
    query_text(&q, price->from_day);
    query_text(&q, rows_text(price->words));
    query_count(&q, price->at_ms);
    return query_run(&q);
}

static void read_price(const struct query *q, struct arena *arena, struct price_row *out) {
    query_get_id(q, 0, out->id);
    out->list = query_get_text(q, 1, arena);
    out->item = query_get_text(q, 2, arena);
    out->unit = query_get_text(q, 3, arena);
    out->minor = query_get_count(q, 4);
    out->from_day = query_get_text(q, 5, arena);
    out->words = query_get_text(q, 6, arena);
    out->at_ms = query_get_count(q, 7);
}

enum status price_store_on(struct book *book, const char *list, const char *day, struct arena *arena,
                           struct price_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(
        book,
        "SELECT id, price_list, item, unit, minor, from_day, words, at_ms FROM price p WHERE price_list = ?1 "
        "AND from_day <= ?2 AND NOT EXISTS (SELECT 1 FROM price n WHERE n.price_list = ?1 AND n.item = "
        "p.item AND n.from_day <= ?2 AND (n.from_day, n.at_ms, n.id) > (p.from_day, p.at_ms, p.id)) ORDER BY "
        "item",
        fault);
    query_text(&q, list);
    query_text(&q, day);
    ROWS_READ(&q, arena, out, count, read_price);
    return query_end(&q);
}

static void read_said(const struct query *q, struct arena *arena, struct price_said *out) {
    *out = (struct price_said){query_get_text(q, 0, arena), query_get_count(q, 1)};
}

enum status price_store_said(struct book *book, const char *list, struct arena *arena,
                             struct price_said **out, size_t *count, struct fault *fault) {
    struct query q = query_make(
        book, "SELECT item, max(at_ms) FROM price WHERE price_list = ? GROUP BY item ORDER BY item", fault);
    query_text(&q, list);
    ROWS_READ(&q, arena, out, count, read_said);
    return query_end(&q);
}
