#include "shop/toner_store.h"
#include "shop/rows.h"
#include <math.h>

#define TONER                                                                                               \
    "SELECT id, name, role, density_g_ml, coalesce(warn_mg, 0), words, about, created_ms, changed_ms, "     \
    "(SELECT coalesce(sum(m.mg), 0) FROM stock_move m JOIN lot l ON m.lot = l.id WHERE l.toner = t.id AND " \
    "l.used_up = 0) FROM toner t "

static void read_toner(const struct query *q, struct arena *arena, struct toner_row *out) {
    out->id = query_get_text(q, 0, arena);
    out->name = query_get_text(q, 1, arena);
    out->role = query_get_text(q, 2, arena);
    out->density_g_ml = query_get_number(q, 3);
    out->warn_mg = query_get_count(q, 4);
    out->words = query_get_text(q, 5, arena);
    out->about = query_get_text(q, 6, arena);
    out->created_ms = query_get_count(q, 7);
    out->changed_ms = query_get_count(q, 8);
    out->stock_mg = query_get_count(q, 9);
}

enum status toner_store_put(struct book *book, struct toner_row *toner, struct fault *fault) {
    book_need_pen(book);
    const long long now = rows_changed_ms(book, toner->changed_ms);
    if (toner->created_ms == 0) toner->created_ms = now;
    toner->changed_ms = now;
    struct query q =
        query_make(book,
                   "INSERT INTO toner (id, name, role, density_g_ml, warn_mg, words, about, created_ms, "
                   "changed_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET name = "
                   "excluded.name, role = excluded.role, density_g_ml = excluded.density_g_ml, warn_mg = "
                   "excluded.warn_mg, words = excluded.words, about = excluded.about, changed_ms = "
                   "excluded.changed_ms",
                   fault);
    query_text(&q, toner->id);
    query_text(&q, rows_text(toner->name));
    query_text(&q, toner->role ? toner->role : "colour");
    query_number(&q, toner->density_g_ml);
    query_count(&q, toner->warn_mg);
    query_text(&q, rows_text(toner->words));
    query_text(&q, rows_about(toner->about));
    query_count(&q, toner->created_ms);
    query_count(&q, toner->changed_ms);
    return query_run(&q);
}

enum status toner_store_get(struct book *book, const char *id, struct arena *arena, struct toner_row *out,
                            struct fault *fault) {
    struct query q = query_make(book, TONER "WHERE id = ?", fault);
    enum status status;
    query_text(&q, id);
    ROWS_READ_ONE(&status, &q, arena, out, read_toner, "toner", id);
    return status;
}

enum status toner_store_list(struct book *book, struct arena *arena, struct toner_row **out, size_t *count,
                             struct fault *fault) {
    struct query q = query_make(book, TONER "ORDER BY id", fault);
    ROWS_READ(&q, arena, out, count, read_toner);
    return query_end(&q);
}

#define LOT                                                                                                  \
    "SELECT id, toner, name, received_day, expires_day, coalesce(price_minor_per_kg, -1), currency, frost, " \
    "used_up, words, about, created_ms, changed_ms, (SELECT coalesce(sum(m.mg), 0) FROM stock_move m WHERE " \
    "m.lot = l.id) FROM lot l "

static void read_lot(const struct query *q, struct arena *arena, struct lot_row *out) {
    query_get_id(q, 0, out->id);
    out->toner = query_get_text(q, 1, arena);
    out->name = query_get_text(q, 2, arena);
    out->received_day = query_get_text_or_null(q, 3, arena);
    out->expires_day = query_get_text_or_null(q, 4, arena);
    out->price_minor_per_kg = query_get_count(q, 5);
    out->currency = query_get_text_or_null(q, 6, arena);
    out->frost = query_get_text(q, 7, arena);
    out->used_up = query_get_count(q, 8) != 0;
    out->words = query_get_text(q, 9, arena);
    out->about = query_get_text(q, 10, arena);
    out->created_ms = query_get_count(q, 11);
    out->changed_ms = query_get_count(q, 12);
    out->stock_mg = query_get_count(q, 13);
}

