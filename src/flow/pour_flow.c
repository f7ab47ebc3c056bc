/* russet pour: recipe + batch + what is in the cup -> what to pour next, windows, and the rescue of an
 * over-pour. */
#include "colour/difference.h"
#include "flow/pour_lots.h"
#include "flow/pour_reply.h"
#include "flow/recipe_brief.h"
#include "flow/weigh_pour.h"
#include "formats/bench_json.h"
#include "formats/json_out.h"
#include "paint/rescue.h"
#include "trade/cautions.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { BATCH_STEPS_PER_TONER = 10 };

static enum status read_recipe(const struct surroundings *around, const struct request *request,
                               struct bench_recipe *out, struct fault *fault) {
    const char *path;
    unsigned long long rank;
    struct bytes bytes;
    enum status status =
        recipe_place_split(request_text(request, "--recipe"), around->arena, &path, &rank, fault);
    if (status == STATUS_OK)
        status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = bench_read(&bytes, rank, around->arena, out, fault);
    const char *name = request_text(request, "--name");
    if (status == STATUS_OK && name) out->name = name;
    return status;
}

static const char *ids_of(const struct shelf *shelf, char *out, size_t n) {
    size_t length = 0;
    for (size_t i = 0; i < shelf->count && length < n; i++)
        length += (size_t)snprintf(out + length, n - length, "%s%s", i ? ", " : "", shelf->toner[i].id);
    return out;
}

/* What --poured says is in, as --pot of adjust wants it: let-downs by what is in them. */
static const char *pot_text(const struct part_text parts[], size_t count, const struct pour_recipe *recipe,
                            char out[300]) {
    const int binder = pour_binder(recipe);
    const char *binder_id = binder < 0 ? "" : recipe->shelf.toner[binder].id;
    double binder_g = 0;
    size_t n = 0;
    out[0] = 0;
    for (size_t i = 0; i < count; i++) {
        const char *colon = strchr(parts[i].id, ':');
        const int length = (int)(colon ? (size_t)(colon - parts[i].id) : strlen(parts[i].id));
        if (colon) binder_g += .9 * parts[i].value;
        if (strcmp(parts[i].id, binder_id) == 0) {
            binder_g += parts[i].value;
            continue;
        }
        if (n < 300)
            n += (size_t)snprintf(out + n, 300 - n, "%s%.*s=%.6g", n ? "," : "", length, parts[i].id,
                                  (colon ? .1 : 1) * parts[i].value);
    }
    if (binder_g > 0 && n < 300) snprintf(out + n, 300 - n, "%s%s=%.6g", n ? "," : "", binder_id, binder_g);
    return out;
}

static enum status read_poured_part(const struct part_text parts[], size_t count, size_t at,
                                    struct pour_task *task, struct fault *fault) {
    const struct part_text *part = &parts[at];
    const struct shelf *shelf = &task->recipe->shelf;
    char id[TONER_ID_MAX], all[RECIPE_TONERS_MOST * (TONER_ID_MAX + 2)];
    const char *colon = strchr(part->id, ':');
    const size_t n = colon ? (size_t)(colon - part->id) : strlen(part->id);
    if (colon && strcmp(colon, ":10") != 0) return FAULT(fault, POUR_LET_DOWN_UNKNOWN, part->id);
    snprintf(id, sizeof id, "%.*s", (int)(n < sizeof id ? n : sizeof id - 1), part->id);
    const int toner = n < sizeof id ? shelf_find(shelf, id) : -1;
    char pot[300];
    if (toner < 0)
        return FAULT(fault, POUR_TONER_UNKNOWN, part->id, ids_of(shelf, all, sizeof all),
                     pot_text(parts, count, task->recipe, pot));
    const int binder = pour_binder(task->recipe);
    if (colon && (binder < 0 || binder == toner)) return FAULT(fault, POUR_LET_DOWN_NO_BINDER, part->id);
    if (colon)
        task->let_down_poured_g[toner] = part->value;
    else
        task->poured_g[toner] = part->value;
    return STATUS_OK;
}

