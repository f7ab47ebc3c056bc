#include "shop/setting_store.h"
#include "shop/rows.h"
#include <stdio.h>

enum status setting_store_get(struct book *book, const char *name, struct arena *arena, const char **document,
                              struct fault *fault) {
    struct query q = query_make(book, "SELECT document FROM setting WHERE name = ?", fault);
    query_text(&q, name);
    for (*document = NULL; query_row(&q);) *document = query_get_text(&q, 0, arena);
    return query_end(&q);
}

enum status setting_store_changed(struct book *book, const char *name, long long *ms, struct fault *fault) {
    struct query q = query_make(book, "SELECT changed_ms FROM setting WHERE name = ?", fault);
    query_text(&q, name);
    for (*ms = 0; query_row(&q);) *ms = query_get_count(&q, 0);
    return query_end(&q);
}

enum status setting_store_put(struct book *book, const char *name, const char *document,
                              struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(book,
                                "INSERT INTO setting (name, document, changed_ms) VALUES (?, ?, ?) ON "
                                "CONFLICT (name) DO UPDATE SET document = excluded.document, changed_ms = "
                                "max(excluded.changed_ms, changed_ms + 1)",
                                fault);
    query_text(&q, name);
    query_text(&q, document);
    query_count(&q, book_now_ms(book));
    return query_run(&q);
}

enum status setting_store_pair(struct book *book, struct device_row *device, struct fault *fault) {
    rows_begin(book, device->id, &device->paired_ms, NULL);
    struct query q = query_make(
        book, "INSERT INTO device (id, name, secret_sha256, paired_ms) VALUES (?, ?, ?, ?)", fault);
    query_text(&q, device->id);
    query_text(&q, rows_text(device->name));
    query_text(&q, device->secret_sha256);
    query_count(&q, device->paired_ms);
    return query_run(&q);
}

#define DEVICE \
    "SELECT id, name, secret_sha256, paired_ms, coalesce(seen_ms, 0), coalesce(revoked_ms, 0) FROM device "

static void read_device(const struct query *q, struct arena *arena, struct device_row *out) {
    query_get_id(q, 0, out->id);
    out->name = query_get_text(q, 1, arena);
    snprintf(out->secret_sha256, SHA256_TEXT, "%s", query_get_text(q, 2, arena));
    out->paired_ms = query_get_count(q, 3);
    out->seen_ms = query_get_count(q, 4);
    out->revoked_ms = query_get_count(q, 5);
}

enum status setting_store_device(struct book *book, const char *secret_sha256, struct arena *arena,
                                 struct device_row *out, bool *found, struct fault *fault) {
    struct query q = query_make(book, DEVICE "WHERE secret_sha256 = ? AND revoked_ms IS NULL", fault);
    query_text(&q, secret_sha256);
    for (*found = false; query_row(&q); *found = true) read_device(&q, arena, out);
    return query_end(&q);
}

enum status setting_store_devices(struct book *book, struct arena *arena, struct device_row **out,
                                  size_t *count, struct fault *fault) {
    struct query q = query_make(book, DEVICE "ORDER BY paired_ms, id", fault);
    ROWS_READ(&q, arena, out, count, read_device);
    return query_end(&q);
}

static enum status stamp(struct book *book, const char *sql, const char *id, struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(book, sql, fault);
    query_count(&q, book_now_ms(book));
    query_text(&q, id);
    return rows_need_one(&q, "device", id);
}

enum status setting_store_seen(struct book *book, const char *id, struct fault *fault) {
    return stamp(book, "UPDATE device SET seen_ms = ? WHERE id = ? RETURNING id", id, fault);
}

enum status setting_store_revoke(struct book *book, const char *id, struct fault *fault) {
    return stamp(book, "UPDATE device SET revoked_ms = coalesce(revoked_ms, ?) WHERE id = ? RETURNING id", id,
                 fault);
}
