/* The JSON of a pour: docs/pour.md has every key. */
#include "flow/pour_reply.h"
#include "formats/json_out.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

const char *pour_number_text(char out[40], double x, int digits) {
    snprintf(out, 40, "%.*f", digits, x);
    return out;
}

static void put_known(json_t *object, const char *key, double value, bool known, int digits) {
    if (known)
        json_put_number(object, key, value, digits);
    else
        json_put_null(object, key);
}

static const struct toner *toner_of(const struct pour_task *task, int index) {
    return &task->recipe->shelf.toner[index];
}

static void put_let_down(json_t *object, const struct pour_task *task, const struct let_down *made,
                         const char *id, int digits) {
    if (made->fraction >= 1) {
        json_put_null(object, "let_down");
        return;
    }
    char pour_as[TONER_ID_MAX + 8];
    snprintf(pour_as, sizeof pour_as, "%s:%.0f", id, 100 * made->fraction);
    json_t *l = json_object();
    json_put_number(l, "fraction", made->fraction, 3);
    json_put_text(l, "pour_as", pour_as);
    json_put_number(l, "make_g", made->make_g, digits);
    json_put_number(l, "toner_g", made->toner_g, digits);
    json_put_number(l, "binder_g", made->binder_g, digits);
    json_put_text(l, "binder", toner_of(task, pour_binder(task->recipe))->id);
    json_put(object, "let_down", l);
}

static json_t *step_json(const struct pour_task *task, const struct pour_step *step, int digits) {
    const struct toner *toner = toner_of(task, step->toner);
    json_t *s = json_object();
    json_put_text(s, "toner", toner->id);
    json_put_text(s, "name", toner->name);
    json_put_text(s, "part", step->first_part ? "first" : step->rest ? "rest" : "whole");
    json_put_number(s, "g", step->g, digits);
    json_put_number(s, "to_reading_g", step->reading_g, digits);
    json_put_number(s, "window_minus_g", step->minus_g, digits);
    json_put_number(s, "window_plus_g", step->plus_g, digits);
    json_put_number(s, "share_de00", step->share_de00, DIGITS_LAB);
    json_put_flag(s, "below_scale", step->below_scale);
    put_known(s, "ml", step->ml, step->ml > 0, 2);
    put_let_down(s, task, &step->let_down, toner->id, digits);
    return s;
}

void pour_put_plan(json_t *reply, const struct bench_recipe *recipe, const struct pour_task *task,
                   const struct pour_plan *plan) {
    const int digits = weighing_decimals(&task->scale);
    json_put_text(reply, "name", recipe->name);
    json_put(reply, "rank", recipe->rank ? json_integer(recipe->rank) : json_null());
    json_put_number(reply, "batch_g", task->batch_g, digits);
    json_put_number(reply, "scale_step_g", task->scale.step_g, 4);
    json_put_number(reply, "tolerance_de00", task->tolerance_de00, DIGITS_LAB);
    put_known(reply, "recipe_de00", plan->recipe_de00, isfinite(plan->recipe_de00), DIGITS_LAB);
    json_put_number(reply, "allowance_de00", plan->allowance_de00, DIGITS_LAB);
    json_put_number(reply, "worst_de00", plan->worst_de00, DIGITS_LAB);
    json_put_text(reply, "before", word_sentence(WORD_POUR_STIR));
    json_t *steps = json_array();
    for (size_t j = 0; j < plan->count; j++)
        json_array_append_new(steps, step_json(task, &plan->step[j], digits));
    json_put(reply, "steps", steps);
    json_put_number(reply, "total_g", plan->total_g, digits);
}

/* What went in since the cup was set on the scale, let-downs counted by what is in them. */
static json_t *poured_json(const struct pour_task *task, const struct pour_state *state) {
    json_t *list = json_array();
    for (size_t i = 0; i < task->recipe->shelf.count; i++) {
        if (!(state->in_pot_g[i] > 0)) continue;
        json_t *object = json_object();
        json_put_text(object, "toner", toner_of(task, (int)i)->id);
        json_put_number(object, "g", state->in_pot_g[i] / state->keep, 3);
        json_array_append_new(list, object);
    }
    return list;
}

/* Grams of what a step pours that are in: the first part of a toner is full before its rest is. */
static double step_in(const struct pour_task *task, const struct pour_plan *plan, size_t j) {
    const struct pour_step *step = &plan->step[j];
    if (step->let_down.fraction < 1) return task->let_down_poured_g[step->toner];
    const double in = task->poured_g[step->toner];
    if (step->first_part) return fmin(in, step->g);
    return step->rest ? fmax(0, in - plan->step[0].g) : in;
}

