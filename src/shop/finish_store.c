#include "shop/finish_store.h"
#include "shop/fold.h"
#include "shop/rows.h"
#include <math.h>

#define FINISH                                                                                               \
    "SELECT id, job, entry, name, words, lab_l, lab_a, lab_b, reflectance, document, invented, created_ms, " \
    "changed_ms FROM finish "

/* Stored colours are under D65 and 10 degrees. */
static struct lab lab_at(const struct query *q, int column) {
    return (struct lab){query_get_number(q, column),
                        query_get_number(q, column + 1),
                        query_get_number(q, column + 2),
                        {LIGHT_D65, OBSERVER_10}};
}

static void read_row(const struct query *q, struct arena *arena, struct finish_row *out) {
    query_get_id(q, 0, out->id);
    out->job = query_get_text_or_null(q, 1, arena);
    out->entry = query_get_text_or_null(q, 2, arena);
    out->name = query_get_text(q, 3, arena);
    out->words = query_get_text(q, 4, arena);
    out->has_lab = !query_is_null(q, 5);
    out->lab = lab_at(q, 5);
    out->reflectance = query_get_text_or_null(q, 8, arena);
    out->document = query_get_text(q, 9, arena);
    out->invented = query_get_count(q, 10) != 0;
    out->created_ms = query_get_count(q, 11);
    out->changed_ms = query_get_count(q, 12);
}

static void bind_row(struct query *q, const struct finish_row *finish) {
    const double none = (double)NAN;
    query_text(q, finish->job);
    query_text(q, finish->entry);
    query_text(q, rows_text(finish->name));
    query_text(q, rows_text(finish->words));
    query_number(q, finish->has_lab ? finish->lab.l : none);
    query_number(q, finish->has_lab ? finish->lab.a : none);
    query_number(q, finish->has_lab ? finish->lab.b : none);
    query_text(q, finish->reflectance);
    query_text(q, rows_about(finish->document));
    query_count(q, finish->invented);
    query_count(q, finish->changed_ms);
    query_text(q, finish->id);
}

enum status finish_store_add(struct book *book, struct finish_row *finish, struct fault *fault) {
    rows_begin(book, finish->id, &finish->created_ms, NULL);
    finish->changed_ms = finish->created_ms;
    struct query q =
        query_make(book,
                   "INSERT INTO finish (job, entry, name, words, lab_l, lab_a, lab_b, reflectance, document, "
                   "invented, changed_ms, id, created_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                   fault);
    bind_row(&q, finish);
    query_count(&q, finish->created_ms);
    return query_run(&q);
}

enum status finish_store_change(struct book *book, struct finish_row *finish, struct fault *fault) {
    book_need_pen(book);
    finish->changed_ms = rows_changed_ms(book, finish->changed_ms);
    struct query q =
        query_make(book,
                   "UPDATE finish SET job = ?, entry = ?, name = ?, words = ?, lab_l = ?, lab_a = ?, lab_b = "
                   "?, reflectance = ?, document = ?, invented = ?, changed_ms = ? WHERE id = ? RETURNING id",
                   fault);
    bind_row(&q, finish);
    return rows_need_one(&q, "finish", finish->id);
}

enum status finish_store_find(struct book *book, const char *text, struct arena *arena,
                              struct finish_row *out, struct fault *fault) {
    struct query q =
        query_make(book, FINISH "WHERE name = ?1 OR " ROWS_BY_KEY("id") " ORDER BY id LIMIT 2", fault);
    enum status status;
    query_text(&q, text);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "finish", text);
    return status;
}

enum status finish_store_of_entry(struct book *book, const char *entry, struct arena *arena,
                                  struct finish_row *out, bool *found, struct fault *fault) {
    struct query q = query_make(book, FINISH "WHERE entry = ? ORDER BY id LIMIT 1", fault);
    query_text(&q, entry);
    for (*found = false; query_row(&q); *found = true) read_row(&q, arena, out);
    return query_end(&q);
}

enum status finish_store_of_job(struct book *book, const char *job, struct arena *arena,
                                struct finish_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book, FINISH "WHERE job = ? ORDER BY created_ms DESC, id DESC", fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}

