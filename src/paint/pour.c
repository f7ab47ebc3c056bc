/* The pour plan.
 *
 * Order (why: docs/pour.md). A bed first, so that a strong toner never dries on the bare cup: part of the
 * binder, or of the toner that harms least. Then by risk, the largest first: risk = what a hand's usual slip
 * of that toner costs in dE00. Whatever goes wrong with a strong toner goes wrong while the cup holds little,
 * and is mended by what is still to come, or thrown away cheaply. The rest of the bed's toner comes last.
 *
 * Let-down. When even the smallest windows that the scale resolves cost more than the allowance, the toner
 * that costs most; and a toner lighter than the scale weighs to 1 in 50 whose window is under half a drop: it
 * is first stirred into binder, 1 in 10 by mass, and ten times as much is poured; the binder of the recipe
 * gives way by what comes in with it. Its strength is off by  p = 2 (1 - .1) u_add hypot(1 / t, 1 / b),  t
 * grams of toner and b of binder weighed with u_add each (two standard uncertainties), and a pot of m grams
 * of that toner by p m |v_toner - v_binder| dE00. Such errors know nothing of each other nor of the windows:
 * they are added in quadrature (GUM 5.1.2), to each other and to the windows' worst corner. So little is
 * stirred that all let-downs together cost at most LET_DOWN_SHARE of the allowance (the windows then keep .98
 * of it); but no toner of a let-down is weighed to worse than 1 in 50, and a quarter more than is poured is
 * stirred.
 *
 * The grid. Grams are multiples of the scale's step that add up to the batch; which of the two neighbours
 * each pour takes is decided by the colour (all combinations), not by rounding.
 *
 * Valid for 1 .. RECIPE_TONERS_MOST toners, any batch of at least one step per toner. The plan is made for
 * the whole batch; what was poured is looked at in pour_state.c. */
#include "paint/pour.h"
#include "colour/difference.h"
#include "paint/pour_window.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const double LET_DOWN_SPARE = 1.25, LET_DOWN_LARGEST_PART = .05, LET_DOWN_SHARE = .2;
static const double LET_DOWN_LEAST_G = 10, LET_DOWN_ROUND_G = 5; /* what is easy to stir and to remember */
static const double LIGHT_PART =
    .02; /* what the match calls hard to weigh: lighter than the scale weighs to 1 in 50 */
static const double BED_PART = .10, BED_LEAST_G = 5, BED_WORTH_G = .5, BED_TONER_LEAST_PART = .20;
static const double ALLOWANCE_LEAST = .25; /* of the tolerance, when the recipe itself uses it up */

void pour_add(const struct pour_recipe *recipe, int toner, double fraction, double g, double mass_g[]) {
    mass_g[toner] += g * fraction;
    if (fraction < 1) mass_g[pour_binder(recipe)] += g * (1 - fraction);
}

