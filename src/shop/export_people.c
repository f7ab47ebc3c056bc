#include "shop/export_people.h"
#include "formats/cgats_out.h"
#include "formats/sample_file.h"
#include "shop/rows.h"
#include <stdio.h>
#include <stdlib.h>

void csv_add_cell(const char *value, struct text *out) {
    const bool formula =
        *value && strchr("=+-@\t\r", *value) && !(*value == '-' && value[1] >= '0' && value[1] <= '9');
    if (!formula && !strpbrk(value, ",\"\r\n")) {
        text_add(out, value);
        return;
    }
    text_add(out, formula ? "\"'" : "\"");
    for (; *value; value++) {
        if (*value == '"') text_add(out, "\"");
        text_add_bytes(out, value, 1);
    }
    text_add(out, "\"");
}

struct sheet {
    const char *name, *sql;
};
static const struct sheet sheets[] = {
    {"customers.csv", "SELECT id, name, telephone, email, address, trade, words FROM customer ORDER BY id"},
    {"jobs.csv",
     "SELECT j.id, j.number, c.name AS customer, j.title, j.state, j.due_day, j.place, j.words, (SELECT "
     "count(*) FROM entry e WHERE e.job = j.id) AS entries FROM job j LEFT JOIN customer c ON c.id = "
     "j.customer ORDER BY j.id"},
    {"quotes.csv",
     "SELECT q.series, q.number, j.number AS job, q.state, q.total_minor, q.currency, q.id FROM quote q JOIN "
     "job j ON j.id = q.job ORDER BY q.origin, q.series, q.number"},
    {"invoices.csv",
     "SELECT i.series, i.number, i.issued_day, j.number AS job, i.total_minor, i.currency, i.id FROM invoice "
     "i JOIN job j ON j.id = i.job ORDER BY i.origin, i.series, i.number"},
    {"stock.csv",
     "SELECT t.id AS toner, t.name, l.name AS lot, l.received_day, l.expires_day, l.frost, (SELECT "
     "coalesce(sum(mg), 0) FROM stock_move m WHERE m.lot = l.id) AS stock_mg, l.price_minor_per_kg, "
     "l.currency FROM toner t LEFT JOIN lot l ON l.toner = t.id ORDER BY t.id, l.id"},
    {"finishes.csv", "SELECT id, name, words, lab_l, lab_a, lab_b FROM finish ORDER BY id"},
};

static void add_heading(const struct query *q, struct text *out) {
    for (int i = 0; i < sqlite3_column_count(q->statement); i++) {
        text_add(out, i ? "," : "");
        csv_add_cell(sqlite3_column_name(q->statement, i), out);
    }
    text_add(out, "\r\n");
}

static void add_row(const struct query *q, struct text *out) {
    for (int i = 0; i < sqlite3_column_count(q->statement); i++) {
        char number[40];
        text_add(out, i ? "," : "");
        if (sqlite3_column_type(q->statement, i) == SQLITE_FLOAT)
            text_add(out, number_text(number, query_get_number(q, i)));
        else if (!query_is_null(q, i))
            csv_add_cell((const char *)sqlite3_column_text(q->statement, i), out);
    }
    text_add(out, "\r\n");
}

static enum status make_sheet(struct book *book, const struct sheet *sheet, struct people_file *file,
                              struct fault *fault) {
    struct query q = query_make(book, sheet->sql, fault);
    file->name = sheet->name;
    if (q.status == STATUS_OK) add_heading(&q, &file->text);
    while (query_row(&q)) add_row(&q, &file->text);
    return query_end(&q);
}

/* Readings of one geometry, as they are found. */
struct gathered {
    struct reading *reading;
    size_t count;
};

static void gather(struct gathered *gathered, struct arena *arena, const struct reading *reading,
                   const char *id) {
    if (!reading->has_spectrum) return;
    gathered->reading = rows_grow(arena, gathered->reading, gathered->count, sizeof *gathered->reading);
    struct reading *copy = &gathered->reading[gathered->count++];
    *copy = *reading;
    snprintf(copy->id, sizeof copy->id, "%s", id);
}

enum { GEOMETRIES = 5 };

/* A document that this program's reader does not take is left out here; its row is in the export all the
 * same. */
static void gather_document(struct gathered all[GEOMETRIES], struct arena *arena, const char *id,
                            const char *document) {
    struct arena *own = arena_new();
    struct sample_file file;
    struct fault ignored;
    const struct bytes bytes = {(const unsigned char *)document, strlen(document), "entry"};
    if (sample_file_read(&bytes, GEOMETRY_UNKNOWN, own, &file, &ignored) == STATUS_OK && file.count > 0 &&
        (unsigned)file.sample[0].reading.geometry < GEOMETRIES)
        gather(&all[file.sample[0].reading.geometry], arena, &file.sample[0].reading, id);
    arena_free(own);
}

static enum status gather_entries(struct book *book, struct arena *arena, struct gathered all[GEOMETRIES],
                                  struct fault *fault) {
    struct query q =
        query_make(book, "SELECT id, document FROM entry WHERE kind = 'reading' ORDER BY id", fault);
    while (query_row(&q)) {
        struct arena *own = arena_new();
        const char *id = query_get_text(&q, 0, own);
        gather_document(all, arena, id, query_get_text(&q, 1, own));
        arena_free(own);
    }
    return query_end(&q);
}

static enum status make_readings(struct book *book, struct arena *arena, struct people_file *file,
                                 size_t *count, struct fault *fault) {
    struct gathered all[GEOMETRIES] = {0};
    const enum status status = gather_entries(book, arena, all, fault);
    for (size_t i = 0; status == STATUS_OK && i < GEOMETRIES; i++) {
        if (all[i].count == 0) continue;
        char name[40];
        snprintf(name, sizeof name, "readings-%s.cgats", geometry_name((enum geometry)i));
        file[*count].name = arena_text(arena, name, strlen(name));
        cgats_write_readings(all[i].reading, all[i].count, "russet shop export", &file[(*count)++].text);
    }
    return status;
}

enum status export_people(struct book *book, struct arena *arena, struct people_file **out, size_t *count,
                          struct fault *fault) {
    const size_t n = sizeof sheets / sizeof *sheets;
    enum status status = STATUS_OK;
    *out = arena_need(arena, n + GEOMETRIES, sizeof **out);
    for (*count = 0; status == STATUS_OK && *count < n; ++*count)
        status = make_sheet(book, &sheets[*count], &(*out)[*count], fault);
    return status == STATUS_OK ? make_readings(book, arena, *out, count, fault) : status;
}