static enum status read_poured(const struct request *request, struct pour_task *task, double *poured_g,
                               struct fault *fault) {
    size_t count;
    const struct part_text *parts = request_parts(request, "--poured", &count);
    *poured_g = 0;
    for (size_t i = 0; i < count; i++) {
        const enum status status = read_poured_part(parts, count, i, task, fault);
        if (status != STATUS_OK) return status;
        *poured_g += parts[i].value;
    }
    return STATUS_OK;
}

/* All of it is in, as the plan says: each step is taken as poured. */
static enum status pour_as_planned(const struct request *request, struct pour_task *task,
                                   const struct pour_plan *plan, struct fault *fault) {
    if (!request_flag(request, "--all-poured")) return STATUS_OK;
    if (request_has(request, "--poured") || request_has(request, "--scale"))
        return FAULT0(fault, POUR_ALL_ALONE);
    for (size_t i = 0; i < plan->count; i++) {
        const struct pour_step *step = &plan->step[i];
        double *in = step->let_down.fraction < 1 ? task->let_down_poured_g : task->poured_g;
        in[step->toner] += step->g;
    }
    return STATUS_OK;
}

enum status pour_check_batch(const struct pour_task *task, struct fault *fault) {
    const double least = BATCH_STEPS_PER_TONER * task->scale.step_g * (double)task->recipe->shelf.count;
    if (task->batch_g < least)
        return FAULT(fault, POUR_BATCH_SMALL, NUMBER_TEXT(task->batch_g), NUMBER_TEXT(task->scale.step_g),
                     COUNT_TEXT((long long)task->recipe->shelf.count), NUMBER_TEXT(least));
    if (task->pot_g < task->batch_g)
        return FAULT(fault, POUR_POT_SMALL, NUMBER_TEXT(task->pot_g), NUMBER_TEXT(task->batch_g));
    return STATUS_OK;
}

static enum status check_pot(const struct pour_task *task, double poured_g, struct fault *fault) {
    if (task->taken_g > 0 && task->taken_g >= poured_g)
        return FAULT(fault, POUR_TAKEN_ALL, NUMBER_TEXT(task->taken_g), NUMBER_TEXT(poured_g));
    if (poured_g - task->taken_g > task->pot_g)
        return FAULT(fault, POUR_POT_FULL, NUMBER_TEXT(poured_g - task->taken_g), NUMBER_TEXT(task->pot_g));
    return STATUS_OK;
}

static enum status read_task(const struct request *request, const struct pour_recipe *recipe,
                             struct pour_task *task, struct fault *fault) {
    *task = (struct pour_task){.recipe = recipe,
                               .scale = {request_number(request, "--scale-step", .01),
                                         request_number(request, "--scale-repeat-g", 0)},
                               .tolerance_de00 = request_number(request, "--tolerance", 1),
                               .taken_g = request_number(request, "--taken-g", 0),
                               .pot_g = request_number(request, "--pot-g", INFINITY),
                               .let_downs = strcmp(request_text(request, "--let-downs"), "auto") == 0};
    task->batch_g = weighing_round(&task->scale, request_number(request, "--batch-g", 0));
    double poured_g;
    enum status status = pour_check_batch(task, fault);
    if (status == STATUS_OK) status = read_poured(request, task, &poured_g, fault);
    if (status == STATUS_OK) status = check_pot(task, poured_g, fault);
    return status;
}

static void note(json_t *reply, const struct fault *fault) {
    json_add_note(reply, fault);
}

/* One sentence for all of them. */
static void note_half_drops(json_t *reply, const struct pour_task *task, const struct pour_plan *plan) {
    char names[400] = "";
    size_t n = 0;
    for (size_t j = 0; j < plan->count && n < sizeof names; j++) {
        const struct pour_step *step = &plan->step[j];
        if (step->first_part || fmin(step->plus_g, step->minus_g) >= WEIGHING_HALF_DROP_G) continue;
        n += (size_t)snprintf(names + n, sizeof names - n, "%s%s", n ? ", " : "",
                              task->recipe->shelf.toner[step->toner].id);
    }
    if (!n) return;
    struct fault f;
    (void)FAULT(&f, POUR_HALF_DROP, names);
    note(reply, &f);
}

