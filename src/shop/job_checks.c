#include "shop/job_checks.h"
#include "base/text.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/pot_store.h"
#include <stdint.h>
#include <string.h>

struct one_check {
    const char *piece, *colour; /* ids; NULL: not said */
    const json_t *spots;
    const char *entry;
};

struct reader {
    struct book *book;
    const struct job_row *job;
    struct arena *arena;
    const char *const *left_alone;
    size_t count;
    struct piece_row *piece;
    struct colour_row *colour; /* those that were poured; when none was, all */
    size_t pieces, colours, poured;
    struct one_check *check;
    json_t **document;
    struct job_checks *out;
};

static bool has_passed(const json_t *inspection) {
    const char *verdict = json_string_value(json_object_get(inspection, "verdict"));
    return verdict && strcmp(verdict, "pass") == 0;
}

bool job_checks_passed(const struct job_checks *checks) {
    return has_passed(checks->inspection);
}

void job_checks_free(struct job_checks *checks) {
    json_decref(checks->inspection);
    json_decref(checks->missed);
}

/* "spot 1" of two checks are told apart by what each check was of. */
static void add_spots(const struct reader *r, size_t at, json_t *out) {
    const struct one_check *check = &r->check[at];
    struct text of = {0};
    for (size_t i = 0; i < r->pieces; i++)
        if (check->piece && strcmp(r->piece[i].id, check->piece) == 0) text_add(&of, r->piece[i].name);
    for (size_t i = 0; i < r->colours; i++)
        if (check->colour && strcmp(r->colour[i].id, check->colour) == 0 && (!of.length || r->colours > 1))
            text_format(&of, "%s%s", of.length ? ", " : "", r->colour[i].name);
    for (size_t i = 0; i < json_array_size(check->spots); i++) {
        json_t *spot = json_copy(json_array_get(check->spots, i));
        const char *name = json_string_value(json_object_get(spot, "spot"));
        struct text full = {0};
        text_format(&full, "%s, %s", of.length ? of.data : "", name ? name : "");
        if (of.length && r->count > 1 && name && !strcasestr(name, of.data))
            json_object_set_new(spot, "spot", json_string(full.data));
        text_free(&full);
        json_array_append_new(out, spot);
    }
    text_free(&of);
}

/* A copy: the spots of all of them stand in the one that goes on the record. */
static void choose(struct reader *r) {
    json_t *spots = json_array();
    const json_t *head = NULL;
    for (size_t i = 0; i < r->count; i++) {
        add_spots(r, i, spots);
        if (head && !has_passed(head)) continue;
        head = r->document[i];
        r->out->piece = r->check[i].piece;
        r->out->colour = r->check[i].colour;
        r->out->entry = r->check[i].entry;
    }
    r->out->inspection = head ? json_copy((json_t *)(uintptr_t)head) : NULL;
    if (head) json_object_set(r->out->inspection, "spots", spots);
    json_decref(spots);
}

static bool names_it(const json_t *spots, const char *name) {
    for (size_t i = 0; i < json_array_size(spots); i++) {
        const char *spot = json_string_value(json_object_get(json_array_get(spots, i), "spot"));
        if (spot && strcasestr(spot, name)) return true;
    }
    return false;
}

/* if_nowhere: what holds of a colour that nobody put on a piece. */
static enum status goes_on(struct reader *r, const char *colour, const char *piece, bool if_nowhere,
                           bool *out, struct fault *fault) {
    const char **on;
    size_t count = 0;
    const enum status status = colour_store_pieces(r->book, colour, r->arena, &on, &count, fault);
    *out = count == 0 && if_nowhere;
    for (size_t i = 0; i < count && status == STATUS_OK; i++) *out = *out || strcmp(on[i], piece) == 0;
    return status;
}

/* ---- which checks still count ---- */

static bool names_any(const struct reader *r, const json_t *spots) {
    for (size_t i = 0; i < r->pieces; i++)
        if (names_it(spots, r->piece[i].name)) return true;
    return false;
}

