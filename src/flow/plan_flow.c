/* russet plan: what trade/plan.h says about a piece, as JSON that a job logs and quote and record are made
 * of. */
#include "flow/note.h"
#include "flow/operation.h"
#include "flow/read_json.h"
#include "flow/say.h"
#include "flow/shop_tasks.h"
#include "formats/json_out.h"
#include "trade/air.h"
#include "trade/quote.h"
#include "trade/record.h"
#include <math.h>
#include <string.h>

extern operation_flow plan_flow;

struct plan_request {
    struct plan_case asked;
    struct work_size size;
    struct plastic plastic;
    struct plan plan;
    struct shop_tasks tasks;
};

static enum told told_of(const char *text) {
    return strcmp(text, "yes") == 0 ? TOLD_YES : strcmp(text, "no") == 0 ? TOLD_NO : TOLD_NOT;
}

static enum crosslinker crosslinker_of(const char *text) {
    return strcmp(text, "none") == 0         ? CROSSLINKER_NONE
           : strcmp(text, "isocyanate") == 0 ? CROSSLINKER_ISOCYANATE
           : strcmp(text, "aziridine") == 0  ? CROSSLINKER_AZIRIDINE
                                             : CROSSLINKER_UNKNOWN;
}

static enum status read_gate(const struct request *request, struct gate_case *gate, struct fault *fault) {
    const char *fire = request_text(request, "--fire");
    enum status status = craft_read(request_text(request, "--craft"), &gate->craft, fault);
    if (status == STATUS_OK)
        status = place_of_work_read(request_text(request, "--place"), &gate->place, fault);
    if (!airbag_read(request_text(request, "--airbag"), &gate->airbag)) gate->airbag = AIRBAG_UNKNOWN;
    gate->fire = !fire ? FIRE_NOT_ASKED : strcmp(fire, "needed") == 0 ? FIRE_NEEDED : FIRE_NONE_NEEDED;
    return status;
}

static enum status read_damages(const struct request *request, uint32_t *damages, struct fault *fault) {
    size_t count;
    const char *const *ids = request_ids(request, "--damage", &count);
    for (size_t i = 0; i < count; i++) {
        enum damage damage;
        const enum status status = damage_read(ids[i], &damage, fault);
        if (status != STATUS_OK) return status;
        *damages |= BIT(damage);
    }
    return STATUS_OK;
}

/* What photographs showed (photo damage): the damages its classes stand for, and how much of it there is.
 * Millimetres there, the plan's own units here. */
static enum status read_seen(const struct surroundings *around, const struct request *request,
                             struct plan_request *in, struct fault *fault) {
    const char *file = request_text(request, "--seen");
    json_t *seen = NULL, *one;
    size_t i;
    if (!file) return in->asked.damages ? STATUS_OK : FAULT0(fault, PLAN_NEEDS_DAMAGE);
    enum status status = read_json(around, file, "damage", &seen, fault);
    const bool said = in->asked.damages != 0;
    double holes = 0;
    json_array_foreach(json_object_get(seen, "classes"), i, one) {
        const char *symbol = say_string(one, "damage");
        enum damage damage;
        if (!*symbol || damage_read(symbol, &damage, NULL) != STATUS_OK) continue;
        if (!said) in->asked.damages |= BIT(damage);
        if (damage == DAMAGE_HOLE || damage == DAMAGE_FLAP) holes += say_number(one, "spots");
    }
    const double line = say_number(seen, "crack_mm"), panel = say_number(seen, "panel_mm2");
    if (status == STATUS_OK && !in->asked.damages) status = FAULT(fault, PLAN_NOTHING_SEEN, file);
    if (!request_has(request, "--line-mm") && line > 0) in->size.line_mm = fmin(line, 1e6);
    if (!request_has(request, "--spots") && holes > 0) in->size.spots = fmin(holes, 1000);
    if (!request_has(request, "--area-m2") && panel > 0) in->size.area_m2 = panel / 1e6;
    json_decref(seen);
    return status;
}

