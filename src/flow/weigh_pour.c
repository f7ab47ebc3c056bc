#include "flow/weigh_pour.h"
#include "flow/pour_reply.h"
#include "flow/weigh_session.h"
#include "paint/rescue.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- plan -> steps of the live pour, and back
 * ------------------------------------------------------------------------ */

static struct pouring_item item_of_step(const struct pour_task *task, const struct pour_step *step) {
    struct pouring_item item = {
        .fraction = step->let_down.fraction, .want_g = step->g, .carries = step->first_part};
    snprintf(item.id, sizeof item.id, "%s", task->recipe->shelf.toner[step->toner].id);
    item.minus_g = fmax(step->minus_g, 0.5 * task->scale.step_g);
    item.plus_g = fmax(step->plus_g, 0.5 * task->scale.step_g);
    return item;
}

/* What --poured says is in goes into the steps of its kind in order, the last one taking what is left. */
static void items_fill(const struct pour_task *task, const struct pour_plan *plan,
                       struct pouring_item items[]) {
    for (int toner = 0; toner < (int)task->recipe->shelf.count; toner++) {
        double left_g[2] = {task->poured_g[toner], task->let_down_poured_g[toner]};
        for (size_t i = 0; i < plan->count; i++) {
            const struct pour_step *step = &plan->step[i];
            double *left = &left_g[step->let_down.fraction < 1];
            if (step->toner != toner) continue;
            items[i].poured_g = step->first_part ? fmin(*left, step->g) : *left;
            *left -= items[i].poured_g;
        }
    }
}

static size_t items_of_plan(const struct pour_task *task, const struct pour_plan *plan,
                            struct pouring_item items[]) {
    for (size_t i = 0; i < plan->count; i++) items[i] = item_of_step(task, &plan->step[i]);
    items_fill(task, plan, items);
    return plan->count;
}

static void items_to_task(const struct pouring_item items[], size_t count, struct pour_task *task) {
    memset(task->poured_g, 0, sizeof task->poured_g);
    memset(task->let_down_poured_g, 0, sizeof task->let_down_poured_g);
    for (size_t i = 0; i < count; i++) {
        const int toner = shelf_find(&task->recipe->shelf, items[i].id);
        if (toner < 0) continue;
        double *poured = items[i].fraction < 1 ? task->let_down_poured_g : task->poured_g;
        poured[toner] += items[i].poured_g;
    }
}

/* ---- the rescue on the spot
 * --------------------------------------------------------------------------------------------- */

struct rescuer {
    const struct pour_task *task;
    const struct pour_plan *plan;
    const struct pour_lots *lots;
};

static struct pouring_item item_of_rescue(const struct pour_task *task, const struct rescue_pour *pour) {
    struct pouring_item item = {.fraction = pour->let_down.fraction,
                                .want_g = pour->g,
                                .minus_g = pour->minus_g,
                                .plus_g = pour->plus_g};
    snprintf(item.id, sizeof item.id, "%s", task->recipe->shelf.toner[pour->toner].id);
    return item;
}

static void say_let_down(const struct pour_task *task, const struct let_down *made, int toner,
                         struct fault *said) {
    (void)FAULT(said, WEIGH_MAKE_LET_DOWN, WEIGH_TEXT(made->toner_g, task->scale.step_g),
                task->recipe->shelf.toner[toner].id, WEIGH_TEXT(made->binder_g, task->scale.step_g),
                task->recipe->shelf.toner[pour_binder(task->recipe)].id);
}

/* What was poured stays as it is; what is to come is poured anew. */
static bool plan_rescue(const struct rescuer *r, const struct pour_task *task, const struct rescue *rescue,
                        struct pouring_item items[], size_t *count, struct weigh_offer *offer) {
    struct rescue_pour pour[RECIPE_TONERS_MOST];
    const size_t pours = rescue_pours(task, r->plan, rescue, pour);
    if (*count + pours > POURING_MOST) return false;
    for (size_t i = 0; i < *count; i++) {
        items[i].want_g = items[i].poured_g;
        items[i].carries = false;
    }
    offer->said_count = 1; /* the first is the offer itself */
    for (size_t i = 0; i < pours; i++) {
        items[(*count)++] = item_of_rescue(task, &pour[i]);
        if (pour[i].let_down.fraction < 1 && !pour[i].stirred)
            say_let_down(task, &pour[i].let_down, pour[i].toner, &offer->said[offer->said_count++]);
    }
    return true;
}

