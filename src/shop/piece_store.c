/* Pieces, materials and colours: declared with the job that they belong to. */
#include "shop/job_store.h"
#include "shop/rows.h"

static void read_piece(const struct query *q, struct arena *arena, struct piece_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->name = query_get_text(q, 2, arena);
    out->words = query_get_text(q, 3, arena);
    out->about = query_get_text(q, 4, arena);
    out->created_ms = query_get_count(q, 5);
    out->changed_ms = query_get_count(q, 6);
}

static void read_material(const struct query *q, struct arena *arena, struct material_row *out) {
    query_get_id(q, 0, out->id);
    out->piece = query_get_text(q, 1, arena);
    out->kind = query_get_text(q, 2, arena);
    out->words = query_get_text(q, 3, arena);
    out->about = query_get_text(q, 4, arena);
    out->created_ms = query_get_count(q, 5);
    out->changed_ms = query_get_count(q, 6);
}

static void read_colour(const struct query *q, struct arena *arena, struct colour_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->name = query_get_text(q, 2, arena);
    out->words = query_get_text(q, 3, arena);
    out->about = query_get_text(q, 4, arena);
    out->created_ms = query_get_count(q, 5);
    out->changed_ms = query_get_count(q, 6);
    out->role = query_get_text(q, 7, arena);
}

/* Row texts in the order of the statement's first '?'. */
static enum status run(struct book *book, const char *sql, const char *const texts[4], long long changed_ms,
                       const char *id, const long long *created_ms, struct fault *fault) {
    book_need_pen(book);
    struct query q = query_make(book, sql, fault);
    for (int i = 0; i < 4; i++)
        if (texts[i]) query_text(&q, texts[i]);
    query_count(&q, changed_ms);
    query_text(&q, id);
    if (created_ms) query_count(&q, *created_ms);
    return created_ms ? query_run(&q) : rows_need_one(&q, "row", id);
}

enum status piece_store_add(struct book *book, struct piece_row *piece, struct fault *fault) {
    rows_begin(book, piece->id, &piece->created_ms);
    piece->changed_ms = piece->created_ms;
    const char *const texts[4] = {piece->job, rows_text(piece->name), rows_text(piece->words),
                                  rows_about(piece->about)};
    return run(book,
               "INSERT INTO piece (job, name, words, about, changed_ms, id, created_ms) VALUES (?, ?, ?, ?, "
               "?, ?, ?)",
               texts, piece->changed_ms, piece->id, &piece->created_ms, fault);
}

enum status piece_store_change(struct book *book, struct piece_row *piece, struct fault *fault) {
    piece->changed_ms = rows_changed_ms(book, piece->changed_ms);
    const char *const texts[4] = {rows_text(piece->name), rows_text(piece->words), rows_about(piece->about)};
    return run(book,
               "UPDATE piece SET name = ?, words = ?, about = ?, changed_ms = ? WHERE id = ? RETURNING id",
               texts, piece->changed_ms, piece->id, NULL, fault);
}

enum status material_store_add(struct book *book, struct material_row *material, struct fault *fault) {
    rows_begin(book, material->id, &material->created_ms);
    material->changed_ms = material->created_ms;
    const char *const texts[4] = {material->piece, rows_text(material->kind), rows_text(material->words),
                                  rows_about(material->about)};
    return run(book,
               "INSERT INTO material (piece, kind, words, about, changed_ms, id, created_ms) VALUES (?, ?, "
               "?, ?, ?, ?, ?)",
               texts, material->changed_ms, material->id, &material->created_ms, fault);
}

enum status material_store_change(struct book *book, struct material_row *material, struct fault *fault) {
    material->changed_ms = rows_changed_ms(book, material->changed_ms);
    const char *const texts[4] = {rows_text(material->kind), rows_text(material->words),
                                  rows_about(material->about)};
    return run(book,
               "UPDATE material SET kind = ?, words = ?, about = ?, changed_ms = ? WHERE id = ? RETURNING id",
               texts, material->changed_ms, material->id, NULL, fault);
}

enum status colour_store_add(struct book *book, struct colour_row *colour, struct fault *fault) {
    book_need_pen(book);
    rows_begin(book, colour->id, &colour->created_ms);
    colour->changed_ms = colour->created_ms;
    struct query q = query_make(book,
                                "INSERT INTO colour (id, job, name, role, words, about, created_ms, "
                                "changed_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, colour->id);
    query_text(&q, colour->job);
    query_text(&q, rows_text(colour->name));
    query_text(&q, colour->role ? colour->role : "body");
    query_text(&q, rows_text(colour->words));
    query_text(&q, rows_about(colour->about));
    query_count(&q, colour->created_ms);
    query_count(&q, colour->changed_ms);
    return query_run(&q);
}

enum status colour_store_change(struct book *book, struct colour_row *colour, struct fault *fault) {
    colour->changed_ms = rows_changed_ms(book, colour->changed_ms);
    const char *const texts[4] = {rows_text(colour->name), colour->role ? colour->role : "body",
                                  rows_text(colour->words), rows_about(colour->about)};
    return run(book,
               "UPDATE colour SET name = ?, role = ?, words = ?, about = ?, changed_ms = ? WHERE id = ? "
               "RETURNING id",
               texts, colour->changed_ms, colour->id, NULL, fault);
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

#define PIECE "SELECT id, job, name, words, about, created_ms, changed_ms FROM piece "
#define COLOUR "SELECT id, job, name, words, about, created_ms, changed_ms, role FROM colour "
#define BY_TEXT                                                                                       \
    "WHERE job = ?1 AND (id = ?2 OR name = ?2 OR (length(?2) >= 8 AND id >= ?2 AND id < ?2 || 'g')) " \
    "ORDER BY id LIMIT 2"

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
    size_t found = 0;
    query_text(&q, job);
    query_text(&q, text);
    while (query_row(&q))
        if (found++ == 0) read_piece(&q, arena, out);
    return rows_exactly_one(&q, found, "piece", text);
}

enum status colour_store_find(struct book *book, const char *job, const char *text, struct arena *arena,
                              struct colour_row *out, struct fault *fault) {
    struct query q = query_make(book, COLOUR BY_TEXT, fault);
    size_t found = 0;
    query_text(&q, job);
    query_text(&q, text);
    while (query_row(&q))
        if (found++ == 0) read_colour(&q, arena, out);
    return rows_exactly_one(&q, found, "colour", text);
}