static void bind_lot(struct query *q, const struct lot_row *lot) {
    query_text(q, rows_text(lot->name));
    query_text(q, lot->received_day);
    query_text(q, lot->expires_day);
    if (lot->price_minor_per_kg >= 0 && lot->currency)
        query_count(q, lot->price_minor_per_kg);
    else
        query_null(q);
    query_text(q, lot->currency);
    query_text(q, lot->frost ? lot->frost : "unknown");
    query_count(q, lot->used_up);
    query_text(q, rows_text(lot->words));
    query_text(q, rows_about(lot->about));
    query_count(q, lot->changed_ms);
    query_text(q, lot->id);
}

enum status toner_store_add_lot(struct book *book, struct lot_row *lot, struct fault *fault) {
    rows_begin(book, lot->id, &lot->created_ms, NULL);
    lot->changed_ms = lot->created_ms;
    struct query q =
        query_make(book,
                   "INSERT INTO lot (name, received_day, expires_day, price_minor_per_kg, currency, frost, "
                   "used_up, words, about, changed_ms, id, toner, created_ms) VALUES (?, ?, ?, ?, ?, ?, ?, "
                   "?, ?, ?, ?, ?, ?)",
                   fault);
    bind_lot(&q, lot);
    query_text(&q, lot->toner);
    query_count(&q, lot->created_ms);
    return query_run(&q);
}

enum status toner_store_change_lot(struct book *book, struct lot_row *lot, struct fault *fault) {
    book_need_pen(book);
    lot->changed_ms = rows_changed_ms(book, lot->changed_ms);
    struct query q =
        query_make(book,
                   "UPDATE lot SET name = ?, received_day = ?, expires_day = ?, price_minor_per_kg = ?, "
                   "currency = ?, frost = ?, used_up = ?, words = ?, about = ?, changed_ms = ? WHERE id = ? "
                   "RETURNING id",
                   fault);
    bind_lot(&q, lot);
    return rows_need_one(&q, "lot", lot->id);
}

enum status toner_store_find_lot(struct book *book, const char *text, struct arena *arena,
                                 struct lot_row *out, struct fault *fault) {
    struct query q =
        query_make(book, LOT "WHERE name = ?1 OR " ROWS_BY_KEY("id") " ORDER BY id LIMIT 2", fault);
    enum status status;
    query_text(&q, text);
    ROWS_READ_ONE(&status, &q, arena, out, read_lot, "lot", text);
    return status;
}

enum status toner_store_lots(struct book *book, const char *toner, struct arena *arena, struct lot_row **out,
                             size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                LOT "WHERE ?1 IS NULL OR toner = ?1 ORDER BY toner, used_up, expires_day IS "
                                    "NULL, expires_day, id",
                                fault);
    query_text(&q, toner);
    ROWS_READ(&q, arena, out, count, read_lot);
    return query_end(&q);
}

enum status toner_store_move(struct book *book, struct stock_move *move, struct fault *fault) {
    rows_begin(book, move->id, &move->at_ms, &move->zone);
    struct query q = query_make(book,
                                "INSERT INTO stock_move (id, lot, mg, reason, pour, words, at_ms, zone) "
                                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, move->id);
    query_text(&q, move->lot);
    query_count(&q, move->mg);
    query_text(&q, move->reason);
    query_text(&q, move->pour);
    query_text(&q, rows_text(move->words));
    query_count(&q, move->at_ms);
    query_text(&q, move->zone);
    return query_run(&q);
}

static void read_move(const struct query *q, struct arena *arena, struct stock_move *out) {
    query_get_id(q, 0, out->id);
    out->lot = query_get_text(q, 1, arena);
    out->mg = query_get_count(q, 2);
    out->reason = query_get_text(q, 3, arena);
    out->pour = query_get_text_or_null(q, 4, arena);
    out->words = query_get_text(q, 5, arena);
    out->at_ms = query_get_count(q, 6);
    out->zone = query_get_text(q, 7, arena);
}