struct lab pour_lab(const struct pour_recipe *recipe, const double mass_g[]) {
    double part[RECIPE_TONERS_MOST], total = 0;
    for (size_t i = 0; i < recipe->shelf.count; i++) total += mass_g[i];
    assert(total > 0);
    for (size_t i = 0; i < recipe->shelf.count; i++) part[i] = mass_g[i] / total;
    struct spectrum reflectance;
    predict_reflectance(&recipe->shelf, part, &recipe->film, &reflectance);
    return lab_of_spectrum(&reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

int pour_binder(const struct pour_recipe *recipe) {
    for (size_t i = 0; i < recipe->shelf.count; i++)
        if (recipe->shelf.toner[i].role == ROLE_BINDER) return (int)i;
    return -1;
}

static double risk_of(const struct pour_task *task, const double mass_g[], int toner, double fraction) {
    struct pour_answer answer;
    pour_answer_of(task->recipe, mass_g, toner, fraction, &answer);
    return pour_answer_size(&answer) * weighing_slip_g(mass_g[toner] / fraction);
}

/* Binder, or the toner of some weight that harms least. */
static int bed_toner(const struct pour_task *task, const double mass_g[]) {
    const int binder = pour_binder(task->recipe);
    if (binder >= 0) return binder;
    int best = -1;
    double least = INFINITY;
    for (size_t i = 0; i < task->recipe->shelf.count; i++) {
        const double risk = risk_of(task, mass_g, (int)i, 1);
        if (task->recipe->part[i] < BED_TONER_LEAST_PART || risk >= least) continue;
        least = risk;
        best = (int)i;
    }
    return best;
}

/* A round figure that is easy to remember. 0: not worth two pours. */
static double bed_grams(const struct pour_task *task, double toner_g) {
    const double g =
        fmin(.5 * toner_g, fmax(BED_PART * task->batch_g, fmin(BED_LEAST_G, .25 * task->batch_g)));
    const double figure = g >= 2 ? floor(g) : floor(2 * g) / 2;
    return figure >= BED_WORTH_G ? weighing_round(&task->scale, figure) : 0;
}

struct order {
    int toner;
    double risk, fraction;
};

/* Largest risk first; ties (to 1e-4 of a dE00, docs/decisions.md) by id. */
static bool goes_before(const struct pour_recipe *recipe, const struct order *a, const struct order *b) {
    const double ra = round(a->risk * 1e4), rb = round(b->risk * 1e4);
    if (ra > rb || rb > ra) return ra > rb;
    return strcmp(recipe->shelf.toner[a->toner].id, recipe->shelf.toner[b->toner].id) < 0;
}

static size_t sort_by_risk(const struct pour_task *task, const double mass_g[], const double fraction[],
                           int bed, struct order order[]) {
    size_t count = 0;
    for (size_t i = 0; i < task->recipe->shelf.count; i++) {
        if ((int)i == bed) continue;
        const struct order here = {(int)i, risk_of(task, mass_g, (int)i, fraction[i]), fraction[i]};
        size_t at = count++;
        for (; at && goes_before(task->recipe, &here, &order[at - 1]); at--) order[at] = order[at - 1];
        order[at] = here;
    }
    return count;
}

static void add_step(struct pour_plan *plan, int toner, double fraction, double g) {
    plan->step[plan->count++] =
        (struct pour_step){.toner = toner, .let_down = {.fraction = fraction}, .g = g};
}

/* Steps in order with exact grams; toner_g holds the exact masses. */
static void lay_out(const struct pour_task *task, const double fraction[], struct pour_plan *plan) {
    struct order order[RECIPE_TONERS_MOST];
    const int bed = bed_toner(task, plan->toner_g);
    const size_t others = sort_by_risk(task, plan->toner_g, fraction, bed, order);
    double bed_total = bed >= 0 ? plan->toner_g[bed] : 0;
    for (size_t i = 0; i < others; i++)
        if (order[i].fraction < 1) bed_total -= plan->toner_g[order[i].toner] * (1 / order[i].fraction - 1);
    const double first = bed >= 0 && others ? bed_grams(task, bed_total) : 0;
    plan->count = 0;
    if (first > 0) {
        add_step(plan, bed, 1, first);
        plan->step[0].first_part = true;
    }
    for (size_t i = 0; i < others; i++)
        add_step(plan, order[i].toner, order[i].fraction, plan->toner_g[order[i].toner] / order[i].fraction);
    if (bed < 0 || !(bed_total - first > 0)) return;
    add_step(plan, bed, 1, bed_total - first);
    plan->step[plan->count - 1].rest = first > 0;
}

/* The binder must have room for all that comes in with the let-downs. */
static bool may_let_down(const struct pour_task *task, const double mass_g[], const double fraction[],
                         int toner) {
    const int binder = pour_binder(task->recipe);
    if (!task->let_downs || binder < 0 || toner == binder || fraction[toner] < 1) return false;
    if (mass_g[toner] > LET_DOWN_LARGEST_PART * task->batch_g) return false;
    double room = mass_g[binder] - mass_g[toner] * (1 / POUR_LET_DOWN - 1);
    for (size_t i = 0; i < task->recipe->shelf.count; i++) room -= mass_g[i] * (1 / fraction[i] - 1);
    return room >= 0;
}

/* The step that costs most at the scale's smallest window and can be let down; -1 for none. */
static int worst_step(const struct pour_task *task, const double fraction[], const struct pour_plan *plan,
                      const double cost[]) {
    int worst = -1;
    for (size_t j = 0; j < plan->count; j++) {
        if (plan->step[j].first_part || !may_let_down(task, plan->toner_g, fraction, plan->step[j].toner))
            continue;
        if (worst < 0 || cost[j] > cost[worst]) worst = (int)j;
    }
    return worst;
}

/* The step with the smallest window under half a drop, of a toner too light for the scale to weigh to 1 in
 * 50; -1 for none. */
static int hardest_step(const struct pour_task *task, const double fraction[], const struct pour_plan *plan,
                        const double window[]) {
    const double light_g = weighing_least_net_g(&task->scale, LIGHT_PART);
    int hardest = -1;
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        if (step->first_part || window[j] >= WEIGHING_HALF_DROP_G || plan->toner_g[step->toner] >= light_g)
            continue;
        if (!may_let_down(task, plan->toner_g, fraction, step->toner)) continue;
        if (hardest < 0 || window[j] < window[hardest]) hardest = (int)j;
    }
    return hardest;
}

/* Lets toners down, one by one, until the scale and the hand are fine enough. */
static void choose_let_downs(const struct pour_task *task, double fraction[], struct pour_plan *plan) {
    for (;;) {
        double window[POUR_STEPS_MOST], cost[POUR_STEPS_MOST];
        lay_out(task, fraction, plan);
        const bool fine = pour_window_wanted(task, plan, window, cost);
        const int step =
            fine ? hardest_step(task, fraction, plan, window) : worst_step(task, fraction, plan, cost);
        if (step < 0) return;
        fraction[plan->step[step].toner] = POUR_LET_DOWN;
    }
}

/* What a gram of the toner that should have been binder costs. */
static double dearness(const struct pour_task *task, const double mass_g[], int toner) {
    struct pour_answer of_toner, of_binder;
    pour_answer_of(task->recipe, mass_g, toner, 1, &of_toner);
    pour_answer_of(task->recipe, mass_g, pour_binder(task->recipe), 1, &of_binder);
    for (int r = 0; r < 3; r++) of_toner.v[r] -= of_binder.v[r];
    return pour_answer_size(&of_toner);
}

double pour_let_down_make(const struct pour_task *task, const double mass_g[], int toner, double g,
                          double de00, struct let_down *out) {
    const double f = POUR_LET_DOWN, per_part = dearness(task, mass_g, toner) * f * g;
    const double part = fmin(LIGHT_PART, de00 / fmax(per_part, 1e-9));
    const double toner_g = (1 - f) * hypot(1, f / (1 - f)) * weighing_least_net_g(&task->scale, part);
    const double least = fmax(LET_DOWN_LEAST_G, fmax(LET_DOWN_SPARE * g, toner_g / f));
    out->fraction = f;
    out->make_g = LET_DOWN_ROUND_G * ceil(least / LET_DOWN_ROUND_G - 1e-9);
    out->toner_g = weighing_round(&task->scale, out->make_g * f);
    out->binder_g = weighing_round(&task->scale, out->make_g - out->toner_g);
    return per_part * 2 * (1 - f) * weighing_addition_sd(&task->scale) *
           hypot(1 / out->toner_g, 1 / out->binder_g);
}

static void make_let_downs(const struct pour_task *task, struct pour_plan *plan) {
    size_t count = 0;
    for (size_t j = 0; j < plan->count; j++) count += plan->step[j].let_down.fraction < 1;
    for (size_t j = 0; j < plan->count; j++) {
        struct pour_step *step = &plan->step[j];
        if (step->let_down.fraction >= 1) continue;
        const double cost =
            pour_let_down_make(task, plan->toner_g, step->toner, step->g,
                               LET_DOWN_SHARE * plan->allowance_de00 / sqrt((double)count), &step->let_down);
        plan->let_down_de00 = hypot(plan->let_down_de00, cost);
    }
}

static void toner_masses(const struct pour_recipe *recipe, const struct pour_plan *plan, double mass_g[]) {
    for (size_t i = 0; i < recipe->shelf.count; i++) mass_g[i] = 0;
    for (size_t j = 0; j < plan->count; j++)
        pour_add(recipe, plan->step[j].toner, plan->step[j].let_down.fraction, plan->step[j].g, mass_g);
}

/* Grams on the grid: bit j of choice takes the upper neighbour of step j; the last step takes what is left.
 */
static bool take_choice(const struct pour_task *task, const struct pour_plan *exact, unsigned choice,
                        struct pour_plan *out) {
    double left = weighing_round(&task->scale, task->batch_g);
    *out = *exact;
    for (size_t j = 0; j + 1 < out->count; j++) {
        const double down = weighing_round_down(&task->scale, out->step[j].g);
        out->step[j].g = choice >> j & 1u ? weighing_round_up(&task->scale, out->step[j].g) : down;
        left -= out->step[j].g;
    }
    out->step[out->count - 1].g = weighing_round(&task->scale, left);
    return left > -.5 * task->scale.step_g;
}

static void put_on_grid(const struct pour_task *task, struct pour_plan *plan) {
    const struct pour_plan exact = *plan;
    double least = INFINITY;
    for (unsigned choice = 0; choice < 1u << (exact.count - 1); choice++) {
        struct pour_plan tried;
        if (!take_choice(task, &exact, choice, &tried)) continue;
        toner_masses(task->recipe, &tried, tried.toner_g);
        const double de00 = difference_de00(plan->lab, pour_lab(task->recipe, tried.toner_g));
        if (!(de00 < least - 1e-9)) continue;
        least = de00;
        *plan = tried;
    }
}

static void run_readings(const struct pour_recipe *recipe, struct pour_plan *plan) {
    double reading = 0;
    for (size_t j = 0; j < plan->count; j++) {
        struct pour_step *step = &plan->step[j];
        const int binder = pour_binder(recipe);
        const double density = recipe->shelf.toner[step->toner].density_g_ml,
                     fraction = step->let_down.fraction;
        reading += step->g;
        step->reading_g = reading;
        step->ml = density > 0 ? step->g * fraction / density : 0;
        if (fraction >= 1 || density <= 0) continue;
        const double other = recipe->shelf.toner[binder].density_g_ml;
        step->ml = other > 0 ? step->ml + step->g * (1 - fraction) / other : 0;
    }
    plan->total_g = reading;
}

static void drop_empty_steps(struct pour_plan *plan) {
    size_t kept = 0;
    for (size_t j = 0; j < plan->count; j++)
        if (plan->step[j].g > 0) plan->step[kept++] = plan->step[j];
    plan->count = kept;
}

void pour_plan_make(const struct pour_task *task, struct pour_plan *plan) {
    const struct pour_recipe *recipe = task->recipe;
    assert(task->batch_g > 0 && task->tolerance_de00 > 0 && recipe->shelf.count > 0);
    *plan = (struct pour_plan){.recipe_de00 = (double)NAN};
    double fraction[RECIPE_TONERS_MOST];
    for (size_t i = 0; i < recipe->shelf.count; i++) {
        fraction[i] = 1;
        plan->toner_g[i] = recipe->part[i] * task->batch_g;
    }
    plan->lab = plan->grid_lab = pour_lab(recipe, plan->toner_g);
    if (recipe->has_target) plan->recipe_de00 = difference_de00(recipe->target, plan->lab);
    const double used = recipe->has_target ? plan->recipe_de00 : 0;
    plan->allowance_de00 = fmax(task->tolerance_de00 - used, ALLOWANCE_LEAST * task->tolerance_de00);
    choose_let_downs(task, fraction, plan);
    make_let_downs(task, plan);
    put_on_grid(task, plan);
    drop_empty_steps(plan);
    run_readings(recipe, plan);
    plan->grid_lab = pour_lab(recipe, plan->toner_g);
    pour_window_set(task, plan);
}