void pour_put_state(json_t *reply, const struct pour_task *task, const struct pour_plan *plan,
                    const struct pour_state *state) {
    const int digits = weighing_decimals(&task->scale);
    json_t *steps = json_object_get(reply, "steps");
    for (size_t j = 0; j < plan->count; j++) {
        json_put_flag(json_array_get(steps, j), "done", state->done[j]);
        json_put_number(json_array_get(steps, j), "in_g", step_in(task, plan, j), digits);
        json_put_number(json_array_get(steps, j), "left_g", state->left_g[j], digits);
    }
    json_put_number(reply, "reading_g", state->reading_g, digits);
    json_put(reply, "poured", poured_json(task, state));
    if (state->next < 0) {
        json_put_null(reply, "next");
        return;
    }
    json_t *next = step_json(task, &plan->step[state->next], digits);
    json_object_del(next, "share_de00");
    json_object_del(next, "ml");
    json_object_del(next, "below_scale");
    json_put_count(next, "step", state->next + 1);
    json_put_number(next, "g", state->next_g, digits);
    json_put_number(next, "to_reading_g", state->next_reading_g, digits);
    json_put(reply, "next", next);
}

static json_t *rescue_pour_json(const struct pour_task *task, const struct rescue_pour *pour,
                                double reading_g, int digits) {
    const struct toner *toner = toner_of(task, pour->toner);
    json_t *a = json_object();
    json_put_text(a, "toner", toner->id);
    json_put_text(a, "name", toner->name);
    json_put_number(a, "fraction", pour->let_down.fraction, 3);
    json_put_number(a, "g", pour->g, digits);
    json_put_number(a, "to_reading_g", reading_g, digits);
    json_put_number(a, "window_minus_g", pour->minus_g, digits);
    json_put_number(a, "window_plus_g", pour->plus_g, digits);
    put_let_down(a, task, &pour->let_down, toner->id, digits);
    if (pour->let_down.fraction < 1) json_put_flag(json_object_get(a, "let_down"), "stirred", pour->stirred);
    return a;
}

static json_t *rescue_json(const struct pour_task *task, const struct pour_plan *plan,
                           const struct pour_state *state, const struct rescue *rescue) {
    struct rescue_pour pour[RECIPE_TONERS_MOST];
    const int digits = weighing_decimals(&task->scale);
    const size_t count = rescue_pours(task, plan, rescue, pour);
    double reading = state->reading_g;
    json_t *r = json_object(), *list = json_array();
    for (size_t i = 0; i < count; i++) {
        reading += pour[i].g;
        json_array_append_new(list, rescue_pour_json(task, &pour[i], reading, digits));
    }
    json_put(r, "pours", list);
    json_put_number(r, "added_g", rescue->added_g, digits);
    put_known(r, "added_ml", rescue->added_ml, isfinite(rescue->added_ml), 2);
    json_put_number(r, "total_g", rescue->total_g, digits);
    json_put_number(r, "extra_g", rescue->extra_g, digits);
    json_put_number(r, "de00", rescue->de00, DIGITS_LAB);
    json_put_number(r, "de00_a", rescue->de00_a, DIGITS_LAB);
    put_known(r, "target_de00", rescue->target_de00, isfinite(rescue->target_de00), DIGITS_LAB);
    json_put_number(r, "binder_change", rescue->binder_change, 4);
    json_put_flag(r, "fits", rescue->fits);
    return r;
}

static json_t *over_json(const struct pour_task *task, const struct pour_state *state) {
    json_t *over = json_array();
    for (size_t i = 0; i < task->recipe->shelf.count; i++)
        if (state->over[i]) json_array_append_new(over, json_string(toner_of(task, (int)i)->id));
    return over;
}

void pour_put_mend(json_t *reply, const struct pour_task *task, const struct pour_plan *plan,
                   const struct pour_state *state, const struct pour_mend *mend) {
    json_t *stay = json_object(), *rescue = json_object();
    json_put_flag(stay, "yes", state->may_stay);
    json_put_number(stay, "cost_de00", state->stay_de00, DIGITS_LAB);
    put_known(stay, "target_de00", state->stay_target_de00, isfinite(state->stay_target_de00), DIGITS_LAB);
    json_put(reply, "may_stay", stay);
    json_put(rescue, "over", over_json(task, state));
    json_put_text(rescue, "advice", mend->advice);
    json_put(rescue, "whole", rescue_json(task, plan, state, &mend->whole));
    json_put(rescue, "least", rescue_json(task, plan, state, &mend->least));
    json_put(reply, "rescue", rescue);
}

void pour_put_colours(json_t *reply, const struct bench_recipe *recipe, const struct pour_plan *plan) {
    const struct pour_recipe *pour = &recipe->pour;
    json_t *target = json_object(), *prediction = json_object();
    struct spectrum reflectance;
    predict_reflectance(&pour->shelf, pour->part, &pour->film, &reflectance);
    if (pour->has_target) json_put(target, "lab", json_lab(pour->target));
    json_put(target, "reflectance", recipe->has_curve ? json_spectrum(&recipe->curve) : json_null());
    json_put(reply, "target", pour->has_target ? target : json_null());
    if (!pour->has_target) json_decref(target);
    json_put(prediction, "lab", json_lab(plan->lab));
    json_put(prediction, "reflectance", json_spectrum(&reflectance));
    json_put(reply, "prediction", prediction);
}