static void name_additions(const struct pouring_item items[], size_t from, size_t count, double step_g,
                           char out[400]) {
    size_t n = 0;
    out[0] = 0;
    for (size_t i = from; i < count && n < 400; i++)
        n += (size_t)snprintf(out + n, 400 - n, "%s%s%s %s", i > from ? ", " : "", items[i].id,
                              items[i].fraction < 1 ? ":10" : "", WEIGH_TEXT(items[i].want_g, step_g));
}

/* "white 3.1 of 4.2 g": what is left in the lots of what the rescue pours, where that is less. */
static bool name_lacks(const struct rescuer *r, const struct pour_state *state, const double add_g[],
                       char out[400]) {
    const struct shelf *shelf = &r->task->recipe->shelf;
    const double step_g = r->task->scale.step_g;
    size_t n = 0;
    out[0] = 0;
    for (size_t i = 0; i < shelf->count && n < 400; i++) {
        const double in_g = state->keep > 0 ? state->in_pot_g[i] / state->keep : 0;
        double left_g;
        if (!pour_lots_left(r->lots, shelf->toner[i].id, in_g, &left_g) || left_g + step_g / 2 > add_g[i])
            continue;
        n += (size_t)snprintf(out + n, 400 - n, "%s%s %s of %s g", n ? ", " : "", shelf->toner[i].id,
                              WEIGH_TEXT(fmax(0, left_g), step_g), WEIGH_TEXT(add_g[i], step_g));
    }
    return n > 0;
}

static bool offer_rescue(void *context, const struct pouring *pouring, struct pouring_item items[],
                         size_t *count, struct weigh_offer *offer) {
    const struct rescuer *r = context;
    struct pour_task task = *r->task;
    struct pour_state state;
    struct rescue whole, least;
    items_to_task(pouring->items, pouring->count, &task);
    pour_look(&task, r->plan, &state);
    if (!state.any_over || state.may_stay) {
        (void)FAULT(&offer->said[offer->said_count++], WEIGH_MAY_STAY, DE00_TEXT(state.stay_de00));
        return false;
    }
    rescue_whole(&task, &state, &whole);
    const double room = fmax(0, fmin(whole.added_g, task.pot_g - state.reading_g));
    rescue_least(&task, &state, fmax(RESCUE_RESTORED_DE00, 0.5 * r->plan->allowance_de00), room, &least);
    if (!(least.de00 <= fmax(r->plan->allowance_de00, RESCUE_RESTORED_DE00)) ||
        !plan_rescue(r, &task, &least, items, count, offer)) {
        (void)FAULT(&offer->said[offer->said_count++], WEIGH_BEGIN_AGAIN, DE00_TEXT(least.de00));
        return false;
    }
    char names[400], lacks[400];
    const char *total = WEIGH_TEXT(least.total_g, task.scale.step_g), *off = DE00_TEXT(least.de00);
    name_additions(items, pouring->count, *count, task.scale.step_g, names);
    if (name_lacks(r, &state, least.add_g, lacks))
        (void)FAULT(&offer->said[0], WEIGH_RESCUE_SHORT, names, total, off, lacks);
    else
        (void)FAULT(&offer->said[0], WEIGH_RESCUE, names, total, off);
    return true;
}

/* ---- a scale that is coarser than the plan
 * ------------------------------------------------------------------------------ */

/* A decimal step of at least that much (1, 2 or 5 times a power of ten): the last digit of a scale in ounces
 * is .0283 g. */