/* May it have been about this piece in this colour? */
static enum status is_about(struct reader *r, const struct one_check *check, size_t p, size_t c, bool *out,
                            struct fault *fault) {
    enum status status = STATUS_OK;
    const struct piece_row *piece = r->pieces ? &r->piece[p] : NULL;
    const struct colour_row *colour = r->colours ? &r->colour[c] : NULL;
    *out = !check->colour || (colour && strcmp(check->colour, colour->id) == 0);
    if (!*out || !piece) return status;
    if (colour) status = goes_on(r, colour->id, piece->id, true, out, fault);
    if (check->piece)
        *out = *out && strcmp(check->piece, piece->id) == 0;
    else if (r->pieces > 1 && names_any(r, check->spots))
        *out = *out && names_it(check->spots, piece->name);
    return status;
}

/* What a later check has to name so that it takes the place of this one: what this one named, unless the job
 * has only that. */
static bool names_enough(const struct reader *r, const struct one_check *later,
                         const struct one_check *check) {
    const bool piece = later->piece || r->pieces <= 1 || names_any(r, later->spots) ||
                       (!check->piece && later->colour),
               colour = later->colour || r->colours <= 1 || !check->colour;
    return piece && colour;
}

static enum status is_answered(struct reader *r, size_t i, size_t count, size_t p, size_t c, bool *out,
                               struct fault *fault) {
    enum status status = STATUS_OK;
    *out = false;
    for (size_t k = i + 1; k < count && status == STATUS_OK && !*out; k++)
        if (names_enough(r, &r->check[k], &r->check[i])) status = is_about(r, &r->check[k], p, c, out, fault);
    return status;
}

/* A check counts until all that it can have been about was checked again. */
static enum status is_last(struct reader *r, size_t i, size_t count, bool *out, struct fault *fault) {
    enum status status = STATUS_OK;
    bool any = false;
    *out = true;
    for (size_t k = i + 1; k < count; k++)
        if (text_same(r->check[k].piece, r->check[i].piece) &&
            text_same(r->check[k].colour, r->check[i].colour))
            return *out = false, status;
    *out = false;
    for (size_t p = 0; p < (r->pieces ? r->pieces : 1); p++)
        for (size_t c = 0; c < (r->colours ? r->colours : 1) && status == STATUS_OK && !*out; c++) {
            bool about, answered = true;
            status = is_about(r, &r->check[i], p, c, &about, fault);
            any = any || about;
            if (about && status == STATUS_OK) status = is_answered(r, i, count, p, c, &answered, fault);
            *out = about && !answered;
        }
    if (!any) *out = true;
    return status;
}

/* The pieces of the job, and its colours: those that were poured, where any was. */
static enum status read_job(struct reader *r, struct fault *fault) {
    struct pot_row *pot;
    size_t pots = 0;
    enum status status = piece_store_list(r->book, r->job->id, r->arena, &r->piece, &r->pieces, fault);
    if (status == STATUS_OK)
        status = colour_store_list(r->book, r->job->id, r->arena, &r->colour, &r->colours, fault);
    if (status == STATUS_OK) status = pot_store_list(r->book, r->job->id, r->arena, &pot, &pots, fault);
    for (size_t i = 0; i < r->colours && status == STATUS_OK; i++)
        for (size_t k = 0; k < pots; k++)
            if (!pot[k].taken_back && text_same(pot[k].colour, r->colour[i].id)) {
                const struct colour_row poured = r->colour[i];
                r->colour[i] = r->colour[r->poured];
                r->colour[r->poured++] = poured;
                break;
            }
    if (r->poured) r->colours = r->poured;
    return status;
}

