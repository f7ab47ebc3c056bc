/* russet handover: the record of a job as a paper and as a sealed JSON twin, logged in the job. It is made
 * after a check that passed; with --even-so without one, and says so. */
#include "base/text.h"
#include "flow/bill_put.h"
#include "flow/handover_paper.h"
#include "flow/note.h"
#include "flow/pot_json.h"
#include "formats/json_out.h"
#include "shop/document.h"
#include "shop/entry_store.h"
#include "shop/job_checks.h"
#include "shop/pot_store.h"
#include "shop/toner_store.h"
#include "trade/labour.h"
#include "trade/plan.h"
#include <math.h>
#include <string.h>

extern operation_flow handover_flow;

struct record {
    struct job_desk desk;
    struct pricing pricing;
    struct arena *arena;
    size_t plan_count;
    json_t **plan;
    const char **piece; /* of each plan, by its name on the bench; NULL where none was said */
    const char **piece_id;
    struct job_checks checks;
    struct handover_pictures pictures; /* of the paper */
    struct entry_row *entry;           /* the whole log */
    size_t entry_count;
};

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static const char *text_of(const json_t *object, const char *key) {
    const char *text = json_string_value(json_object_get(object, key));
    return text ? text : "";
}

static enum status name_piece(struct record *r, const char *id, const char **out, struct fault *fault) {
    struct piece_row piece;
    *out = NULL;
    if (!id) return STATUS_OK;
    const enum status status = piece_store_find(r->desk.book, r->desk.job.id, id, r->arena, &piece, fault);
    if (status == STATUS_OK) *out = piece.name;
    return status;
}

static enum status read_plans(struct record *r, struct fault *fault) {
    struct entry_row *rows;
    size_t count;
    enum status status =
        entry_store_list(r->desk.book, (struct entry_filter){.job = r->desk.job.id, .kind = "plan"}, r->arena,
                         &rows, &count, fault);
    if (status == STATUS_OK && !count)
        status = FAULT(fault, HANDOVER_NO_PLAN, COUNT_TEXT(r->desk.job.number));
    if (status != STATUS_OK) return status;
    r->plan = arena_need(r->arena, count, sizeof *r->plan);
    r->piece = arena_need(r->arena, count, sizeof *r->piece);
    r->piece_id = arena_need(r->arena, count, sizeof *r->piece_id);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        status = document_read(rows[i].document, &r->plan[i], fault);
        r->piece_id[i] = rows[i].piece;
        if (status == STATUS_OK) r->plan_count++;
        if (status == STATUS_OK) status = name_piece(r, rows[i].piece, &r->piece[i], fault);
    }
    return status;
}

static bool is_coated(const struct record *r) {
    for (size_t i = 0; i < r->plan_count; i++)
        if (json_is_true(json_object_get(r->plan[i], "coated"))) return true;
    return false;
}

/* Pieces that were planned and are not coated by any of their plans: no check is missed on them. */
static const char *const *left_alone(const struct record *r) {
    const char **list = arena_need(r->arena, r->plan_count + 1, sizeof *list);
    size_t count = 0;
    for (size_t i = 0; i < r->plan_count; i++) {
        bool coated = !r->piece_id[i];
        for (size_t k = 0; k < r->plan_count && !coated; k++)
            coated = r->piece_id[k] && strcmp(r->piece_id[k], r->piece_id[i]) == 0 &&
                     json_is_true(json_object_get(r->plan[k], "coated"));
        if (!coated) list[count++] = r->piece_id[i];
    }
    return list;
}

static const char *missed_text(const struct record *r) {
    struct text text = {0};
    for (size_t i = 0; i < json_array_size(r->checks.missed); i++)
        text_format(&text, "%s%s", i ? ", " : "", json_string_value(json_array_get(r->checks.missed, i)));
    const char *copy = arena_text(r->arena, text.data ? text.data : "", text.length);
    text_free(&text);
    return copy;
}

