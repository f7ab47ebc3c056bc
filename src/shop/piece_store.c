/* Pieces, materials and colours: declared with the job that they belong to. The three are rows of one shape,
 * a text with words under something else; a colour has its role besides. */
#include "shop/job_store.h"
#include "shop/rows.h"
#include <stdio.h>

/* One row of the three, wherever its fields lie. */
struct part {
    const char *table, *of_column, *name_column;
    char *id;
    const char **of, **name, **words, **about;
    const char **role; /* NULL where the table has none */
    long long *created_ms, *changed_ms;
};

#define PART(table, of_column, name_column, row, of, name, role)                                          \
    (struct part) {                                                                                       \
        table, of_column, name_column, (row)->id, &(row)->of, &(row)->name, &(row)->words, &(row)->about, \
            role, &(row)->created_ms, &(row)->changed_ms                                                  \
    }
static struct part part_of_piece(struct piece_row *row) {
    return PART("piece", "job", "name", row, job, name, NULL);
}
static struct part part_of_material(struct material_row *row) {
    return PART("material", "piece", "kind", row, piece, kind, NULL);
}
static struct part part_of_colour(struct colour_row *row) {
    return PART("colour", "job", "name", row, job, name, &row->role);
}

/* id, what it belongs to, name, words, about, created, changed, role. */
static void read_part(const struct query *q, struct arena *arena, struct part part) {
    query_get_id(q, 0, part.id);
    *part.of = query_get_text(q, 1, arena);
    *part.name = query_get_text(q, 2, arena);
    *part.words = query_get_text(q, 3, arena);
    *part.about = query_get_text(q, 4, arena);
    *part.created_ms = query_get_count(q, 5);
    *part.changed_ms = query_get_count(q, 6);
    if (part.role) *part.role = query_get_text(q, 7, arena);
}
static void read_piece(const struct query *q, struct arena *arena, struct piece_row *out) {
    read_part(q, arena, part_of_piece(out));
}
static void read_material(const struct query *q, struct arena *arena, struct material_row *out) {
    read_part(q, arena, part_of_material(out));
}
static void read_colour(const struct query *q, struct arena *arena, struct colour_row *out) {
    read_part(q, arena, part_of_colour(out));
}

static void bind_what_changes(struct query *q, const struct part *part) {
    query_text(q, rows_text(*part->name));
    query_text(q, rows_text(*part->words));
    query_text(q, rows_about(*part->about));
    query_count(q, *part->changed_ms);
    if (part->role) query_text(q, *part->role ? *part->role : "body");
    query_text(q, part->id);
}

static enum status add_part(struct book *book, struct part part, struct fault *fault) {
    char sql[200];
    rows_begin(book, part.id, part.created_ms, NULL);
    *part.changed_ms = *part.created_ms;
    snprintf(
        sql, sizeof sql,
        "INSERT INTO %s (%s, words, about, changed_ms, %sid, %s, created_ms) VALUES (?, ?, ?, ?, %s?, ?, ?)",
        part.table, part.name_column, part.role ? "role, " : "", part.of_column, part.role ? "?, " : "");
    struct query q = query_make(book, sql, fault);
    bind_what_changes(&q, &part);
    query_text(&q, *part.of);
    query_count(&q, *part.created_ms);
    return query_run(&q);
}

static enum status change_part(struct book *book, struct part part, struct fault *fault) {
    char sql[160];
    book_need_pen(book);
    *part.changed_ms = rows_changed_ms(book, *part.changed_ms);
    snprintf(sql, sizeof sql,
             "UPDATE %s SET %s = ?, words = ?, about = ?, changed_ms = ?%s WHERE id = ? RETURNING id",
             part.table, part.name_column, part.role ? ", role = ?" : "");
    struct query q = query_make(book, sql, fault);
    bind_what_changes(&q, &part);
    return rows_need_one(&q, part.table, part.id);
}