static enum status read_all(struct reader *r, struct fault *fault) {
    struct entry_row *rows;
    size_t count = 0;
    const struct entry_filter filter = {.job = r->job->id, .kind = "inspection"};
    enum status status = read_job(r, fault);
    if (status == STATUS_OK) status = entry_store_list(r->book, filter, r->arena, &rows, &count, fault);
    r->check = arena_need(r->arena, count + 1, sizeof *r->check);
    r->document = arena_need(r->arena, count + 1, sizeof(json_t *));
    for (; r->count < count && status == STATUS_OK; r->count++) {
        json_t *document = NULL;
        status = document_read(rows[r->count].document, &document, fault);
        if (status != STATUS_OK) break;
        r->check[r->count] = (struct one_check){rows[r->count].piece, rows[r->count].colour,
                                                json_object_get(document, "spots"), rows[r->count].id};
        r->document[r->count] = document;
    }
    return status;
}

static enum status keep_last(struct reader *r, struct fault *fault) {
    size_t kept = 0;
    enum status status = STATUS_OK;
    bool *last = arena_need(r->arena, r->count + 1, sizeof *last);
    for (size_t i = 0; i < r->count && status == STATUS_OK; i++)
        status = is_last(r, i, r->count, &last[i], fault);
    for (size_t i = 0; i < r->count && status == STATUS_OK; i++) {
        json_t *document = r->document[i];
        if (!last[i]) {
            json_decref(document);
            continue;
        }
        r->check[kept] = r->check[i];
        r->document[kept++] = document;
    }
    if (status == STATUS_OK) r->count = kept;
    return status;
}

static enum status piece_is_seen(struct reader *r, const struct piece_row *piece, bool only, bool *seen,
                                 struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < r->count && status == STATUS_OK && !*seen; i++) {
        const struct one_check *check = &r->check[i];
        if (check->piece)
            *seen = strcmp(check->piece, piece->id) == 0;
        else if (check->colour)
            status = goes_on(r, check->colour, piece->id, false, seen, fault);
        else
            *seen = only || names_it(check->spots, piece->name);
    }
    return status;
}

static enum status colour_is_seen(struct reader *r, const char *colour, bool *seen, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < r->count && status == STATUS_OK && !*seen; i++) {
        const struct one_check *check = &r->check[i];
        if (check->colour)
            *seen = strcmp(check->colour, colour) == 0;
        else if (check->piece)
            status = goes_on(r, colour, check->piece, false, seen, fault);
        else
            *seen = true;
    }
    return status;
}

static bool is_left_alone(const struct reader *r, const char *piece) {
    for (size_t i = 0; r->left_alone[i]; i++)
        if (strcmp(r->left_alone[i], piece) == 0) return true;
    return false;
}

static enum status miss_pieces(struct reader *r, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < r->pieces && status == STATUS_OK; i++) {
        bool seen = is_left_alone(r, r->piece[i].id);
        status = piece_is_seen(r, &r->piece[i], r->pieces == 1, &seen, fault);
        if (!seen) json_array_append_new(r->out->missed, json_string(r->piece[i].name));
    }
    return status;
}

/* A colour that was poured and that only checks of other colours would have seen. */
static enum status miss_colours(struct reader *r, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < r->poured && status == STATUS_OK; i++) {
        bool seen = false;
        status = colour_is_seen(r, r->colour[i].id, &seen, fault);
        if (!seen) json_array_append_new(r->out->missed, json_string(r->colour[i].name));
    }
    return status;
}

enum status job_checks_read(struct book *book, const struct job_row *job, const char *const left_alone[],
                            struct arena *arena, struct job_checks *out, struct fault *fault) {
    struct reader r = {.book = book, .job = job, .arena = arena, .left_alone = left_alone, .out = out};
    *out = (struct job_checks){.missed = json_array()};
    enum status status = read_all(&r, fault);
    if (status == STATUS_OK) status = keep_last(&r, fault);
    if (status == STATUS_OK) choose(&r);
    if (status == STATUS_OK) status = miss_pieces(&r, fault);
    if (status == STATUS_OK && r.count) status = miss_colours(&r, fault);
    for (size_t i = 0; i < r.count; i++) json_decref(r.document[i]);
    return status;
}
