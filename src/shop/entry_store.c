#include "shop/entry_store.h"
#include "shop/rows.h"

#define COLUMNS \
    "e.id, e.job, e.piece, e.colour, e.step, e.kind, e.words, e.document, e.replaces, e.at_ms, e.zone"

static void read_photographs(struct query *q, struct arena *arena, struct entry_row *entry) {
    const char **list;
    size_t count = 0;
    struct query inner = query_make(
        q->book, "SELECT sha256 FROM entry_photograph WHERE entry = ? ORDER BY position", q->fault);
    query_text(&inner, entry->id);
    for (list = NULL; query_row(&inner); count++) {
        list = rows_grow(arena, list, count, sizeof *list);
        list[count] = query_get_text(&inner, 0, arena);
    }
    const enum status status = query_end(&inner);
    if (q->status == STATUS_OK) q->status = status;
    entry->photograph = list;
    entry->photograph_count = count;
}

static void read_row(struct query *q, struct arena *arena, struct entry_row *out) {
    char step[ID_LENGTH + 1];
    *out = (struct entry_row){0};
    query_get_id(q, 0, out->id);
    out->job = query_get_text(q, 1, arena);
    out->piece = query_get_text_or_null(q, 2, arena);
    out->colour = query_get_text_or_null(q, 3, arena);
    query_get_id(q, 4, step);
    if (!job_step_from_name(step, &out->step)) out->step = JOB_LOOK; /* the table allows no other */
    out->kind = query_get_text(q, 5, arena);
    out->words = query_get_text(q, 6, arena);
    out->document = query_get_text(q, 7, arena);
    out->replaces = query_get_text_or_null(q, 8, arena);
    out->at_ms = query_get_count(q, 9);
    out->zone = query_get_text(q, 10, arena);
    read_photographs(q, arena, out);
}

static enum status add_photographs(struct book *book, const struct entry_row *entry, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; status == STATUS_OK && i < entry->photograph_count; i++) {
        struct query q = query_make(
            book, "INSERT INTO entry_photograph (entry, position, sha256) VALUES (?, ?, ?)", fault);
        query_text(&q, entry->id);
        query_count(&q, (long long)i);
        query_text(&q, entry->photograph[i]);
        status = query_run(&q);
    }
    return status;
}

enum status entry_store_add(struct book *book, struct entry_row *entry, struct fault *fault) {
    rows_begin(book, entry->id, &entry->at_ms, &entry->zone);
    struct query q = query_make(book,
                                "INSERT INTO entry (id, job, piece, colour, step, kind, words, document, "
                                "replaces, at_ms, zone) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                                fault);
    query_text(&q, entry->id);
    query_text(&q, entry->job);
    query_text(&q, entry->piece);
    query_text(&q, entry->colour);
    query_text(&q, job_step_name(entry->step));
    query_text(&q, entry->kind);
    query_text(&q, rows_text(entry->words));
    query_text(&q, rows_about(entry->document));
    query_text(&q, entry->replaces);
    query_count(&q, entry->at_ms);
    query_text(&q, entry->zone);
    const enum status status = query_run(&q);
    return status == STATUS_OK ? add_photographs(book, entry, fault) : status;
}

enum status entry_store_get(struct book *book, const char *id, struct arena *arena, struct entry_row *out,
                            struct fault *fault) {
    struct query q = query_make(
        book, "SELECT " COLUMNS " FROM entry e WHERE " ROWS_BY_KEY("e.id") " ORDER BY e.id LIMIT 2", fault);
    enum status status;
    query_text(&q, id);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "entry", id);
    return status;
}

#define FITTING                                                                                              \
    "SELECT " COLUMNS " FROM entry e WHERE (?1 IS NULL OR e.job = ?1) AND (?2 IS NULL OR e.piece = ?2) AND " \
    "(?3 IS NULL OR e.colour = ?3) AND (?4 IS NULL OR e.kind = ?4) AND (?5 IS NULL OR e.step = ?5) AND "     \
    "(?6 OR NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = e.id)) "

static struct query search(struct book *book, const char *sql, struct entry_filter filter,
                           struct fault *fault) {
    struct query q = query_make(book, sql, fault);
    query_text(&q, filter.job);
    query_text(&q, filter.piece);
    query_text(&q, filter.colour);
    query_text(&q, filter.kind);
    query_text(&q, filter.step ? job_step_name(*filter.step) : NULL);
    query_count(&q, filter.with_replaced);
    return q;
}

/* The part that an index serves: the job, else the kind. */
static const char *served(struct entry_filter filter) {
    return filter.job ? "AND e.job = ?1 " : filter.kind ? "AND e.kind = ?4 " : "";
}

enum status entry_store_list(struct book *book, struct entry_filter filter, struct arena *arena,
                             struct entry_row **out, size_t *count, struct fault *fault) {
    struct text sql = {0};
    text_format(&sql, "%s%sORDER BY e.at_ms, e.id", FITTING, served(filter));
    struct query q = search(book, sql.data, filter, fault);
    text_free(&sql);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}

enum status entry_store_last(struct book *book, struct entry_filter filter, struct arena *arena,
                             struct entry_row *out, bool *found, struct fault *fault) {
    struct text sql = {0};
    text_format(&sql, "%s%sORDER BY e.at_ms DESC, e.id DESC LIMIT 1", FITTING, served(filter));
    struct query q = search(book, sql.data, filter, fault);
    text_free(&sql);
    for (*found = false; query_row(&q); *found = true) read_row(&q, arena, out);
    return query_end(&q);
}

static void read_mark(const struct query *q, struct arena *arena, struct entry_mark *out) {
    char step[ID_LENGTH + 1];
    query_get_id(q, 0, step);
    if (!job_step_from_name(step, &out->step)) out->step = JOB_LOOK; /* the table allows no other */
    out->kind = query_get_text(q, 1, arena);
    out->colour = query_get_text_or_null(q, 2, arena);
}

/* What was taken back, and the entry that says so, are no step that was done. */
enum status entry_store_marks(struct book *book, const char *job, struct arena *arena,
                              struct entry_mark **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT DISTINCT step, kind, colour FROM entry e WHERE job = ? AND kind <> "
                                "'taken-back' AND NOT EXISTS (SELECT 1 FROM entry r WHERE r.replaces = e.id) "
                                "ORDER BY step, kind, colour",
                                fault);
    query_text(&q, job);
    ROWS_READ(&q, arena, out, count, read_mark);
    return query_end(&q);
}
