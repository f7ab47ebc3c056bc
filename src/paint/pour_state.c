/* Where a pot stands that is being poured.
 *
 * A dab that was taken out takes every toner in its share, so all that was poured, and the plan with it,
 * shrinks by keep = 1 - taken / poured. The scale reads  poured - taken  with the cup left on it. A pour
 * counts as done inside its window; the rest is planned from what is in the cup, so a small miss of one pour
 * is not made good by the next one. */
#include "colour/difference.h"
#include "paint/pour.h"
#include <math.h>
#include <string.h>

/* As a let-down of that toner is, also one that the plan does not know. */
static double let_down_fraction(const struct pour_plan *plan, int toner) {
    for (size_t j = 0; j < plan->count; j++)
        if (plan->step[j].toner == toner && plan->step[j].let_down.fraction < 1)
            return plan->step[j].let_down.fraction;
    return POUR_LET_DOWN;
}

static void fill_pot(const struct pour_task *task, const struct pour_plan *plan, struct pour_state *state) {
    double poured = 0;
    for (size_t i = 0; i < task->recipe->shelf.count; i++) {
        poured += task->poured_g[i] + task->let_down_poured_g[i];
        pour_add(task->recipe, (int)i, 1, task->poured_g[i], state->in_pot_g);
        if (task->let_down_poured_g[i] > 0)
            pour_add(task->recipe, (int)i, let_down_fraction(plan, (int)i), task->let_down_poured_g[i],
                     state->in_pot_g);
    }
    state->keep = poured > 0 ? fmax(0, 1 - task->taken_g / poured) : 1;
    state->reading_g = fmax(0, poured - task->taken_g);
    for (size_t i = 0; i < task->recipe->shelf.count; i++) state->in_pot_g[i] *= state->keep;
}

/* What of a step is still to come, in grams of what it pours. Below 0: too much is in. */
static double remaining(const struct pour_task *task, const struct pour_plan *plan,
                        const struct pour_state *state, size_t j) {
    const struct pour_step *step = &plan->step[j];
    const double in = state->in_pot_g[step->toner];
    if (step->first_part) return state->keep * step->g - in;
    double wanted = state->keep * plan->toner_g[step->toner];
    if (step->toner != pour_binder(task->recipe)) return (wanted - in) / step->let_down.fraction;
    for (size_t k = 0; k < plan->count;
         k++) { /* what will come in with let-downs that are still to be poured */
        const double fraction = plan->step[k].let_down.fraction;
        if (fraction < 1) wanted -= fmax(0, remaining(task, plan, state, k)) * (1 - fraction);
    }
    return wanted - in;
}

static void find_next(const struct pour_task *task, const struct pour_plan *plan, struct pour_state *state) {
    state->next = -1;
    for (size_t j = plan->count; j-- > 0;) {
        const double left = remaining(task, plan, state, j), slack = 1e-6 * task->scale.step_g;
        state->done[j] = left <= plan->step[j].minus_g + slack || left < .5 * task->scale.step_g;
        state->left_g[j] = state->done[j] ? 0 : weighing_round(&task->scale, left);
        if (state->done[j]) continue;
        state->next = (int)j;
        state->next_g = state->left_g[j];
    }
    /* what is left for the first part is not poured again with the rest */
    for (size_t j = 1; j < plan->count; j++)
        for (size_t k = 0; plan->step[j].rest && k < j; k++)
            if (plan->step[k].first_part) state->left_g[j] = fmax(0, state->left_g[j] - state->left_g[k]);
    state->next_reading_g = state->reading_g + (state->next < 0 ? 0 : state->next_g);
}

static void find_over(const struct pour_task *task, const struct pour_plan *plan, struct pour_state *state) {
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        if (step->first_part) continue; /* the rest takes it up */
        if (remaining(task, plan, state, j) >= -step->plus_g - 1e-6 * task->scale.step_g) continue;
        state->over[step->toner] = state->any_over = true;
    }
}

/* The pot when every pour that is still open is made as planned. */
static void finish_as_planned(const struct pour_task *task, const struct pour_plan *plan,
                              struct pour_state *state) {
    memcpy(state->stay_mass_g, state->in_pot_g, sizeof state->in_pot_g);
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        const double left = remaining(task, plan, state, j);
        if (step->first_part || left <= step->minus_g + 1e-6 * task->scale.step_g) continue;
        pour_add(task->recipe, step->toner, step->let_down.fraction, left, state->stay_mass_g);
    }
    const struct lab lab = pour_lab(task->recipe, state->stay_mass_g);
    state->stay_de00 = difference_de00(plan->lab, lab);
    state->stay_target_de00 =
        task->recipe->has_target ? difference_de00(task->recipe->target, lab) : (double)NAN;
    state->may_stay = state->stay_de00 <= plan->allowance_de00;
}

void pour_look(const struct pour_task *task, const struct pour_plan *plan, struct pour_state *state) {
    *state = (struct pour_state){.next = -1};
    for (size_t i = 0; i < task->recipe->shelf.count; i++) state->fraction[i] = 1;
    for (size_t j = 0; j < plan->count; j++)
        state->fraction[plan->step[j].toner] = plan->step[j].let_down.fraction;
    fill_pot(task, plan, state);
    find_next(task, plan, state);
    find_over(task, plan, state);
    if (state->keep > 0) finish_as_planned(task, plan, state);
}
