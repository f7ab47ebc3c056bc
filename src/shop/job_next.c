#include "shop/job_next.h"
#include "base/text.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/job_checks.h"
#include "shop/quote_store.h"
#include "trade/piece.h"
#include <string.h>

/* What is known of a job's steps before one scope of it is looked at. */
struct stand {
    struct book *book;
    const struct job_row *job;
    struct arena *arena;
    struct entry_mark *mark;
    size_t marks;
    bool quoted, planned, prepared;
    bool failed;               /* a check that did not pass still counts */
    const char *failed_colour; /* of which colour it was; NULL: of all */
};

/* ---- preparing ---- */

/* The key of a tick is the step's id, with a number from its second time on ("step-clean 2"). */
static bool is_ticked(const json_t *ticks, const json_t *steps, size_t at) {
    const char *id = json_string_value(json_object_get(json_array_get(steps, at), "id"));
    struct text key = {0};
    size_t times = 1;
    if (!id) return true;
    for (size_t i = 0; i < at; i++) {
        const char *step = json_string_value(json_object_get(json_array_get(steps, i), "step"));
        const char *other = json_string_value(json_object_get(json_array_get(steps, i), "id"));
        times += step && other && strcmp(step, "prepare") == 0 && strcmp(other, id) == 0;
    }
    text_add(&key, id);
    if (times > 1) text_format(&key, " %zu", times);
    const bool ticked = json_object_get(ticks, key.data) != NULL;
    text_free(&key);
    return ticked;
}

static bool is_worked_off(const json_t *plan, const json_t *ticks) {
    const json_t *steps = json_object_get(plan, "steps");
    for (size_t i = 0; i < json_array_size(steps); i++) {
        const char *step = json_string_value(json_object_get(json_array_get(steps, i), "step"));
        if (step && strcmp(step, "prepare") == 0 && !is_ticked(ticks, steps, i)) return false;
    }
    return true;
}

/* Each entry says what it changed: a time for done, null for taken back; `done` is a whole list. */
static void join_ticks(json_t *ticks, const json_t *document) {
    json_t *whole = json_object_get(document, "done"), *changed = json_object_get(document, "ticked"), *at;
    const char *key;
    if (json_is_object(whole)) {
        json_object_clear(ticks);
        json_object_update(ticks, whole);
    }
    json_object_foreach(changed, key, at) {
        if (json_is_null(at))
            json_object_del(ticks, key);
        else if (!json_object_get(ticks, key))
            json_object_set(ticks, key, at);
    }
}

static enum status ticks_of(const struct stand *s, const char *piece, json_t *ticks, struct fault *fault) {
    struct entry_row *entry;
    size_t count = 0;
    const struct entry_filter filter = {.job = s->job->id, .kind = "prepared"};
    enum status status = entry_store_list(s->book, filter, s->arena, &entry, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        json_t *document = NULL;
        if (!text_same(entry[i].piece, piece)) continue;
        status = document_read(entry[i].document, &document, fault);
        join_ticks(ticks, document);
        json_decref(document);
    }
    return status;
}

static enum status plans_worked_off(struct stand *s, bool *out, struct fault *fault) {
    struct entry_row *entry;
    size_t count = 0;
    const struct entry_filter filter = {.job = s->job->id, .kind = "plan"};
    enum status status = entry_store_list(s->book, filter, s->arena, &entry, &count, fault);
    *out = true;
    for (size_t i = 0; i < count && status == STATUS_OK && *out; i++) {
        json_t *plan = NULL, *ticks = json_object();
        status = document_read(entry[i].document, &plan, fault);
        if (status == STATUS_OK) status = ticks_of(s, entry[i].piece, ticks, fault);
        *out = status == STATUS_OK && is_worked_off(plan, ticks);
        json_decref(ticks);
        json_decref(plan);
    }
    return status;
}

/* A plan is not yet work. It is done when all of it was ticked, or when somebody logged what was done (a
 * note, a photograph, amounts); later steps make it so anyway. */
static enum status read_prepared(struct stand *s, struct fault *fault) {
    bool ticked = false;
    enum job_step last = JOB_LOOK;
    for (size_t i = 0; i < s->marks; i++) {
        const struct entry_mark *m = &s->mark[i];
        if (m->step > last) last = m->step;
        if (m->step != JOB_PREPARE) continue;
        if (strcmp(m->kind, "plan") == 0)
            s->planned = true;
        else if (strcmp(m->kind, "prepared") == 0)
            ticked = true;
        else
            s->prepared = true;
    }
    if (s->prepared || (!s->planned && !ticked)) return STATUS_OK;
    if (last > JOB_PREPARE || !s->planned) return s->prepared = true, STATUS_OK;
    return plans_worked_off(s, &s->prepared, fault);
}

/* ---- the rest of what is known ---- */

static enum status read_quoted(struct stand *s, struct fault *fault) {
    struct quote_row *quote;
    size_t count = 0;
    const enum status status = quote_store_list(s->book, s->job->id, s->arena, &quote, &count, fault);
    s->quoted = count > 0; /* a quote that was given is a quote, logged or not */
    return status;
}

