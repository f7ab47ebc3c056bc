#include "shop/job_store.h"
#include "shop/asked_store.h"
#include "shop/fold.h"
#include "shop/rows.h"

#define COLUMNS                                                                                    \
    "id, origin, number, customer, title, words, place, state, due_day, return_of, return_cause, " \
    "invented, about, zone, created_ms, changed_ms"

static void read_row(const struct query *q, struct arena *arena, struct job_row *out) {
    query_get_id(q, 0, out->id);
    out->origin = query_get_text(q, 1, arena);
    out->number = query_get_count(q, 2);
    out->customer = query_get_text_or_null(q, 3, arena);
    out->title = query_get_text(q, 4, arena);
    out->words = query_get_text(q, 5, arena);
    out->place = query_get_text(q, 6, arena);
    out->state = query_get_text(q, 7, arena);
    out->due_day = query_get_text_or_null(q, 8, arena);
    out->return_of = query_get_text_or_null(q, 9, arena);
    out->return_cause = query_get_text(q, 10, arena);
    out->invented = query_get_count(q, 11) != 0;
    out->about = query_get_text(q, 12, arena);
    out->zone = query_get_text(q, 13, arena);
    out->created_ms = query_get_count(q, 14);
    out->changed_ms = query_get_count(q, 15);
}

static void bind_what_changes(struct query *q, const struct job_row *job) {
    query_text(q, job->customer);
    query_text(q, rows_text(job->title));
    query_text(q, rows_text(job->words));
    query_text(q, rows_text(job->place));
    query_text(q, job->state);
    query_text(q, job->due_day);
    query_text(q, job->return_of);
    query_text(q, rows_text(job->return_cause));
    query_count(q, job->invented);
    query_text(q, rows_about(job->about));
    query_count(q, job->changed_ms);
}

static enum status next_number(struct book *book, const char *origin, long long *out, struct fault *fault) {
    struct query q = query_make(book, "SELECT 1 + coalesce(max(number), 0) FROM job WHERE origin = ?", fault);
    query_text(&q, origin);
    if (query_row(&q)) *out = query_get_count(&q, 0);
    return query_end(&q);
}

enum status job_store_add(struct book *book, struct job_row *job, struct fault *fault) {
    rows_begin(book, job->id, &job->created_ms, &job->zone);
    job->changed_ms = job->created_ms;
    if (!job->origin) job->origin = book_own_id(book);
    if (!job->state) job->state = "open";
    enum status status = STATUS_OK;
    if (job->number == 0) status = next_number(book, job->origin, &job->number, fault);
    if (status != STATUS_OK) return status;
    struct query q = query_make(
        book,
        "INSERT INTO job (customer, title, words, place, state, due_day, return_of, return_cause, invented, "
        "about, changed_ms, id, origin, number, zone, created_ms) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        fault);
    bind_what_changes(&q, job);
    query_text(&q, job->id);
    query_text(&q, job->origin);
    query_count(&q, job->number);
    query_text(&q, job->zone);
    query_count(&q, job->created_ms);
    status = query_run(&q);
    return status == STATUS_OK ? asked_store_made(book, job->id, job->number, fault) : status;
}

enum status job_store_change(struct book *book, struct job_row *job, struct fault *fault) {
    book_need_pen(book);
    job->changed_ms = rows_changed_ms(book, job->changed_ms);
    struct query q =
        query_make(book,
                   "UPDATE job SET customer = ?, title = ?, words = ?, place = ?, state = ?, due_day = ?, "
                   "return_of = ?, "
                   "return_cause = ?, invented = ?, about = ?, changed_ms = ? WHERE id = ? RETURNING id",
                   fault);
    bind_what_changes(&q, job);
    query_text(&q, job->id);
    return rows_need_one(&q, "job", job->id);
}

/* A number: ours first; with ours found, another book's same number does not count. */
static enum status find_number(struct book *book, const char *text, long long number, struct arena *arena,
                               struct job_row *out, struct fault *fault) {
    struct query q = query_make(
        book, "SELECT " COLUMNS " FROM job WHERE number = ?1 ORDER BY origin <> ?2, id LIMIT 2", fault);
    size_t found = 0;
    query_count(&q, number);
    query_text(&q, book_own_id(book));
    while (query_row(&q)) {
        if (found == 1 && strcmp(out->origin, book_own_id(book)) == 0) break;
        if (found++ == 0) read_row(&q, arena, out);
    }
    return rows_exactly_one(&q, found, "job", text);
}

enum status job_store_find(struct book *book, const char *text, struct arena *arena, struct job_row *out,
                           struct fault *fault) {
    unsigned long long number;
    if (strlen(text) < 8 && text_to_count(text, 9999999, &number))
        return find_number(book, text, (long long)number, arena, out, fault);
    struct query q = query_make(
        book, "SELECT " COLUMNS " FROM job WHERE " ROWS_BY_KEY("id") " ORDER BY id LIMIT 2", fault);
    enum status status;
    query_text(&q, text);
    ROWS_READ_ONE(&status, &q, arena, out, read_row, "job", text);
    return status;
}

enum status job_store_returns(struct book *book, const char *id, struct arena *arena, struct job_row **out,
                              size_t *count, struct fault *fault) {
    struct query q =
        query_make(book, "SELECT " COLUMNS " FROM job WHERE return_of = ? ORDER BY created_ms, id", fault);
    query_text(&q, id);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}

enum status job_store_list(struct book *book, struct job_filter filter, struct arena *arena,
                           struct job_row **out, size_t *count, struct fault *fault) {
    struct query q = query_make(book,
                                "SELECT " COLUMNS " FROM job WHERE (?1 IS NULL OR state = ?1 OR (?1 = "
                                "'bench' AND state IN ('open', 'waiting'))) AND (?2 IS NULL OR customer = "
                                "?2) AND (?3 IS NULL OR due_day <= ?3) AND (?6 IS NULL OR has_words(number "
                                "|| ' ' || title || ' ' || coalesce((SELECT name FROM customer c WHERE c.id "
                                "= job.customer), ''), ?6)) ORDER BY created_ms DESC, id DESC "
                                "LIMIT ?4 OFFSET ?5",
                                fault);
    query_text(&q, filter.state);
    query_text(&q, filter.customer);
    query_text(&q, filter.due_until);
    query_count(&q, filter.most ? (long long)filter.most : -1);
    query_count(&q, (long long)filter.skip);
    query_text(&q, filter.words ? fold_words(filter.words, arena) : NULL);
    ROWS_READ(&q, arena, out, count, read_row);
    return query_end(&q);
}