/* Which check it is, and with which words the one that takes its place has to name the same. */
static enum status say_not_passed(const struct record *r, struct fault *fault) {
    struct piece_row piece;
    struct colour_row colour;
    struct text same = {0};
    enum status status = STATUS_OK;
    if (r->checks.piece)
        status = piece_store_find(r->desk.book, r->desk.job.id, r->checks.piece, r->arena, &piece, fault);
    if (status == STATUS_OK && r->checks.colour)
        status = colour_store_find(r->desk.book, r->desk.job.id, r->checks.colour, r->arena, &colour, fault);
    if (status != STATUS_OK) return status;
    if (r->checks.piece) text_format(&same, " --piece \"%s\"", piece.name);
    if (r->checks.colour) text_format(&same, " --colour \"%s\"", colour.name);
    status = FAULT(fault, HANDOVER_NOT_PASSED, COUNT_TEXT(r->desk.job.number),
                   text_of(r->checks.inspection, "verdict"), r->checks.entry,
                   text_of(r->checks.inspection, "worst_spot"), same.data ? same.data : "");
    text_free(&same);
    return status;
}

/* A coated job is handed over when all that was coated was checked and passed, or --even-so. */
static enum status read_checks(const struct request *request, struct record *r, struct fault *fault) {
    const enum status status =
        job_checks_read(r->desk.book, &r->desk.job, left_alone(r), r->arena, &r->checks, fault);
    if (status != STATUS_OK || request_flag(request, "--even-so") || !is_coated(r)) return status;
    const char *number = COUNT_TEXT(r->desk.job.number);
    const char *missed = missed_text(r);
    if (!r->checks.inspection && !*missed) missed = word_sentence(WORD_HANDOVER_ALL);
    if (r->checks.inspection && !job_checks_passed(&r->checks)) return say_not_passed(r, fault);
    return *missed ? FAULT(fault, HANDOVER_NO_CHECK, number, missed) : STATUS_OK;
}

/* Appends objects of plan[key] that are not there yet, told apart by `by`. */
static json_t *union_of(const struct record *r, const char *key, const char *by) {
    json_t *list = json_array();
    for (size_t i = 0; i < r->plan_count; i++) {
        const json_t *from = json_object_get(r->plan[i], key);
        for (size_t k = 0; k < json_array_size(from); k++) {
            json_t *object = json_array_get(from, k);
            bool there = false;
            for (size_t n = 0; n < json_array_size(list) && !there; n++)
                there = json_equal(json_object_get(json_array_get(list, n), by), json_object_get(object, by));
            if (!there) json_array_append(list, object);
        }
    }
    return list;
}

static json_t *pieces_of(const struct record *r) {
    static const char *const keys[] = {"craft", "place", "airbag", "material", "material_name", "damage"};
    json_t *pieces = json_array();
    for (size_t i = 0; i < r->plan_count; i++) {
        json_t *piece = json_object();
        json_put_text(piece, "piece",
                      r->piece[i]); /* a key whose words an erasure looks at, as "label" below */
        for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
            if (json_object_get(r->plan[i], keys[k]))
                json_put(piece, keys[k], json_incref(json_object_get(r->plan[i], keys[k])));
        json_array_append_new(pieces, piece);
    }
    return pieces;
}

static double cure_days_of(const struct record *r) {
    double days = 0;
    for (size_t i = 0; i < r->plan_count; i++) days = fmax(days, number(r->plan[i], "cure_days"));
    return days;
}

/* A child seat stands on the seat of a vehicle, not on an armchair. Plans that do not say where count as
 * such. */
static bool may_hold_child_seat(const struct record *r) {
    bool may = r->plan_count == 0;
    for (size_t i = 0; i < r->plan_count; i++) {
        const char *craft = json_string_value(json_object_get(r->plan[i], "craft")),
                   *place = json_string_value(json_object_get(r->plan[i], "place"));
        enum craft in;
        enum place_of_work at;
        if (!craft || !place || craft_read(craft, &in, NULL) != STATUS_OK ||
            place_of_work_read(place, &at, NULL) != STATUS_OK)
            may = true;
        else
            may = may || plan_is_seat_of_vehicle(in, at);
    }
    return may;
}

static void put_cure(const struct record *r, json_t *reply) {
    const double days = cure_days_of(r);
    const char *day = days > 0 ? bill_day(r->desk.book, (int)ceil(days), r->arena) : NULL;
    struct fault line;
    json_put_number(reply, "cure_days", days, 2);
    json_put_text(reply, "cured_day", day);
    if (!day) return json_put_null(reply, "cure");
    fault_set(&line, may_hold_child_seat(r) ? WORD_CURE_UNTIL : WORD_CURE_UNTIL_ROOM,
              (const char *const[]){NUMBER_TEXT(days), day, NULL});
    json_put_text(reply, "cure", line.text);
}