static bool has_mark(const struct stand *s, enum job_step step, const char *kind) {
    for (size_t i = 0; i < s->marks; i++)
        if (s->mark[i].step == step && (!kind || strcmp(s->mark[i].kind, kind) == 0)) return true;
    return false;
}

static enum status read_checked(struct stand *s, struct fault *fault) {
    static const char *const none[] = {NULL};
    struct job_checks checks = {0};
    if (!has_mark(s, JOB_CHECK, "inspection")) return STATUS_OK;
    const enum status status = job_checks_read(s->book, s->job, none, s->arena, &checks, fault);
    s->failed = status == STATUS_OK && checks.inspection && !job_checks_passed(&checks);
    s->failed_colour = checks.colour;
    job_checks_free(&checks);
    return status;
}

static enum status read_stand(struct book *book, const struct job_row *job, struct arena *arena,
                              struct stand *out, struct fault *fault) {
    *out = (struct stand){.book = book, .job = job, .arena = arena};
    enum status status = entry_store_marks(book, job->id, arena, &out->mark, &out->marks, fault);
    if (status == STATUS_OK) status = read_quoted(out, fault);
    if (status == STATUS_OK) status = read_prepared(out, fault);
    return status == STATUS_OK ? read_checked(out, fault) : status;
}

/* ---- one scope ---- */

/* Handed over is what has a record; a comparison is a look, not a final check. */
static bool counts(const struct entry_mark *m) {
    if (m->step == JOB_HANDOVER) return strcmp(m->kind, "handover") == 0;
    if (m->step == JOB_CHECK) return strcmp(m->kind, "comparison") != 0;
    return m->step != JOB_PREPARE;
}

static void done_in(const struct stand *s, const char *colour, bool done[JOB_STEPS]) {
    memset(done, 0, JOB_STEPS * sizeof *done);
    done[JOB_QUOTE] = s->quoted;
    done[JOB_LOOK] = s->planned; /* a plan is what was looked at */
    done[JOB_PREPARE] = s->prepared;
    for (size_t i = 0; i < s->marks; i++) {
        const struct entry_mark *m = &s->mark[i];
        const bool here = !colour || !m->colour || strcmp(m->colour, colour) == 0;
        if (here && counts(m)) done[m->step] = true;
    }
}

static int step_after(const struct stand *s, const char *colour, const bool done[JOB_STEPS], int *last) {
    const bool failed = s->failed && (!colour || !s->failed_colour || strcmp(s->failed_colour, colour) == 0);
    *last = -1;
    for (int step = 0; step < JOB_STEPS; step++)
        if (done[step]) *last = step;
    if (failed && *last == JOB_CHECK) return JOB_CHECK;
    if (s->planned && !s->prepared && *last < JOB_PREPARE) return JOB_PREPARE;
    return *last + 1;
}

static void tell(const struct stand *s, const char *colour, struct job_next *out) {
    bool done[JOB_STEPS];
    int last;
    done_in(s, colour, done);
    const int next = step_after(s, colour, done, &last);
    const bool open = strcmp(s->job->state, "ended") != 0 && strcmp(s->job->state, "declined") != 0;
    *out = (struct job_next){.next = open && next < JOB_STEPS ? job_step_name((enum job_step)next) : NULL,
                             .last_done = last >= 0 ? job_step_name((enum job_step)last) : NULL};
    for (int step = 0; step < last; step++)
        if (!done[step]) out->skipped[out->skipped_count++] = job_step_name((enum job_step)step);
}

/* The colour that is least far among those that were begun; NULL: none was. */
static const char *least_begun(const struct stand *s) {
    const char *least = NULL;
    int least_step = JOB_STEPS + 1;
    for (size_t i = 0; i < s->marks; i++) {
        bool done[JOB_STEPS];
        int last;
        if (!s->mark[i].colour) continue;
        done_in(s, s->mark[i].colour, done);
        const int next = step_after(s, s->mark[i].colour, done, &last);
        if (next < least_step) least_step = next, least = s->mark[i].colour;
    }
    return least;
}

enum status job_next_read(struct book *book, const struct job_row *job, const char *colour,
                          struct arena *arena, struct job_next *out, struct fault *fault) {
    struct stand s;
    const enum status status = read_stand(book, job, arena, &s, fault);
    if (status == STATUS_OK) tell(&s, colour ? colour : least_begun(&s), out);
    return status;
}

/* ---- what is not passed over in silence ---- */

static struct fault *owe(struct job_owed *out) {
    return &out->say[out->count < JOB_OWED_MOST ? out->count++ : JOB_OWED_MOST - 1];
}

static const char *name_of_piece(const struct piece_row *piece, size_t count, const char *id) {
    for (size_t i = 0; i < count && id; i++)
        if (strcmp(piece[i].id, id) == 0) return piece[i].name;
    return NULL;
}