static double decimal_step(double step_g) {
    const double ten = pow(10, floor(log10(step_g) + 1e-9));
    static const double worth[] = {1, 2, 5, 10};
    for (size_t i = 0; i < sizeof worth / sizeof *worth; i++)
        if (worth[i] * ten >= step_g * (1 - 1e-9))
            return worth[i] < 10 && ten < 1 ? worth[i] / round(1 / ten) : worth[i] * ten;
    return step_g;
}

struct refitter {
    struct pour_task *task,
        *asked; /* the first is what the flow goes on with, the second what a rescue looks at */
    struct pour_plan *plan;
};

static enum status plan_for(const struct refitter *r, double step_g, struct fault *fault) {
    struct pour_task task = *r->task;
    task.scale.step_g = step_g;
    task.batch_g = weighing_round(&task.scale, task.batch_g);
    const enum status status = pour_check_batch(&task, fault);
    if (status != STATUS_OK) return status;
    *r->task = *r->asked = task;
    pour_plan_make(&task, r->plan);
    return STATUS_OK;
}

static void say_all_let_downs(const struct refitter *r, struct weigh_fit *fit) {
    const struct pour_task *task = r->task;
    for (size_t i = 0; i < r->plan->count; i++) {
        const struct let_down *made = &r->plan->step[i].let_down;
        if (made->fraction >= 1) continue;
        say_let_down(task, made, r->plan->step[i].toner, &fit->said[fit->said_count++]);
    }
}

static void widen(const struct refitter *r, double step_g, struct weigh_fit *fit) {
    const struct scale scale = {step_g, r->task->scale.repeat_g};
    const double least_g = weighing_smallest_window(&scale);
    for (size_t i = 0; i < fit->count; i++) {
        fit->items[i].minus_g = fmax(fit->items[i].minus_g, fmin(least_g, .5 * fit->items[i].want_g));
        fit->items[i].plus_g = fmax(fit->items[i].plus_g, least_g);
    }
    (void)FAULT(&fit->said[fit->said_count++], WEIGH_COARSE_LATE, NUMBER_TEXT(step_g),
                NUMBER_TEXT(r->task->scale.step_g), NUMBER_TEXT(least_g));
}

static bool anything_poured(const struct pouring_item items[], size_t count) {
    for (size_t i = 0; i < count; i++)
        if (items[i].poured_g > 0) return true;
    return false;
}

static enum status refit(void *context, double step_g, struct weigh_fit *fit, struct fault *fault) {
    const struct refitter *r = context;
    const double planned_g = r->task->scale.step_g;
    if (anything_poured(fit->items, fit->count)) {
        widen(r, step_g, fit);
        return STATUS_NO;
    }
    const enum status status = plan_for(r, decimal_step(step_g), fault);
    if (status != STATUS_OK) return status;
    memset(fit->items, 0, sizeof fit->items);
    fit->count = items_of_plan(r->task, r->plan, fit->items);
    fit->batch_g = r->task->batch_g;
    fit->step_g = r->task->scale.step_g;
    (void)FAULT(&fit->said[fit->said_count++], WEIGH_COARSE, NUMBER_TEXT(step_g), NUMBER_TEXT(planned_g));
    say_all_let_downs(r, fit);
    if (r->plan->scale_too_coarse) pour_coarse_note(r->task, r->plan, &fit->said[fit->said_count++]);
    return STATUS_OK;
}

/* ---- the session
 * -------------------------------------------------------------------------------------------------------- */

enum status weigh_check(const struct request *request, struct fault *fault) {
    static const char *const options[] = {"--log", "--pattern", "--baud", "--framing", "--lines-per-s"};
    for (size_t i = 0; i < sizeof options / sizeof *options && !request_has(request, "--scale"); i++)
        if (request_has(request, options[i])) return FAULT(fault, WEIGH_NEEDS_SCALE, options[i]);
    return STATUS_OK;
}

static bool is_dumb_terminal(void) {
    const char *kind = getenv("TERM");
    return !kind || strcmp(kind, "dumb") == 0;
}

static enum status check_baud(const struct request *request, int *baud, struct fault *fault) {
    *baud = (int)request_number(request, "--baud", 9600);
    for (const int *known = scale_port_bauds(); *known; known++)
        if (*known == *baud) return STATUS_OK;
    return FAULT(fault, SCALE_BAUD, COUNT_TEXT(*baud));
}