enum status toner_store_moves(struct book *book, const char *lot, struct arena *arena,
                              struct stock_move **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT id, lot, mg, reason, pour, words, at_ms, zone FROM stock_move WHERE "
                                "lot = ? ORDER BY at_ms, id",
                                fault);
    query_text(&q, lot);
    ROWS_READ(&q, arena, out, count, read_move);
    return query_end(&q);
}

enum status toner_store_add_sheet(struct book *book, struct safety_sheet *sheet, struct fault *fault) {
    rows_begin(book, sheet->id, &sheet->at_ms, NULL);
    struct query q = query_make(book,
                                "INSERT INTO safety_sheet (id, toner, sha256, name, issued_day, at_ms) "
                                "VALUES (?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, sheet->id);
    query_text(&q, sheet->toner);
    query_text(&q, sheet->sha256);
    query_text(&q, rows_text(sheet->name));
    query_text(&q, sheet->issued_day);
    query_count(&q, sheet->at_ms);
    return query_run(&q);
}

static void read_sheet(const struct query *q, struct arena *arena, struct safety_sheet *out) {
    query_get_id(q, 0, out->id);
    out->toner = query_get_text(q, 1, arena);
    out->sha256 = query_get_text(q, 2, arena);
    out->name = query_get_text(q, 3, arena);
    out->issued_day = query_get_text_or_null(q, 4, arena);
    out->at_ms = query_get_count(q, 5);
}

enum status toner_store_sheets(struct book *book, const char *toner, struct arena *arena,
                               struct safety_sheet **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT id, toner, sha256, name, issued_day, at_ms FROM safety_sheet WHERE "
                                "toner = ? ORDER BY at_ms DESC, id DESC",
                                fault);
    query_text(&q, toner);
    ROWS_READ(&q, arena, out, count, read_sheet);
    return query_end(&q);
}

enum status toner_store_log(struct book *book, struct shelf_entry *entry, struct fault *fault) {
    rows_begin(book, entry->id, &entry->at_ms, &entry->zone);
    struct query q = query_make(book,
                                "INSERT INTO shelf_log (id, kind, words, document, replaces, at_ms, zone) "
                                "VALUES (?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, entry->id);
    query_text(&q, entry->kind);
    query_text(&q, rows_text(entry->words));
    query_text(&q, rows_about(entry->document));
    query_text(&q, entry->replaces);
    query_count(&q, entry->at_ms);
    query_text(&q, entry->zone);
    return query_run(&q);
}

static void read_entry(const struct query *q, struct arena *arena, struct shelf_entry *out) {
    query_get_id(q, 0, out->id);
    out->kind = query_get_text(q, 1, arena);
    out->words = query_get_text(q, 2, arena);
    out->document = query_get_text(q, 3, arena);
    out->replaces = query_get_text_or_null(q, 4, arena);
    out->at_ms = query_get_count(q, 5);
    out->zone = query_get_text(q, 6, arena);
}

#define ENTRY "SELECT id, kind, words, document, replaces, at_ms, zone FROM shelf_log WHERE kind = ? "

enum status toner_store_last(struct book *book, const char *kind, struct arena *arena,
                             struct shelf_entry *out, bool *found, struct fault *fault) {
    struct query q = query_make(book, ENTRY "ORDER BY at_ms DESC, id DESC LIMIT 1", fault);
    query_text(&q, kind);
    for (*found = false; query_row(&q); *found = true) read_entry(&q, arena, out);
    return query_end(&q);
}

enum status toner_store_logged(struct book *book, const char *kind, struct arena *arena,
                               struct shelf_entry **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book, ENTRY "ORDER BY at_ms, id", fault);
    query_text(&q, kind);
    ROWS_READ(&q, arena, out, count, read_entry);
    return query_end(&q);
}