static json_t *pour_object(struct record *r, const struct pour_row *pour, bool added) {
    struct toner_row toner;
    struct lot_row lot;
    json_t *object = json_object();
    const bool known = toner_store_get(r->desk.book, pour->toner, r->arena, &toner, NULL) == STATUS_OK;
    json_put_text(object, "toner", pour->toner);
    json_put_text(object, "name", known ? toner.name : pour->toner);
    json_put_text(object, "lot",
                  pour->lot &&
                          toner_store_find_lot(r->desk.book, pour->lot, r->arena, &lot, NULL) == STATUS_OK
                      ? lot.name
                      : NULL);
    json_put_number(object, "g", (double)pour->mg / 1000, 3);
    if (added) json_put_flag(object, "added", true); /* after the first pour */
    return object;
}

/* Every pot with what was weighed into it and the recipe that it was made by: enough to make it again. */
static enum status put_pots(struct record *r, json_t *reply, struct fault *fault) {
    struct pot_row *pots;
    size_t count;
    enum status status = pot_store_list(r->desk.book, r->desk.job.id, r->arena, &pots, &count, fault);
    json_t *list = json_array();
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct pour_row *pours;
        size_t pour_count;
        if (pots[i].taken_back) continue;
        json_t *pot = json_object(), *poured = json_array(), *recipe = NULL;
        status = pot_store_pours(r->desk.book, pots[i].id, r->arena, &pours, &pour_count, fault);
        const size_t first = status == STATUS_OK ? pot_first_pours(&pots[i], pours, pour_count) : 0;
        for (size_t k = 0; k < pour_count && status == STATUS_OK; k++)
            json_array_append_new(poured, pour_object(r, &pours[k], k >= first));
        if (status == STATUS_OK) status = document_read(pots[i].document, &recipe, fault);
        json_put_text(pot, "label", pot_label(&pots[i], r->arena));
        json_put_flag(pot, "crosslinked", pots[i].crosslinked);
        json_put(pot, "poured", poured);
        json_put(pot, "recipe", recipe ? recipe : json_null());
        json_array_append_new(list, pot);
    }
    json_put(reply, "pots", list);
    return status;
}

/* The newest document of a kind, down to the figures that make the same coats again. */
static enum status put_laid(struct record *r, const char *kind, const char *key, const char *const keep[],
                            json_t *reply, struct fault *fault) {
    struct entry_row row;
    bool found;
    json_t *document = NULL;
    const struct entry_filter filter = {.job = r->desk.job.id, .kind = kind};
    enum status status = entry_store_last(r->desk.book, filter, r->arena, &row, &found, fault);
    if (status == STATUS_OK && found) status = document_read(row.document, &document, fault);
    if (status == STATUS_OK && json_is_number(json_object_get(document, keep[0]))) {
        json_t *object = json_object();
        for (size_t i = 0; keep[i]; i++) {
            json_t *value = json_object_get(document, keep[i]);
            if (value) json_put(object, keep[i], json_incref(value));
        }
        json_put(reply, key, object);
    }
    json_decref(document);
    return status;
}

static enum status put_coating(struct record *r, json_t *reply, struct fault *fault) {
    static const char *const coats[] = {"coats", "film_um", "wet_um", "by", NULL},
                             *const clear[] = {"matte_fraction", "matte_ml", "gloss_ml", "target_gu",
                                               "expected_gu",    "angle",    NULL};
    const enum status status = put_laid(r, "coats", "coats", coats, reply, fault);
    return status == STATUS_OK ? put_laid(r, "sheen", "clear", clear, reply, fault) : status;
}

static void put_photographs(struct record *r, json_t *reply) {
    json_t *all = json_object(), *before = json_array(), *after = json_array();
    for (size_t i = 0; i < r->entry_count; i++)
        for (size_t k = 0; k < r->entry[i].photograph_count; k++) {
            const enum job_step step = r->entry[i].step;
            const bool first = step <= JOB_PREPARE, last = step == JOB_CHECK || step == JOB_HANDOVER;
            if (first || last)
                json_array_append_new(first ? before : after, json_string(r->entry[i].photograph[k]));
        }
    json_put(all, "before", before);
    json_put(all, "after", after);
    json_put(reply, "photographs", all);
}