static enum status set_up(const struct surroundings *around, const struct request *request,
                          struct scale_pattern *pattern, struct weigh *weigh, struct fault *fault) {
    const char *text = request_text(request, "--pattern"), *name = request_text(request, "--scale");
    const bool is_stream = strcmp(name, "-") == 0;
    int baud;
    enum status status = check_baud(request, &baud, fault);
    if (status == STATUS_OK && text) status = scale_pattern_make(pattern, text, fault);
    if (status != STATUS_OK) return status;
    const bool redraw = isatty(2) && !is_dumb_terminal();
    *weigh = (struct weigh){
        .port = scale_port_real(name, baud, strcmp(request_text(request, "--framing"), "7e1") == 0),
        .port_name = is_stream ? "standard input" : name,
        .pattern = text ? pattern : NULL,
        .clock = clock_real(),
        .line_ms = is_stream || request_has(request, "--lines-per-s")
                       ? 1000 / request_number(request, "--lines-per-s", 10)
                       : 0,
        .answers = is_stream ? -1 : 0,
        .face = {.fd = 2, .redraw = redraw, .bell = redraw},
        .rescue = offer_rescue,
        .work = around->work};
    return STATUS_OK;
}

/* A log that was begun for a coarser scale goes on with its own plan. */
static enum status plan_of_log(const struct surroundings *around, const char *path, struct refitter *refitter,
                               struct fault *fault) {
    const double step_g = path ? weigh_log_step(around->disk, path) : 0;
    if (step_g <= 1.001 * refitter->task->scale.step_g) return STATUS_OK;
    return plan_for(refitter, step_g, fault);
}

static enum status run(const struct surroundings *around, const struct request *request,
                       struct pour_task *task, struct weigh *weigh, struct pouring_item items[], size_t count,
                       struct fault *fault) {
    struct weigh_log log;
    struct pouring pouring;
    const char *path = request_text(request, "--log");
    const bool said = anything_poured(items, count);
    enum status status =
        weigh_log_open(&log, around->disk, path, task->batch_g, task->scale.step_g, items, &count, fault);
    if (status != STATUS_OK) return status;
    if (said && log.resumed) status = FAULT(fault, WEIGH_POURED_AND_LOG, path);
    if (status == STATUS_OK) {
        weigh->log = &log;
        pouring_start(&pouring, items, count, task->scale.step_g, weigh->answers >= 0);
        status = weigh_run(weigh, &pouring, fault);
        items_to_task(pouring.items, pouring.count, task);
    }
    weigh_log_close(&log);
    return status;
}

struct namer {
    const struct pour_lots *lots;
    struct arena *arena;
};

static const char *name_lots(void *context, const char *toner) {
    const struct namer *namer = context;
    return pour_lots_name(namer->lots, toner, namer->arena);
}

enum status weigh_pour(const struct surroundings *around, const struct request *request,
                       const struct pour_lots *lots, struct pour_task *task, struct pour_plan *plan,
                       struct fault *fault) {
    struct scale_pattern pattern;
    struct weigh weigh;
    struct pouring_item items[POURING_MOST] = {0};
    struct pour_task asked = *task;
    struct rescuer rescuer = {&asked, plan, lots};
    struct refitter refitter = {task, &asked, plan};
    enum status status = set_up(around, request, &pattern, &weigh, fault);
    if (status != STATUS_OK) return status;
    status = plan_of_log(around, request_text(request, "--log"), &refitter, fault);
    const size_t count = items_of_plan(task, plan, items);
    struct namer namer = {lots, around->arena};
    weigh.lots = name_lots;
    weigh.lots_context = &namer;
    weigh.rescue_context = &rescuer;
    weigh.refit = refit;
    weigh.refit_context = &refitter;
    weigh.planned_step_g = task->scale.step_g;
    if (status == STATUS_OK) status = run(around, request, task, &weigh, items, count, fault);
    scale_port_free(weigh.port);
    return status;
}