void pour_coarse_note(const struct pour_task *task, const struct pour_plan *plan, struct fault *note) {
    const double enough = ceil(task->batch_g * plan->worst_de00 / plan->allowance_de00);
    (void)FAULT(note, POUR_SCALE_COARSE, DE00_TEXT(plan->worst_de00), NUMBER_TEXT(task->scale.step_g),
                NUMBER_TEXT(task->batch_g), NUMBER_TEXT(enough), DE00_TEXT(plan->allowance_de00));
}

static void add_notes(json_t *reply, const struct pour_task *task, const struct pour_plan *plan) {
    struct fault f;
    if (isfinite(plan->recipe_de00) && plan->recipe_de00 > .75 * task->tolerance_de00) {
        (void)FAULT(&f, POUR_RECIPE_OUTSIDE, DE00_TEXT(plan->recipe_de00), NUMBER_TEXT(task->tolerance_de00),
                    DE00_TEXT(plan->allowance_de00));
        note(reply, &f);
    }
    if (plan->scale_too_coarse) {
        pour_coarse_note(task, plan, &f);
        note(reply, &f);
    }
    for (size_t i = 0; i < task->recipe->shelf.count; i++) {
        if (plan->toner_g[i] > 0) continue;
        (void)FAULT(&f, POUR_TOO_THIN, task->recipe->shelf.toner[i].name);
        note(reply, &f);
    }
    note_half_drops(reply, task, plan);
}

static json_t *caution_json(enum word word) {
    char key[80];
    word_key(word, key, sizeof key);
    json_t *c = json_object();
    json_put_text(c, "id", key);
    json_put_text(c, "text", word_sentence(word));
    return c;
}

static enum crosslinker crosslinker_of(const struct request *request) {
    if (!request_has(request, "--crosslinker-percent")) return CROSSLINKER_NONE;
    const char *kind = request_text(request, "--crosslinker");
    return strcmp(kind, "isocyanate") == 0  ? CROSSLINKER_ISOCYANATE
           : strcmp(kind, "aziridine") == 0 ? CROSSLINKER_AZIRIDINE
                                            : CROSSLINKER_UNKNOWN;
}

static json_t *cautions_json(const struct request *request) {
    enum word words[CAUTIONS_MOST];
    const struct pour_work work = {request_has(request, "--thinner-percent"), crosslinker_of(request)};
    const size_t count = cautions_of_pour(&work, words);
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) json_array_append_new(array, caution_json(words[i]));
    return array;
}

static void add_addition(json_t *array, const struct request *request, const char *option, enum word what,
                         double spray_g, int digits) {
    if (!request_has(request, option)) return;
    const double percent = request_number(request, option, 0);
    json_t *a = json_object();
    json_put_text(a, "what", word_sentence(what));
    json_put_number(a, "percent", percent, 3);
    json_put_number(a, "g", spray_g * percent / 100, digits);
    json_array_append_new(array, a);
}

/* By per cent into what is sprayed, never into the whole pot. */
static enum status put_spray(json_t *reply, const struct request *request, const struct pour_task *task,
                             double pot_g, struct fault *fault) {
    const double spray_g = request_number(request, "--spray-g", pot_g);
    const int digits = weighing_decimals(&task->scale);
    if (spray_g > pot_g + 1e-9)
        return FAULT(fault, POUR_SPRAY_MUCH, NUMBER_TEXT(spray_g), NUMBER_TEXT(pot_g));
    json_t *additions = json_array();
    add_addition(additions, request, "--thinner-percent", WORD_POUR_THINNER, spray_g, digits);
    add_addition(additions, request, "--slip-percent", WORD_POUR_SLIP, spray_g, digits);
    add_addition(additions, request, "--crosslinker-percent", WORD_POUR_CROSSLINKER, spray_g, digits);
    json_t *spray = json_object();
    json_put_number(spray, "spray_g", spray_g, digits);
    json_put_number(spray, "keep_g", pot_g - spray_g, digits);
    json_put(spray, "additions", additions);
    json_put(reply, "spray", json_array_size(additions) ? spray : json_null());
    if (!json_array_size(additions)) json_decref(spray);
    return STATUS_OK;
}