/* The light as the record calls it; the eye's check knows three. */
static const char *eye_light(const char *key) {
    return word_sentence(strcmp(key, "day") == 0    ? WORD_RECORD_IN_D65
                         : strcmp(key, "lamp") == 0 ? WORD_RECORD_IN_A
                                                    : WORD_RECORD_IN_FL11);
}

/* Under which lights somebody looked for the repair and found it, or not: the newest look of all pieces. */
static void add_eye(const struct record *r, struct text *proof) {
    struct text hidden = {0}, seen = {0};
    json_t *document = NULL;
    const char *key;
    json_t *value;
    struct fault line;
    for (size_t i = r->entry_count; i-- > 0 && !document;)
        if (strcmp(r->entry[i].kind, "eye-check") == 0 &&
            document_read(r->entry[i].document, &document, NULL) != STATUS_OK)
            document = NULL;
    json_object_foreach(json_object_get(document, "lights"), key, value) {
        const char *found = json_string_value(value);
        struct text *list = found && strcmp(found, "seen") == 0 ? &seen : &hidden;
        text_format(list, "%s%s", list->length ? ", " : "", eye_light(key));
    }
    if (hidden.length) FAULT(&line, RECORD_EYE_HIDDEN, hidden.data), text_format(proof, " %s", line.text);
    if (seen.length) FAULT(&line, RECORD_EYE_SEEN, seen.data), text_format(proof, " %s", line.text);
    text_free(&hidden);
    text_free(&seen);
    json_decref(document);
}

static void put_check(const struct record *r, json_t *reply) {
    const json_t *inspection = r->checks.inspection;
    const char *verdict = text_of(inspection, "verdict");
    struct text proof = {0};
    const enum word word = !inspection                    ? WORD_RECORD_NO_CHECK
                           : strcmp(verdict, "pass") == 0 ? WORD_RECORD_CHECK_PASSED
                           : strcmp(verdict, "fail") == 0 ? WORD_RECORD_CHECK_FAILED
                                                          : WORD_RECORD_CHECK_UNSURE;
    const bool asked = inspection || is_coated(r);
    if (asked) text_add(&proof, word_sentence(word));
    if (asked && inspection && json_array_size(r->checks.missed)) {
        struct fault missed;
        FAULT(&missed, RECORD_CHECK_MISSED, missed_text(r));
        text_format(&proof, " %s", missed.text);
    }
    if (asked) add_eye(r, &proof);
    json_put(reply, "inspection", inspection ? json_incref(r->checks.inspection) : json_null());
    json_put(reply, "unchecked", asked ? json_incref(r->checks.missed) : json_array());
    json_put_text(reply, "proof", proof.data ? proof.data : "");
    text_free(&proof);
}

/* ---- what was done, as the log has it ---- */

static const struct {
    enum task task;
    enum job_step step;
} logged_in[] = {{TASK_LOOK, JOB_LOOK},         {TASK_READ, JOB_COLOUR}, {TASK_MIX, JOB_POUR},
                 {TASK_CORRECT, JOB_DABS},      {TASK_COAT, JOB_COATS},  {TASK_HOLES, JOB_COATS},
                 {TASK_GRAIN, JOB_GRAIN},       {TASK_SHEEN, JOB_SHEEN}, {TASK_CHECK, JOB_CHECK},
                 {TASK_HAND_OVER, JOB_HANDOVER}};

static enum job_step step_of(const char *task) {
    for (size_t i = 0; i < sizeof logged_in / sizeof *logged_in; i++)
        if (strcmp(task_symbol(logged_in[i].task), task) == 0) return logged_in[i].step;
    return JOB_PREPARE;
}

/* The last word of the log on that step of that piece. */
static bool is_ticked(const struct record *r, const char *piece, const char *id) {
    bool ticked = false;
    for (size_t i = 0; i < r->entry_count; i++) {
        json_t *document = NULL;
        if (strcmp(r->entry[i].kind, "prepared") != 0 || !text_same(r->entry[i].piece, piece) ||
            document_read(r->entry[i].document, &document, NULL) != STATUS_OK)
            continue;
        const json_t *done = json_object_get(document, "done"),
                     *tick = json_object_get(json_object_get(document, "ticked"), id);
        if (done) ticked = json_object_get(done, id) != NULL;
        if (tick) ticked = !json_is_null(tick);
        json_decref(document);
    }
    return ticked;
}