enum status piece_store_add(struct book *book, struct piece_row *piece, struct fault *fault) {
    return add_part(book, part_of_piece(piece), fault);
}
enum status piece_store_change(struct book *book, struct piece_row *piece, struct fault *fault) {
    return change_part(book, part_of_piece(piece), fault);
}
enum status material_store_add(struct book *book, struct material_row *material, struct fault *fault) {
    return add_part(book, part_of_material(material), fault);
}
enum status material_store_change(struct book *book, struct material_row *material, struct fault *fault) {
    return change_part(book, part_of_material(material), fault);
}
enum status colour_store_add(struct book *book, struct colour_row *colour, struct fault *fault) {
    return add_part(book, part_of_colour(colour), fault);
}
enum status colour_store_change(struct book *book, struct colour_row *colour, struct fault *fault) {
    return change_part(book, part_of_colour(colour), fault);
}

enum status colour_store_goes_on(struct book *book, const char *colour, const char *piece,
                                 struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(
        book, "INSERT INTO colour_piece (colour, piece) VALUES (?, ?) ON CONFLICT DO NOTHING", fault);
    query_text(&q, colour);
    query_text(&q, piece);
    return query_run(&q);
}

enum status colour_store_comes_off(struct book *book, const char *colour, const char *piece,
                                   struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(book, "DELETE FROM colour_piece WHERE colour = ? AND piece = ?", fault);
    query_text(&q, colour);
    query_text(&q, piece);
    return query_run(&q);
}

#define PIECE "SELECT id, job, name, words, about, created_ms, changed_ms FROM piece "
#define COLOUR "SELECT id, job, name, words, about, created_ms, changed_ms, role FROM colour "
#define BY_TEXT "WHERE job = ?2 AND (name = ?1 OR " ROWS_BY_KEY("id") ") ORDER BY id LIMIT 2"

enum status piece_store_list(struct book *book, const char *job, struct arena *arena, struct piece_row **out,
                             size_t *count, struct fault *fault) {
    struct query q = query_make(book, PIECE "WHERE job = ? ORDER BY id", fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_piece);
    return query_end(&q);
}

enum status material_store_list(struct book *book, const char *piece, struct arena *arena,
                                struct material_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT id, piece, kind, words, about, created_ms, changed_ms FROM material "
                                "WHERE piece = ? ORDER BY id",
                                fault);
    query_text(&q, piece);
    ROWS_READ(&q, arena, out, count, read_material);
    return query_end(&q);
}

enum status colour_store_list(struct book *book, const char *job, struct arena *arena,
                              struct colour_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book, COLOUR "WHERE job = ? ORDER BY id", fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_colour);
    return query_end(&q);
}

static void read_text(const struct query *q, struct arena *arena, const char **out) {
    *out = query_get_text(q, 0, arena);
}

enum status colour_store_pieces(struct book *book, const char *colour, struct arena *arena, const char ***out,
                                size_t *count, struct fault *fault) {
    struct query q =
        query_make(book, "SELECT piece FROM colour_piece WHERE colour = ? ORDER BY piece", fault);
    query_text(&q, colour);
    ROWS_READ(&q, arena, out, count, read_text);
    return query_end(&q);
}

enum status piece_store_find(struct book *book, const char *job, const char *text, struct arena *arena,
                             struct piece_row *out, struct fault *fault) {
    struct query q = query_make(book, PIECE BY_TEXT, fault);
    enum status status;
    query_text(&q, text);
    query_text(&q, job);
    ROWS_READ_ONE(&status, &q, arena, out, read_piece, "piece", text);
    return status;
}

enum status colour_store_find(struct book *book, const char *job, const char *text, struct arena *arena,
                              struct colour_row *out, struct fault *fault) {
    struct query q = query_make(book, COLOUR BY_TEXT, fault);
    enum status status;
    query_text(&q, text);
    query_text(&q, job);
    ROWS_READ_ONE(&status, &q, arena, out, read_colour, "colour", text);
    return status;
}
