/* Windows from the colour's sensitivity.
 *
 * Close to the recipe's colour dE00 = |F dLab| (F: difference_metric), so a miss of w grams of step j costs
 * |v_j| w with v_j = F dLab/dg_j. The scale is not re-zeroed and the readings stand on paper: what step j is
 * over, step j + 1 is under when it is poured to its own reading. A miss of a reading therefore costs |v_j -
 * v_(j+1)| w; when the plan is worked out anew after each pour it costs |v_j| w. The larger of the two
 * counts:  a_j = max(|v_j|, |v_j - v_(j+1)|).
 *
 * Every pour is made equally hard:  w_j = lambda e_j,  e_j = what a careful hand misses by (weighing_slip_g;
 * for the bed of the cup a dropper's .02 g, because a first pour can be taken out again), never under what
 * the scale resolves, and never over a drop and 5 % of the pour, .5 g or half the pour: beyond the colour
 * there are film, sheen and hiding. lambda is the largest with  sum a_j w_j <= allowance. When even the
 * smallest windows cost more than the allowance, the scale is too coarse for the batch: the steps that cost
 * more than an equal share are marked (below_scale), and let down where they can be.
 *
 * Then the true prediction has its say: each side shrinks until its own miss, taken back by the next pour or
 * not, costs at most its share, and all windows shrink until no corner of the box of misses (2^n, both ways
 * of pouring) leaves the allowance, of which the let-downs have taken their part (pour.c). A window that the
 * scale cannot resolve is set to what it resolves, and said to be (below_scale); the worst corner then tells
 * the truth. */
#include "paint/pour_window.h"
#include "colour/difference.h"
#include <math.h>
#include <string.h>

static const double BED_SLIP_G = .02, CAP_DROP_G = .05, CAP_PART = .05, CAP_MOST_G = .5;
static const double SHARE_LEAST = .02; /* of the allowance: under it the curvature counts, not the slope */
enum { SHRINKS_MOST = 12 };

double pour_answer_size(const struct pour_answer *answer) {
    return sqrt(answer->v[0] * answer->v[0] + answer->v[1] * answer->v[1] + answer->v[2] * answer->v[2]);
}

static double total_of(const double mass_g[], size_t count) {
    double total = 0;
    for (size_t i = 0; i < count; i++) total += mass_g[i];
    return total;
}

static struct lab lab_after(const struct pour_recipe *recipe, const double mass_g[], int toner,
                            double fraction, double g) {
    double mass[RECIPE_TONERS_MOST];
    memcpy(mass, mass_g, recipe->shelf.count * sizeof *mass);
    pour_add(recipe, toner, fraction, g, mass);
    return pour_lab(recipe, mass);
}

void pour_answer_of(const struct pour_recipe *recipe, const double mass_g[], int toner, double fraction,
                    struct pour_answer *out) {
    const double total = total_of(mass_g, recipe->shelf.count);
    const double h = fmin(1e-4 * total, .25 * mass_g[toner] / fraction);
    const struct de00_metric metric = difference_metric(pour_lab(recipe, mass_g));
    const struct lab up = lab_after(recipe, mass_g, toner, fraction, h),
                     down = lab_after(recipe, mass_g, toner, fraction, -h);
    const double d[3] = {(up.l - down.l) / (2 * h), (up.a - down.a) / (2 * h), (up.b - down.b) / (2 * h)};
    for (int r = 0; r < 3; r++)
        out->v[r] = metric.f[r][0] * d[0] + metric.f[r][1] * d[1] + metric.f[r][2] * d[2];
}

static double apart(const struct pour_answer *a, const struct pour_answer *b) {
    const struct pour_answer d = {{a->v[0] - b->v[0], a->v[1] - b->v[1], a->v[2] - b->v[2]}};
    return pour_answer_size(&d);
}

static void cost_per_gram(const struct pour_task *task, const struct pour_plan *plan, double cost[]) {
    struct pour_answer answer[POUR_STEPS_MOST];
    for (size_t j = 0; j < plan->count; j++)
        pour_answer_of(task->recipe, plan->toner_g, plan->step[j].toner, plan->step[j].let_down.fraction,
                       &answer[j]);
    for (size_t j = 0; j < plan->count; j++) {
        cost[j] = pour_answer_size(&answer[j]);
        if (j + 1 < plan->count) cost[j] = fmax(cost[j], apart(&answer[j], &answer[j + 1]));
    }
}

static double slip_of(const struct pour_step *step) {
    return step->first_part ? BED_SLIP_G : weighing_slip_g(step->g);
}

static double cap_of(const struct pour_step *step) {
    return fmin(CAP_DROP_G + CAP_PART * step->g, fmin(CAP_MOST_G, .5 * step->g));
}

/* The windows for one lambda, and what they cost together. */
static double windows_at(const struct pour_task *task, const struct pour_plan *plan, const double cost[],
                         double lambda, double window_g[]) {
    const double smallest = weighing_smallest_window(&task->scale);
    double spent = 0;
    for (size_t j = 0; j < plan->count; j++) {
        const double open = fmin(lambda * slip_of(&plan->step[j]), cap_of(&plan->step[j]));
        window_g[j] = fmax(open, smallest);
        spent += cost[j] * window_g[j];
    }
    return spent;
}