static void note_coarse(json_t *reply, const struct pour_task *task, const struct pour_state *state,
                        const struct rescue *whole) {
    const int toner = rescue_too_coarse(task, state, whole);
    struct fault f;
    if (toner < 0) return;
    (void)FAULT(&f, POUR_GRID_COARSE, task->recipe->shelf.toner[toner].name, NUMBER_TEXT(task->scale.step_g),
                DE00_TEXT(whole->de00));
    note(reply, &f);
}

/* Beginning again is held against the rescue that is advised, not against a larger one. */
static void note_start_over(json_t *reply, const struct pour_task *task, const struct pour_state *state,
                            const struct pour_mend *mend) {
    const bool whole = strcmp(mend->advice, "whole") == 0, stays = strcmp(mend->advice, "stay") == 0;
    const double extra_g = whole ? mend->whole.extra_g : mend->least.extra_g;
    const int digits = weighing_decimals(&task->scale);
    struct fault f;
    if (stays || extra_g <= state->reading_g) return;
    (void)FAULT(&f, POUR_START_OVER, GRAMS_TEXT(state->reading_g, digits), GRAMS_TEXT(extra_g, digits));
    note(reply, &f);
}

/* A pot that a rescue has brought back: more than the batch in every sense, and the recipe's colour. */
static bool pot_is_right(const struct pour_task *task, const struct pour_plan *plan,
                         struct pour_state *state) {
    const double whole_g = state->keep * plan->total_g - plan->step[plan->count - 1].minus_g;
    if (!state->any_over || state->reading_g < whole_g - 1e-9) return false;
    const double off = difference_de00(plan->lab, pour_lab(task->recipe, state->in_pot_g));
    if (off > fmax(RESCUE_RESTORED_DE00, .5 * plan->allowance_de00) + 1e-9) return false;
    state->stay_de00 = off;
    state->next = -1;
    for (size_t j = 0; j < plan->count; j++) {
        state->done[j] = true;
        state->left_g[j] = 0;
    }
    return true;
}

static void put_right(json_t *reply, const struct pour_state *state) {
    json_t *stay = json_object();
    json_put_flag(stay, "yes", true);
    json_put_number(stay, "cost_de00", state->stay_de00, DIGITS_LAB);
    json_put_null(stay, "target_de00");
    json_put(reply, "may_stay", stay);
    json_put_null(reply, "rescue");
}

/* Stay, mend a little, mend wholly, as good as the pot allows, or begin again. */
static enum status decide(json_t *reply, const struct pour_task *task, const struct pour_plan *plan,
                          const struct pour_state *state, struct pour_mend *out) {
    struct pour_mend mend = {.whole_fits = true};
    rescue_whole(task, state, &mend.whole);
    mend.whole_fits = mend.whole.fits;
    const double room = fmax(0, fmin(mend.whole.added_g, task->pot_g - state->reading_g));
    const double goal =
        mend.whole_fits ? fmax(RESCUE_RESTORED_DE00, .5 * plan->allowance_de00) : RESCUE_RESTORED_DE00;
    rescue_least(task, state, goal, room, &mend.least);
    mend.advice = state->may_stay                                                       ? "stay"
                  : mend.whole_fits && mend.least.extra_g > .9 * mend.whole.extra_g     ? "whole"
                  : mend.whole_fits                                                     ? "enough"
                  : mend.least.de00 <= fmax(plan->allowance_de00, RESCUE_RESTORED_DE00) ? "partial"
                                                                                        : "begin again";
    pour_put_mend(reply, task, plan, state, &mend);
    note_coarse(reply, task, state, &mend.whole);
    note_start_over(reply, task, state, &mend);
    *out = mend;
    return strcmp(mend.advice, "begin again") == 0 ? STATUS_NO : STATUS_OK;
}