static void read_choices(const struct request *request, struct plan_case *in) {
    const char *look = request_text(request, "--look"), *by = request_text(request, "--by");
    in->look = strcmp(look, "metal") == 0 ? LOOK_METAL : strcmp(look, "pearl") == 0 ? LOOK_PEARL : LOOK_PLAIN;
    in->perforated = request_flag(request, "--perforated");
    in->ventilated = request_flag(request, "--ventilated");
    in->heated = request_flag(request, "--heated");
    in->recoloured = told_of(request_text(request, "--recoloured"));
    in->agreed_to_coat = request_flag(request, "--agreed");
    in->edge = strcmp(request_text(request, "--edge"), "fade") == 0 ? ENDS_IN_FADE : ENDS_AT_BREAK;
    in->sprayed = strcmp(by, "sponge") != 0 && strcmp(by, "brush") != 0;
    in->crosslinker = crosslinker_of(request_text(request, "--crosslinker"));
    in->flash_min = request_number(request, "--flash-min", NAN);
    in->glue_min = request_number(request, "--glue-min", NAN);
    in->pot_life_min = request_number(request, "--pot-life-min", NAN);
    in->cure_days = request_number(request, "--cure-days", NAN);
    in->coats = (unsigned)request_number(request, "--coats", 3);
    in->drying_index =
        request_has(request, "--air-c") && request_has(request, "--rh")
            ? air_drying_index(request_number(request, "--air-c", 20), request_number(request, "--rh", 50))
            : 1;
}

static enum status read_request(const struct surroundings *around, const struct request *request,
                                struct plan_request *in, struct fault *fault) {
    const char *mark = request_text(request, "--mark");
    enum status status = read_gate(request, &in->asked.gate, fault);
    if (status == STATUS_OK)
        status = material_read(request_text(request, "--material"), &in->asked.material, fault);
    if (status == STATUS_OK) status = read_damages(request, &in->asked.damages, fault);
    if (status == STATUS_OK && mark) status = plastic_of_mark(mark, &in->plastic, fault);
    if (status != STATUS_OK) return status;
    if (mark) in->asked.plastic = &in->plastic;
    read_choices(request, &in->asked);
    in->size = (struct work_size){.area_m2 = request_number(request, "--area-m2", 0),
                                  .line_mm = request_number(request, "--line-mm", 0),
                                  .spots = request_number(request, "--spots", 0),
                                  .colours = request_number(request, "--colours", 1),
                                  .coats = request_number(request, "--coats", 3)};
    return read_seen(around, request, in, fault);
}

static void put_piece(json_t *reply, const struct plan_request *in) {
    const struct plan_case *asked = &in->asked;
    json_t *damages = json_array();
    for (int d = 0; d < DAMAGE_COUNT; d++)
        if (asked->damages & BIT(d))
            json_array_append_new(damages, json_string(damage_symbol((enum damage)d)));
    json_put_text(reply, "craft", craft_symbol(asked->gate.craft));
    json_put_text(reply, "place", place_of_work_symbol(asked->gate.place));
    json_put_text(reply, "airbag", airbag_text(asked->gate.airbag));
    json_put_text(reply, "material", material_symbol(asked->material));
    json_put_text(reply, "material_name", material_name(asked->material));
    json_put(reply, "damage", damages);
    json_t *size = json_object();
    json_put_number(size, "area_m2", in->size.area_m2, 4);
    json_put_number(size, "line_mm", in->size.line_mm, 1);
    json_put_number(size, "spots", in->size.spots, 0);
    json_put_number(size, "colours", in->size.colours, 0);
    json_put_number(size, "coats", in->size.coats, 0);
    json_put(reply, "size", size);
}

static void put_gate(json_t *reply, const struct gate *gate) {
    static const char *const answers[] = {"open", "ask", "stop"};
    json_t *object = json_object(), *says = json_array();
    json_put_text(object, "answer", answers[gate->answer]);
    for (size_t i = 0; i < gate->count; i++) json_array_append_new(says, word_object(gate->word[i]));
    json_put(object, "says", says);
    json_put(reply, "gate", object);
}

static json_t *step_object(const struct plan_step *step, size_t n) {
    json_t *object = json_object();
    struct fault sentence;
    fault_set(&sentence, step->word, (const char *const[]){step->grit, NULL});
    json_put_count(object, "n", (long long)n);
    json_put_text(object, "step", job_step_name(step->stage));
    json_put_text(object, "task", task_symbol(step->task));
    char key[80];
    word_key(step->word, key, sizeof key);
    json_put_text(object, "id", key);
    json_put_text(object, "text", sentence.text);
    if (*step->grit) json_put_text(object, "grit", step->grit);
    if (step->wait != WAIT_NONE) {
        json_put_text(object, "wait", wait_symbol(step->wait));
        json_put_number(object, "wait_min", step->wait_min, 0);
    }
    return object;
}

