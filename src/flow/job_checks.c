#include "flow/job_checks.h"
#include "base/text.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/pot_store.h"
#include <stdint.h>
#include <string.h>

struct one_check {
    const char *piece, *colour; /* ids; NULL: not said */
    const json_t *spots;
};

struct reader {
    struct book *book;
    const struct job_row *job;
    struct arena *arena;
    const char *const *left_alone;
    size_t count;
    struct one_check *check;
    json_t **document;
    struct job_checks *out;
};

static bool is_last(const struct entry_row *rows, size_t count, size_t i) {
    for (size_t k = i + 1; k < count; k++)
        if (text_same(rows[k].piece, rows[i].piece) && text_same(rows[k].colour, rows[i].colour))
            return false;
    return true;
}

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

static enum status read_all(struct reader *r, struct fault *fault) {
    struct entry_row *rows;
    size_t count = 0;
    const struct entry_filter filter = {.job = r->job->id, .kind = "inspection"};
    enum status status = entry_store_list(r->book, filter, r->arena, &rows, &count, fault);
    r->check = arena_need(r->arena, count + 1, sizeof *r->check);
    r->document = arena_need(r->arena, count + 1, sizeof(json_t *));
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *document = NULL;
        if (!is_last(rows, count, i)) continue;
        status = document_read(rows[i].document, &document, fault);
        if (status != STATUS_OK) break;
        r->check[r->count] =
            (struct one_check){rows[i].piece, rows[i].colour, json_object_get(document, "spots")};
        r->document[r->count++] = document;
    }
    return status;
}

/* A copy: the spots of all of them stand in the one that goes on the record. */
static void choose(struct reader *r) {
    json_t *spots = json_array();
    const json_t *head = NULL;
    for (size_t i = 0; i < r->count; i++) {
        json_array_extend(spots, json_object_get(r->document[i], "spots"));
        if (!head || has_passed(head)) head = r->document[i];
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

static enum status goes_on(struct reader *r, const char *colour, const char *piece, bool *out,
                           struct fault *fault) {
    const char **on;
    size_t count = 0;
    *out = false;
    const enum status status = colour_store_pieces(r->book, colour, r->arena, &on, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) *out = *out || strcmp(on[i], piece) == 0;
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
            status = goes_on(r, check->colour, piece->id, seen, fault);
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
            status = goes_on(r, colour, check->piece, seen, fault);
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
    struct piece_row *piece;
    size_t count = 0;
    enum status status = piece_store_list(r->book, r->job->id, r->arena, &piece, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        bool seen = is_left_alone(r, piece[i].id);
        status = piece_is_seen(r, &piece[i], count == 1, &seen, fault);
        if (!seen) json_array_append_new(r->out->missed, json_string(piece[i].name));
    }
    return status;
}

/* A colour that was poured and that only checks of other colours would have seen. */
static enum status miss_colours(struct reader *r, struct fault *fault) {
    struct pot_row *pot;
    struct colour_row *colour;
    size_t pots = 0, count = 0;
    enum status status = pot_store_list(r->book, r->job->id, r->arena, &pot, &pots, fault);
    if (status == STATUS_OK)
        status = colour_store_list(r->book, r->job->id, r->arena, &colour, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        bool poured = false, seen = false;
        for (size_t k = 0; k < pots; k++) poured = poured || text_same(pot[k].colour, colour[i].id);
        if (!poured) continue;
        status = colour_is_seen(r, colour[i].id, &seen, fault);
        if (!seen) json_array_append_new(r->out->missed, json_string(colour[i].name));
    }
    return status;
}

enum status job_checks_read(struct book *book, const struct job_row *job, const char *const left_alone[],
                            struct arena *arena, struct job_checks *out, struct fault *fault) {
    struct reader r = {.book = book, .job = job, .arena = arena, .left_alone = left_alone, .out = out};
    *out = (struct job_checks){.missed = json_array()};
    enum status status = read_all(&r, fault);
    if (status == STATUS_OK) choose(&r);
    if (status == STATUS_OK) status = miss_pieces(&r, fault);
    if (status == STATUS_OK && r.count) status = miss_colours(&r, fault);
    for (size_t i = 0; i < r.count; i++) json_decref(r.document[i]);
    return status;
}