/* Of each piece, and of the job, the newest plan speaks. */
static bool is_newest(const struct entry_row *plan, size_t count, size_t at) {
    for (size_t k = at + 1; k < count; k++)
        if (text_same(plan[k].piece, plan[at].piece)) return false;
    return true;
}

static enum status owe_answer(const struct entry_row *entry, const char *name, struct job_owed *out,
                              struct fault *fault) {
    json_t *plan = NULL;
    const enum status status = document_read(entry->document, &plan, fault);
    const char *answer = json_string_value(json_object_get(json_object_get(plan, "gate"), "answer")),
               *place = json_string_value(json_object_get(plan, "place"));
    const char *of = name ? name : place ? place : "piece";
    if (answer && strcmp(answer, "ask") == 0) FAULT(owe(out), NEXT_GATE_ASK, of);
    if (answer && strcmp(answer, "stop") == 0) FAULT(owe(out), NEXT_GATE_STOP, of);
    json_decref(plan);
    return status;
}

/* A private boat has neither airbags nor a fire test to pass: what one plan says of the craft holds for all
 * pieces. */
static bool is_harmless(const struct entry_row *entry) {
    json_t *plan = NULL;
    enum craft craft;
    const enum status status = document_read(entry->document, &plan, NULL);
    const char *symbol = json_string_value(json_object_get(plan, "craft"));
    const bool harmless = status == STATUS_OK && symbol && craft_read(symbol, &craft, NULL) == STATUS_OK &&
                          (craft_traits(craft) & (TRAIT_AIRBAGS | TRAIT_FIRE_RATED | TRAIT_DECLINED)) == 0;
    json_decref(plan);
    return harmless;
}

/* A plan that names no piece may be of any. */
static void owe_pieces(const struct piece_row *piece, size_t pieces, const struct entry_row *plan,
                       size_t plans, struct job_owed *out) {
    struct text names = {0};
    for (size_t k = 0; k < plans; k++)
        if (is_harmless(&plan[k])) return;
    for (size_t i = 0; i < pieces; i++) {
        bool planned = false;
        for (size_t k = 0; k < plans; k++)
            planned = planned || !plan[k].piece || strcmp(plan[k].piece, piece[i].id) == 0;
        if (!planned) text_format(&names, "%s%s", names.length ? ", " : "", piece[i].name);
    }
    if (names.length || (!pieces && !plans))
        FAULT(owe(out), NEXT_GATE_NEVER, names.length ? names.data : "the work");
    text_free(&names);
}

static enum status owe_gates(const struct stand *s, bool begun, struct job_owed *out, struct fault *fault) {
    struct piece_row *piece;
    struct entry_row *plan;
    size_t pieces = 0, plans = 0;
    const struct entry_filter filter = {.job = s->job->id, .kind = "plan"};
    enum status status = piece_store_list(s->book, s->job->id, s->arena, &piece, &pieces, fault);
    if (status == STATUS_OK) status = entry_store_list(s->book, filter, s->arena, &plan, &plans, fault);
    for (size_t i = 0; i < plans && status == STATUS_OK; i++)
        if (is_newest(plan, plans, i))
            status = owe_answer(&plan[i], name_of_piece(piece, pieces, plan[i].piece), out, fault);
    if (status == STATUS_OK && begun) owe_pieces(piece, pieces, plan, plans, out);
    return status;
}

static const char *colour_name(const struct stand *s, const char *id) {
    struct colour_row *colour;
    size_t count;
    if (!id || colour_store_list(s->book, s->job->id, s->arena, &colour, &count, NULL) != STATUS_OK)
        return NULL;
    for (size_t i = 0; i < count; i++)
        if (strcmp(colour[i].id, id) == 0) return colour[i].name;
    return NULL;
}

enum status job_owed_read(struct book *book, const struct job_row *job, struct arena *arena,
                          struct job_owed *out, struct fault *fault) {
    struct stand s;
    struct job_next whole;
    *out = (struct job_owed){0};
    enum status status = read_stand(book, job, arena, &s, fault);
    if (status != STATUS_OK) return status;
    tell(&s, least_begun(&s), &whole);
    if (!whole.next) return STATUS_OK; /* what was handed over says so itself */
    bool done[JOB_STEPS], begun = s.prepared;
    done_in(&s, NULL, done);
    for (int step = JOB_PREPARE + 1; step < JOB_STEPS; step++) begun = begun || done[step];
    status = owe_gates(&s, begun, out, fault);
    const char *colour = colour_name(&s, s.failed_colour);
    if (s.failed) FAULT(owe(out), NEXT_CHECK_AGAIN, colour ? colour : "it");
    if (!has_mark(&s, JOB_CHECK, "inspection") && !has_mark(&s, JOB_CHECK, "eye-check") &&
        strcmp(whole.next, job_step_name(JOB_HANDOVER)) == 0)
        FAULT0(owe(out), NEXT_NO_CHECK);
    return status;
}