/* Of a piece that was ticked step by step on the page: every step of the task was. */
static bool all_ticked(const struct record *r, const char *task) {
    bool any = false;
    for (size_t i = 0; i < r->plan_count; i++) {
        const json_t *steps = json_object_get(r->plan[i], "steps");
        for (size_t k = 0; k < json_array_size(steps); k++) {
            const json_t *step = json_array_get(steps, k);
            if (strcmp(text_of(step, "task"), task) != 0) continue;
            if (!is_ticked(r, r->piece_id[i], text_of(step, "id"))) return false;
            any = true;
        }
    }
    return any;
}

static bool tells_of_work(const char *kind) {
    static const char *const others[] = {"plan", "units", "quote", "amount", "air", "taken-back", "prepared"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(others[i], kind) == 0) return false;
    return true;
}

/* Something was logged in the step that the task belongs to: a note, a photograph, what a verb wrote; of
 * preparing also ticks. Looking and handing over are not asked for. */
static bool is_logged(const struct record *r, const char *task) {
    const enum job_step step = step_of(task);
    if (step == JOB_LOOK || step == JOB_HANDOVER) return true;
    if (step == JOB_CHECK && r->checks.inspection) return true;
    if (step == JOB_PREPARE && all_ticked(r, task)) return true;
    for (size_t i = 0; i < r->entry_count; i++)
        if (r->entry[i].step == step && tells_of_work(r->entry[i].kind)) return true;
    return false;
}

static void split_tasks(const struct record *r, json_t *reply) {
    json_t *tasks = union_of(r, "tasks", "task"), *done = json_array(), *open = json_array();
    for (size_t i = 0; i < json_array_size(tasks); i++) {
        json_t *task = json_array_get(tasks, i);
        json_array_append(is_logged(r, text_of(task, "task")) ? done : open, task);
    }
    json_put(reply, "done", done);
    json_put(reply, "not_logged", open);
    json_decref(tasks);
}

/* No guarantee for what nobody says was done. */
static json_t *guarantee_of(const struct record *r) {
    json_t *list = union_of(r, "guarantee", "task");
    for (size_t i = json_array_size(list); i-- > 0;)
        if (!is_logged(r, text_of(json_array_get(list, i), "task"))) json_array_remove(list, i);
    return list;
}

/* ---- */

static void put_words(const struct request *request, const struct record *r, json_t *reply) {
    json_t *remarks = json_array();
    for (size_t i = 0; i < request_count(request, "--remark"); i++)
        json_array_append_new(remarks, json_string(request_text_at(request, "--remark", i)));
    split_tasks(r, reply);
    json_put(reply, "expect", union_of(r, "expect", "id"));
    json_put(reply, "care", union_of(r, "care", "id"));
    json_put(reply, "mind", union_of(r, "mind", "id"));
    json_put(reply, "guarantee", guarantee_of(r));
    json_put(reply, "remarks", remarks);
}

static enum status put_all(const struct request *request, struct record *r, json_t *reply,
                           struct fault *fault) {
    json_put(reply, "job", bill_job(&r->desk.job));
    json_put(reply, "customer", bill_customer(&r->desk));
    json_put(reply, "shop", pricing_shop(&r->pricing));
    json_put_text(reply, "paper", r->pricing.letter ? "Letter" : "A4");
    json_put_text(reply, "day", bill_day(r->desk.book, 0, r->arena));
    put_cure(r, reply);
    json_put(reply, "pieces", pieces_of(r));
    put_check(r, reply);
    put_words(request, r, reply);
    put_photographs(r, reply);
    const enum status status = put_coating(r, reply, fault);
    return status == STATUS_OK ? put_pots(r, reply, fault) : status;
}

static bool is_paper(const struct surroundings *around) {
    return text_ends_ignoring_case(around->out, ".pdf");
}

/* Before it is sealed: what the paper cannot show is said in both. */
static enum status put_pictures(const struct surroundings *around, struct record *r, json_t *reply,
                                struct fault *fault) {
    const enum status status = handover_pictures(around, r->desk.book, reply, &r->pictures, fault);
    const size_t count = json_array_size(r->pictures.not_shown);
    if (status != STATUS_OK || !count) return status;
    json_put(reply, "not_shown", json_incref(r->pictures.not_shown));
    NOTE(reply, HANDOVER_NOT_SHOWN, COUNT_TEXT((long long)count));
    return status;
}