bool pour_window_wanted(const struct pour_task *task, const struct pour_plan *plan, double window_g[],
                        double cost[]) {
    double inside = 0, outside = 64; /* 64 slips: every cap is reached long before */
    cost_per_gram(task, plan, cost);
    const double beside = sqrt(
        fmax(0, plan->allowance_de00 * plan->allowance_de00 - plan->let_down_de00 * plan->let_down_de00));
    const double allowance =
        beside - difference_de00(plan->lab, plan->grid_lab); /* the grid has had its part */
    if (windows_at(task, plan, cost, 0, window_g) > allowance) return false;
    for (int i = 0; i < 50; i++) {
        const double middle = .5 * (inside + outside);
        if (windows_at(task, plan, cost, middle, window_g) <= allowance)
            inside = middle;
        else
            outside = middle;
    }
    windows_at(task, plan, cost, inside, window_g);
    return true;
}

/* Of a pot that was missed: what would be less than nothing was not poured at all (a window may be wider than
 * a small pour). */
static struct lab lab_of_missed(const struct pour_recipe *recipe, const double mass_g[]) {
    double mass[RECIPE_TONERS_MOST];
    for (size_t i = 0; i < recipe->shelf.count; i++) mass[i] = fmax(0, mass_g[i]);
    return pour_lab(recipe, mass);
}

/* The cost of missing step j alone by g, and of the next pour taking it back. */
static double single_miss(const struct pour_task *task, const struct pour_plan *plan, size_t j, double g) {
    const struct pour_recipe *recipe = task->recipe;
    double mass[RECIPE_TONERS_MOST];
    memcpy(mass, plan->toner_g, recipe->shelf.count * sizeof *mass);
    pour_add(recipe, plan->step[j].toner, plan->step[j].let_down.fraction, g, mass);
    const double alone = difference_de00(plan->grid_lab, lab_of_missed(recipe, mass));
    if (j + 1 == plan->count) return alone;
    pour_add(recipe, plan->step[j + 1].toner, plan->step[j + 1].let_down.fraction, -g, mass);
    return fmax(alone, difference_de00(plan->grid_lab, lab_of_missed(recipe, mass)));
}

static double side_within(const struct pour_task *task, const struct pour_plan *plan, size_t j, double window,
                          double sign, double share) {
    if (single_miss(task, plan, j, sign * window) <= share) return window;
    double inside = 0, outside = window;
    for (int i = 0; i < 20; i++) {
        const double middle = .5 * (inside + outside);
        if (single_miss(task, plan, j, sign * middle) <= share)
            inside = middle;
        else
            outside = middle;
    }
    return inside;
}

/* One corner of the box: every reading (or every pour, when the plan follows) at its upper or lower end. */
static double corner(const struct pour_task *task, const struct pour_plan *plan, unsigned bits,
                     bool readings) {
    double mass[RECIPE_TONERS_MOST], before = 0;
    memcpy(mass, plan->toner_g, task->recipe->shelf.count * sizeof *mass);
    for (size_t j = 0; j < plan->count; j++) {
        const struct pour_step *step = &plan->step[j];
        const double miss = bits >> j & 1u ? step->plus_g : -step->minus_g;
        pour_add(task->recipe, step->toner, step->let_down.fraction, miss - before, mass);
        before = readings ? miss : 0;
    }
    return difference_de00(plan->lab, lab_of_missed(task->recipe, mass));
}

static double worst_corner(const struct pour_task *task, const struct pour_plan *plan) {
    double worst = 0;
    for (unsigned bits = 0; bits < 1u << plan->count; bits++) {
        worst = fmax(worst, corner(task, plan, bits, true));
        worst = fmax(worst, corner(task, plan, bits, false));
    }
    return worst;
}

static double on_scale(const struct scale *scale, double window) {
    return fmax(weighing_round_down(scale, window), weighing_smallest_window(scale));
}

static void set_step(const struct pour_task *task, struct pour_plan *plan, size_t j, double window,
                     double share) {
    struct pour_step *step = &plan->step[j];
    step->plus_g = on_scale(&task->scale, side_within(task, plan, j, window, 1, share));
    step->minus_g = fmin(on_scale(&task->scale, side_within(task, plan, j, window, -1, share)),
                         weighing_round_down(&task->scale, step->g));
    step->share_de00 =
        fmax(single_miss(task, plan, j, step->plus_g), single_miss(task, plan, j, -step->minus_g));
}

static void set_all(const struct pour_task *task, struct pour_plan *plan, const double wanted[],
                    const double cost[], double shrink) {
    for (size_t j = 0; j < plan->count; j++)
        set_step(task, plan, j, shrink * wanted[j],
                 fmax(shrink * wanted[j] * cost[j], SHARE_LEAST * plan->allowance_de00));
    plan->worst_de00 = hypot(worst_corner(task, plan), plan->let_down_de00);
}

void pour_window_set(const struct pour_task *task, struct pour_plan *plan) {
    double wanted[POUR_STEPS_MOST], cost[POUR_STEPS_MOST], shrink = 1;
    pour_window_wanted(task, plan, wanted, cost);
    set_all(task, plan, wanted, cost, shrink);
    for (int i = 0; i < SHRINKS_MOST && plan->worst_de00 > plan->allowance_de00; i++) {
        shrink *= fmax(.5, .99 * plan->allowance_de00 / plan->worst_de00);
        set_all(task, plan, wanted, cost, shrink);
    }
    plan->scale_too_coarse = plan->worst_de00 > plan->allowance_de00;
    const double equal = plan->allowance_de00 / (double)plan->count,
                 smallest = weighing_smallest_window(&task->scale);
    for (size_t j = 0; j < plan->count; j++)
        plan->step[j].below_scale = plan->scale_too_coarse && cost[j] * smallest > equal;
}