static enum status put_tasks(json_t *reply, const struct plan_request *in, struct fault *fault) {
    enum task task[TASK_COUNT];
    struct minutes part[TASK_COUNT];
    struct spread spread;
    const size_t count = plan_tasks(&in->plan, task);
    json_t *tasks = json_array();
    for (size_t i = 0; i < count; i++) {
        part[i] = task_minutes(&in->tasks.task[task[i]].time, task[i], &in->size);
        json_t *object = json_object();
        json_put_text(object, "task", task_symbol(task[i]));
        json_put_text(object, "name", task_name(task[i]));
        json_put(object, "minutes",
                 json_numbers((const double[]){part[i].low, part[i].likely, part[i].high}, 3, 2));
        json_array_append_new(tasks, object);
    }
    json_put(reply, "tasks", tasks);
    const enum status status = labour_spread(part, count, &spread, fault);
    if (status != STATUS_OK) return status;
    json_t *hours = json_object();
    json_put_number(hours, "p50", spread.p50 / 60, 3);
    json_put_number(hours, "p80", spread.p80 / 60, 3);
    json_put(reply, "hours", hours);
    return STATUS_OK;
}

static void put_guarantees(json_t *reply, const struct plan_request *in) {
    enum task task[TASK_COUNT];
    const size_t n = plan_tasks(&in->plan, task);
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        const struct shop_task *own = &in->tasks.task[task[i]];
        if (own->months <= 0) continue;
        json_t *object = json_object();
        json_put_text(object, "task", task_symbol(task[i]));
        json_put_text(object, "name", task_name(task[i]));
        json_put_count(object, "months", own->months);
        json_put_text(object, "excluded", own->excluded);
        json_array_append_new(list, object);
    }
    json_put(reply, "guarantee", list);
}

static void put_record(json_t *reply, const struct plan *plan) {
    static const char *const keys[] = {"expect", "care", "mind"};
    for (int part = 0; part < 3; part++) {
        enum word word[RECORD_WORDS_MOST];
        const size_t n = record_words(plan, (enum record_part)part, word);
        json_put(reply, keys[part], word_array(word, n));
    }
}

static int32_t falls_short(uint32_t damages) {
    enum damage list[DAMAGE_COUNT];
    size_t n = 0;
    for (int d = 0; d < DAMAGE_COUNT; d++)
        if (damages & BIT(d)) list[n++] = (enum damage)d;
    return falls_short_of(list, n);
}

static enum status put_plan(json_t *reply, const struct plan_request *in, struct fault *fault) {
    const struct plan *plan = &in->plan;
    json_t *steps = json_array();
    json_put_flag(reply, "coated", plan->coated);
    for (size_t i = 0; i < plan->count; i++) json_array_append_new(steps, step_object(&plan->step[i], i + 1));
    json_put(reply, "steps", steps);
    json_put(reply, "cautions", word_array(plan->caution, plan->caution_count));
    json_put_number(reply, "wait_min", plan->wait_min, 0);
    json_put_number(reply, "cure_days", plan->cure_days, 2);
    json_put_number(reply, "falls_short", falls_short(in->asked.damages) / 1e6, 6);
    put_record(reply, plan);
    put_guarantees(reply, in);
    return put_tasks(reply, in, fault);
}

enum status plan_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                      struct fault *fault) {
    struct plan_request in = {0};
    enum status status = read_request(around, request, &in, fault);
    if (status == STATUS_OK) status = shop_tasks_here(around, request, &in.tasks, fault);
    if (status != STATUS_OK) return status;
    status = plan_make(&in.asked, &in.plan, fault);
    json_t *object = json_start("plan");
    put_piece(object, &in);
    put_gate(object, &in.plan.gate);
    if (status == STATUS_OK)
        status = put_plan(object, &in, fault);
    else if (status == STATUS_NO)
        json_put_text(object, "refused", fault->text);
    *reply = object;
    return status;
}