static void say_not_logged(const struct record *r, json_t *reply) {
    const json_t *list = json_object_get(reply, "not_logged");
    struct text names = {0}, steps = {0};
    bool told[JOB_STEPS] = {false};
    enum { NAMED = 8 }; /* a sentence that has room for all of them is none */
    for (size_t i = 0; i < json_array_size(list); i++) {
        const enum job_step step = step_of(text_of(json_array_get(list, i), "task"));
        if (i < NAMED) text_format(&names, "%s%s", i ? "; " : "", text_of(json_array_get(list, i), "name"));
        if (!told[step]) text_format(&steps, "%s%s", steps.length ? "|" : "", job_step_name(step));
        told[step] = true;
    }
    const size_t more = json_array_size(list) > NAMED ? json_array_size(list) - NAMED : 0;
    struct fault all = {0};
    if (more) FAULT(&all, HANDOVER_AND_MORE, names.data, COUNT_TEXT((long long)more));
    if (names.length)
        NOTE(reply, HANDOVER_NOT_LOGGED, more ? all.text : names.data, COUNT_TEXT(r->desk.job.number),
             steps.data);
    text_free(&names);
    text_free(&steps);
}

static enum status make(const struct surroundings *around, const struct request *request, struct record *r,
                        json_t **reply, struct fault *fault) {
    enum status status = pricing_read(r->desk.book, r->arena, &r->pricing, fault);
    if (status == STATUS_OK) status = read_plans(r, fault);
    if (status == STATUS_OK) status = read_checks(request, r, fault);
    if (status == STATUS_OK)
        status = entry_store_list(r->desk.book, (struct entry_filter){.job = r->desk.job.id}, r->arena,
                                  &r->entry, &r->entry_count, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("handover");
    status = put_all(request, r, *reply, fault);
    if (status == STATUS_OK && is_paper(around)) status = put_pictures(around, r, *reply, fault);
    if (status != STATUS_OK) return status;
    say_not_logged(r, *reply);
    document_seal(*reply);
    struct entry_row entry = {.job = r->desk.job.id,
                              .step = JOB_HANDOVER,
                              .kind = "handover",
                              .words = "",
                              .document = document_text(*reply, r->arena)};
    return entry_store_add(r->desk.book, &entry, fault);
}

static enum status show(const struct surroundings *around, struct record *r, json_t **reply,
                        struct fault *fault) {
    struct entry_row row;
    bool found;
    enum status status =
        entry_store_last(r->desk.book, (struct entry_filter){.job = r->desk.job.id, .kind = "handover"},
                         r->arena, &row, &found, fault);
    if (status != STATUS_OK) return status;
    if (!found) return FAULT(fault, HANDOVER_NONE, COUNT_TEXT(r->desk.job.number));
    status = document_read(row.document, reply, fault);
    return status == STATUS_OK && is_paper(around)
               ? handover_pictures(around, r->desk.book, *reply, &r->pictures, fault)
               : status;
}

/* record.pdf is the paper, record.json the sealed twin. */
static enum status write_out(const struct surroundings *around, struct record *r, const json_t *reply,
                             struct fault *fault) {
    struct text out = {0};
    enum status status = is_paper(around) ? handover_paper(around, &r->pictures, reply, &out, fault)
                                          : json_finish(reply, &out, fault);
    if (status == STATUS_OK) status = disk_write(around->disk, around->out, out.data, out.length, fault);
    text_free(&out);
    return status;
}

enum status handover_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                          struct fault *fault) {
    struct record *r = arena_need(around->arena, 1, sizeof *r);
    json_t *object = NULL;
    r->arena = around->arena;
    if (!text_ends_ignoring_case(around->out, ".pdf") && !text_ends_ignoring_case(around->out, ".json"))
        return FAULT(fault, OUT_KIND_UNKNOWN, around->out, "handover", ".json .pdf");
    enum status status = job_desk_open(around, request, &r->desk, fault);
    if (status != STATUS_OK) return status;
    status = request_flag(request, "--show") ? show(around, r, &object, fault)
                                             : make(around, request, r, &object, fault);
    if (status == STATUS_OK) status = write_out(around, r, object, fault);
    for (size_t i = 0; i < r->plan_count; i++) json_decref(r->plan[i]);
    job_checks_free(&r->checks);
    json_decref(r->pictures.not_shown);
    status = job_desk_close(&r->desk, status, fault);
    if (status == STATUS_OK)
        *reply = object;
    else
        json_decref(object);
    return status;
}