/* A rescue is poured out of the lots too; a pot that stays takes the rest of its plan, and one that is begun
 * again all of it. */
static enum status find_lots_again(const struct surroundings *around, const struct request *request,
                                   const struct pour_task *task, const struct pour_plan *plan,
                                   const struct pour_state *state, const struct pour_mend *mend,
                                   struct pour_lots *lots, struct fault *fault) {
    const bool whole = strcmp(mend->advice, "whole") == 0;
    if (strcmp(mend->advice, "stay") == 0) return STATUS_OK;
    if (strcmp(mend->advice, "begin again") != 0)
        return pour_lots_for_rescue(around, request, task, state,
                                    whole ? mend->whole.add_g : mend->least.add_g, lots, fault);
    struct pour_task empty = *task;
    empty.taken_g = 0;
    memset(empty.poured_g, 0, sizeof empty.poured_g);
    memset(empty.let_down_poured_g, 0, sizeof empty.let_down_poured_g);
    return pour_lots_find(around, request, &empty, plan, lots, fault);
}

static void note_other_scale(json_t *reply, double step_g, double planned_g) {
    struct fault f;
    (void)FAULT(&f, WEIGH_COARSE, NUMBER_TEXT(step_g), NUMBER_TEXT(planned_g));
    note(reply, &f);
}

enum status pour_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                      struct fault *fault) {
    struct bench_recipe recipe;
    struct pour_task task;
    struct pour_plan plan;
    struct pour_state state;
    struct pour_lots lots;
    enum status weighed = STATUS_OK, status = read_recipe(around, request, &recipe, fault);
    if (status == STATUS_OK) status = read_task(request, &recipe.pour, &task, fault);
    if (status == STATUS_OK) status = weigh_check(request, fault);
    if (status != STATUS_OK) return status;
    pour_plan_make(&task, &plan);
    status = pour_as_planned(request, &task, &plan, fault);
    if (status != STATUS_OK) return status;
    const double planned_g = task.scale.step_g;
    status = pour_lots_find(around, request, &task, &plan, &lots, fault);
    if (status != STATUS_OK) return status;
    if (request_has(request, "--scale")) weighed = weigh_pour(around, request, &lots, &task, &plan, fault);
    if (weighed != STATUS_OK && weighed != STATUS_NO) return weighed;
    pour_look(&task, &plan, &state);
    const bool right = pot_is_right(&task, &plan, &state);
    json_t *made = json_start("pour");
    pour_put_plan(made, &recipe, &task, &plan);
    pour_put_state(made, &task, &plan, &state);
    status = put_spray(made, request, &task, right ? state.reading_g : task.batch_g, fault);
    enum status answer = STATUS_OK;
    if (right) {
        put_right(made, &state);
    } else if (state.any_over && status == STATUS_OK) {
        struct pour_mend mend;
        answer = decide(made, &task, &plan, &state, &mend);
        status = find_lots_again(around, request, &task, &plan, &state, &mend, &lots, fault);
    } else {
        json_put_null(made, "may_stay");
        json_put_null(made, "rescue");
    }
    if (status != STATUS_OK) {
        json_decref(made);
        return status;
    }
    json_put(made, "cautions", cautions_json(request));
    pour_put_colours(made, &recipe, &plan);
    json_put(made, "recipe", bench_compact(&recipe));
    if (task.scale.step_g > planned_g) note_other_scale(made, task.scale.step_g, planned_g);
    add_notes(made, &task, &plan);
    pour_lots_put(&lots, around->arena, made);
    *reply = made;
    return answer == STATUS_OK ? weighed : answer;
}