enum status finish_store_named(struct book *book, const char *name, size_t *count, struct fault *fault) {
    struct query q = query_make(book, "SELECT count(*) FROM finish WHERE name = ?", fault);
    query_text(&q, name);
    if (query_row(&q)) *count = (size_t)query_get_count(&q, 0);
    return query_end(&q);
}

enum { WORDS_MOST = 8 };

/* "Cognac helm" -> "cognac", "helm". */
static size_t cut_words(const char *words, struct arena *arena, const char *word[WORDS_MOST]) {
    size_t count = 0;
    for (const char *at = fold_words(words, arena); count < WORDS_MOST;) {
        at += strspn(at, " \t");
        const size_t n = strcspn(at, " \t");
        if (n == 0) break;
        word[count++] = arena_text(arena, at, n);
        at += n;
    }
    return count;
}

/* One condition for each word, "AND has_words(...)"; bound by bind_words. */
static void add_words(struct text *sql, size_t n) {
    for (size_t i = 0; i < n; i++) text_add(sql, " AND has_words(name || ' ' || words, ?)");
}

static void bind_words(struct query *q, const char *const word[], size_t n) {
    for (size_t i = 0; i < n; i++) query_text(q, word[i]);
}

enum status finish_store_search(struct book *book, const char *words, size_t most, struct arena *arena,
                                struct finish_row **out, size_t *count, struct fault *fault) {
    const char *word[WORDS_MOST];
    const size_t n = cut_words(words, arena, word);
    struct text sql = {0};
    text_add(&sql, FINISH "WHERE 1");
    add_words(&sql, n);
    text_add(&sql, " ORDER BY created_ms DESC, id DESC LIMIT ?");
    struct query q = query_make(book, sql.data, fault);
    text_free(&sql);
    bind_words(&q, word, n);
    query_count(&q, (long long)most);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}

/* ---- near a colour: out of the index by cell (schema/004.sql files as colour/nearest.h does) ---- */

struct near_search {
    struct query count, each;
    const char *word[WORDS_MOST];
    size_t words;
};

static void bind_cells(struct query *q, unsigned low, unsigned high) {
    query_again(q);
    query_count(q, low);
    query_count(q, high);
}

/* With words: as many as there may be. */
static size_t count_cells(void *from, unsigned low, unsigned high, size_t most) {
    struct query *q = &((struct near_search *)from)->count;
    bind_cells(q, low, high);
    query_count(q, (long long)most);
    return query_row(q) ? (size_t)query_get_count(q, 0) : 0;
}

static void each_of_cells(void *from, unsigned low, unsigned high, colour_seen *seen, void *to) {
    struct near_search *search = from;
    bind_cells(&search->each, low, high);
    bind_words(&search->each, search->word, search->words);
    while (query_row(&search->each)) seen(to, query_get_count(&search->each, 0), lab_at(&search->each, 1));
}

enum status finish_store_near(struct book *book, const struct finish_near *asked, struct arena *arena,
                              struct near_colour near[], size_t *count, struct fault *fault) {
    struct near_search search = {.words = 0};
    struct text sql = {0};
    search.words = cut_words(asked->words, arena, search.word);
    text_add(&sql, "SELECT rowid, lab_l, lab_a, lab_b FROM finish INDEXED BY finish_by_cell WHERE cell "
                   "BETWEEN ? AND ?");
    add_words(&sql, search.words);
    search.each = query_make(book, sql.data, fault);
    text_free(&sql);
    search.count =
        query_make(book,
                   "SELECT count(*) FROM (SELECT 1 FROM finish INDEXED BY finish_by_cell WHERE cell "
                   "BETWEEN ? AND ? LIMIT ?)",
                   fault);
    const struct colour_file file = {&search, count_cells, each_of_cells};
    *count = nearest_find(&file, asked->target, asked->most, asked->within_de00, near);
    const enum status counted = query_end(&search.count), seen = query_end(&search.each);
    return counted == STATUS_OK ? seen : counted;
}

enum status finish_store_at(struct book *book, long long row, struct arena *arena, struct finish_row *out,
                            struct fault *fault) {
    struct query q = query_make(book, FINISH "WHERE rowid = ?", fault);
    enum status status;
    query_count(&q, row);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "finish", COUNT_TEXT(row));
    return status;
}
