/* The rescue of an over-pour.
 *
 * Whole: minimise sum x_i / density_i  subject to  q + x = S r,  x >= 0,  S >= wanted.  Every x_i = S r_i -
 * q_i grows with S, so the least S is the answer whatever the densities:  S = max(wanted, max_i q_i / r_i).
 * (Checked against a linear program: tests/outside/rescue_test.c.)
 *
 * With V grams of additions (less than the whole): minimise  |(dE00 in daylight, .4 dE00 under A, film)| over
 * x >= 0, sum x = V,  where  film  is 0 while the binder's share stays within a tenth of the recipe's and
 * grows beyond it (RESCUE_BINDER_*): colour must not be bought with a film that does not hold. Gauss-Newton
 * in the metric of dE00 at the recipe's colour; each step's convex quadratic program min |rho + J (y - x)|^2
 * + eps^2 |y|^2, y
 * >= 0, sum y = V is solved by looking at every set of toners that may be positive (at most 2^8 of them,
 * Cholesky each; the sum as a heavy row); the line to its solution is searched on the true cost. Started from
 * the whole rescue and from the unfinished plan, both scaled to V. It stops after 40 steps or when a step
 * gains less than 1e-6; the better end wins. The quadratic's optimum is exact, that of the true problem is
 * compared with a compass search in the tests, not proven. The least V that is good enough is found by
 * bisection between the unfinished plan and the limit.
 *
 * Grams end on the scale's grid, floor or ceiling of each pour by the colour (all combinations). Where that
 * misses the goal and the exact grams would not, toners are let down 1 to 9 in the binder that goes in anyway
 * (a tenth of the grid for them), one by one, the one that brings most first; the whole rescue tries so
 * within 1 % more than the least additions, then up to a tenth more, or a fiftieth of the pot. */
#include "paint/rescue.h"
#include "base/dense.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum {
    UNKNOWNS_MOST = RECIPE_TONERS_MOST,
    LIGHTS = 2,
    ROWS = 3 * LIGHTS + 1,
    STEPS_MOST = 40,
    HALVINGS = 12,
    BISECTIONS = 14,
    GROWTHS = 20
};
static const double GRID_HARM = .02; /* dE00 that a grid may cost beside a goal that is missed anyway */
static const double LET_DOWN_DROP_G = .05, LET_DOWN_SLACK = .05; /* windows where the plan has none */
static const double SUM_WEIGHT = 1e3, RIDGE = 1e-3, GAIN_LEAST = 1e-6;

struct problem {
    const struct pour_task *task;
    const struct pour_state *state;
    size_t count;
    struct lab wanted[LIGHTS]; /* the recipe's colour under D65 and A */
    struct de00_metric metric[LIGHTS];
    double most_g;
    bool finer; /* more let-downs than the plan has */
};

static double sum(const double v[], size_t n) {
    double total = 0;
    for (size_t i = 0; i < n; i++) total += v[i];
    return total;
}

/* A second light, at a lesser weight, keeps a rescue from trading one pigment for another that only looks the
 * same by day. */
static const double light_weight[LIGHTS] = {1, .4};

static void labs_of(const struct pour_recipe *recipe, const double mass_g[], struct lab out[LIGHTS]) {
    static const enum light lights[LIGHTS] = {LIGHT_D65, LIGHT_A};
    double part[RECIPE_TONERS_MOST];
    const double total = sum(mass_g, recipe->shelf.count);
    for (size_t i = 0; i < recipe->shelf.count; i++) part[i] = mass_g[i] / total;
    struct spectrum reflectance;
    predict_reflectance(&recipe->shelf, part, &recipe->film, &reflectance);
    for (int l = 0; l < LIGHTS; l++)
        out[l] = lab_of_spectrum(&reflectance, weights_of((struct view){lights[l], OBSERVER_10}));
}

static void problem_set(struct problem *problem, const struct pour_task *task,
                        const struct pour_state *state) {
    *problem = (struct problem){.task = task, .state = state, .count = task->recipe->shelf.count};
    labs_of(task->recipe, task->recipe->part, problem->wanted);
    for (int l = 0; l < LIGHTS; l++) problem->metric[l] = difference_metric(problem->wanted[l]);
}

/* The binder's share of the pot against the recipe's, minus 1; 0 for a recipe without binder. */
static double binder_change(const struct pour_recipe *recipe, const double pot_g[]) {
    const int binder = pour_binder(recipe);
    return binder < 0 ? 0 : pot_g[binder] / sum(pot_g, recipe->shelf.count) / recipe->part[binder] - 1;
}

static double film_cost(double change) {
    const double beyond = fabs(change) - RESCUE_BINDER_FREE;
    return beyond > 0 ? copysign(RESCUE_BINDER_COST * beyond, change) : 0;
}

static double cost_of_pot(const struct problem *problem, const double pot_g[]) {
    struct lab lab[LIGHTS];
    labs_of(problem->task->recipe, pot_g, lab);
    double squares = 0;
    for (int l = 0; l < LIGHTS; l++) {
        const double d = light_weight[l] * difference_de00(problem->wanted[l], lab[l]);
        squares += d * d;
    }
    return hypot(sqrt(squares), film_cost(binder_change(problem->task->recipe, pot_g)));
}

double rescue_cost(const struct pour_task *task, const double pot_g[]) {
    struct problem problem;
    problem_set(&problem, task, NULL);
    return cost_of_pot(&problem, pot_g);
}

static void pot_with(const struct problem *problem, const double add_g[], double pot_g[]) {
    for (size_t i = 0; i < problem->count; i++) pot_g[i] = problem->state->in_pot_g[i] + add_g[i];
}

static double cost_of(const struct problem *problem, const double add_g[]) {
    double pot[RECIPE_TONERS_MOST];
    pot_with(problem, add_g, pot);
    return cost_of_pot(problem, pot);
}

/* How far around the exact pours the grid is looked at: their two neighbours, or the nearest and those beside
 * it. */
enum around { NEIGHBOURS = 2, BESIDE = 3 };

static double grid_g(const struct scale *scale, double wanted, size_t digit, enum around around) {
    if (around == BESIDE) return weighing_round(scale, wanted) + ((double)digit - 1) * scale->step_g;
    return digit ? weighing_round_up(scale, wanted) : weighing_round_down(scale, wanted);
}

/* One of the combinations: a digit of choice for each toner. False when more binder comes in with the
 * let-downs than is wanted. */
static bool take_choice(const struct problem *problem, const double exact_g[], size_t choice,
                        enum around around, struct rescue *out) {
    const struct scale *scale = &problem->task->scale;
    const int binder = pour_binder(problem->task->recipe);
    double comes_g = 0;
    for (size_t pass = 0; pass < 2; pass++)
        for (size_t i = 0, digits = choice; i < problem->count; i++, digits /= around) {
            if (((int)i == binder) != (pass == 1)) continue;
            const double wanted = (exact_g[i] - ((int)i == binder ? comes_g : 0)) / out->fraction[i];
            if (wanted < -.5 * scale->step_g) return false;
            out->pour_g[i] = fmax(0, grid_g(scale, wanted, digits % around, around));
            out->add_g[i] = out->pour_g[i] * out->fraction[i] + ((int)i == binder ? comes_g : 0);
            if ((int)i != binder) comes_g += out->pour_g[i] * (1 - out->fraction[i]);
        }
    return true;
}

/* Whichever combination comes closest and stays inside most_g. */
static double put_on_grid(const struct problem *problem, const double exact_g[], double most_g,
                          enum around around, struct rescue *out) {
    const double slack = 1e-6 * problem->task->scale.step_g;
    struct rescue tried = *out;
    double least = INFINITY;
    size_t choices = 1;
    for (size_t i = 0; i < problem->count; i++) choices *= around;
    for (size_t choice = 0; choice < choices; choice++) {
        if (!take_choice(problem, exact_g, choice, around, &tried)) continue;
        if (isfinite(least) && sum(tried.add_g, problem->count) > most_g + slack) continue;
        const double cost = cost_of(problem, tried.add_g);
        if (!(cost < least - 1e-9)) continue;
        least = cost;
        *out = tried;
    }
    return least;
}

/* The binder that must go in takes up what comes in with the let-downs, and with this one more. */
static bool may_let_down(const struct problem *problem, const double exact_g[], const double fraction[],
                         int toner) {
    const int binder = pour_binder(problem->task->recipe);
    if (binder < 0 || toner == binder || fraction[toner] < 1 || exact_g[toner] <= 0) return false;
    double room = exact_g[binder] - exact_g[toner] * (1 / POUR_LET_DOWN - 1);
    for (size_t i = 0; i < problem->count; i++) room -= exact_g[i] * (1 / fraction[i] - 1);
    return room >= 0;
}

static void let_down_as_planned(const struct problem *problem, const double exact_g[], struct rescue *out) {
    for (size_t i = 0; i < problem->count; i++) out->fraction[i] = 1;
    for (size_t i = 0; i < problem->count; i++)
        if (problem->state->fraction[i] < 1 && may_let_down(problem, exact_g, out->fraction, (int)i))
            out->fraction[i] = POUR_LET_DOWN;
}

/* One toner more let down, the one that brings most; false when none brings anything. */
static bool let_down_one(const struct problem *problem, const double exact_g[], double most_g, double *cost,
                         struct rescue *out) {
    const struct rescue before = *out;
    const double at_first = *cost;
    for (size_t i = 0; i < problem->count; i++) {
        struct rescue tried = before;
        if (!may_let_down(problem, exact_g, before.fraction, (int)i)) continue;
        tried.fraction[i] = POUR_LET_DOWN;
        const double there = put_on_grid(problem, exact_g, most_g, NEIGHBOURS, &tried);
        if (!(there < *cost - 1e-6)) continue;
        *cost = there;
        *out = tried;
    }
    return *cost < at_first;
}

/* On the grid, with as many let-downs as the goal asks for and the problem allows. */
static double make_weighable(const struct problem *problem, const double exact_g[], double most_g,
                             double goal, struct rescue *out) {
    let_down_as_planned(problem, exact_g, out);
    double cost = put_on_grid(problem, exact_g, most_g, NEIGHBOURS, out);
    if (!problem->finer || !problem->task->let_downs) return cost;
    const double exact = cost_of(problem, exact_g);
    if (exact > goal && cost - exact < GRID_HARM) return cost;
    while (cost > goal && let_down_one(problem, exact_g, most_g, &cost, out)) continue;
    struct rescue beside = *out;
    if (cost > goal && put_on_grid(problem, exact_g, most_g, BESIDE, &beside) < cost)
        *out = beside, cost = cost_of(problem, beside.add_g);
    return cost;
}

static double planned_total(const struct problem *problem) {
    return problem->state->keep * weighing_round(&problem->task->scale, problem->task->batch_g);
}

static void report(const struct problem *problem, struct rescue *out) {
    const struct pour_recipe *recipe = problem->task->recipe;
    out->added_g = sum(out->add_g, problem->count);
    out->total_g = out->added_g + sum(problem->state->in_pot_g, problem->count);
    out->extra_g = out->total_g - planned_total(problem);
    out->added_ml = 0;
    for (size_t i = 0; i < problem->count; i++) {
        if (out->add_g[i] <= 0) continue;
        const double density = recipe->shelf.toner[i].density_g_ml;
        out->added_ml += density > 0 ? out->add_g[i] / density : (double)NAN;
    }
    double pot[RECIPE_TONERS_MOST];
    pot_with(problem, out->add_g, pot);
    const struct lab lab = pour_lab(recipe, pot);
    out->binder_change = binder_change(recipe, pot);
    struct lab both[LIGHTS];
    labs_of(recipe, pot, both);
    out->de00 = difference_de00(problem->wanted[0], lab);
    out->de00_a = difference_de00(problem->wanted[1], both[1]);
    out->target_de00 = recipe->has_target ? difference_de00(recipe->target, lab) : (double)NAN;
    out->fits = out->total_g <= problem->task->pot_g + 1e-6 * problem->task->scale.step_g;
}

static double least_total(const struct problem *problem) {
    const double *in = problem->state->in_pot_g, *part = problem->task->recipe->part;
    double total = planned_total(problem);
    for (size_t i = 0; i < problem->count; i++) total = fmax(total, in[i] / part[i]);
    return total;
}

static void whole_exact(const struct problem *problem, double total, double add_g[]) {
    for (size_t i = 0; i < problem->count; i++)
        add_g[i] = fmax(0, total * problem->task->recipe->part[i] - problem->state->in_pot_g[i]);
}

static void try_whole(const struct problem *problem, double total_g, struct rescue *out) {
    double exact[RECIPE_TONERS_MOST];
    whole_exact(problem, total_g, exact);
    *out = (struct rescue){0};
    make_weighable(problem, exact, INFINITY, RESCUE_RESTORED_DE00, out);
    report(problem, out);
}

/* A pot that is a little larger may fall better on the scale's grid, and has more room for let-downs. By how
 * much: of the additions, or of the pot where that is more (additions of a tenth of a gram have no room). */
static const struct growth {
    double from, to, to_of_pot;
    bool finer;
} growths[] = {{0, .01, 0, false}, {0, .01, 0, true}, {.01, .10, 0, true}, {.10, .10, .02, true}};

/* The smallest that restores the colour is taken; else what comes nearest within 1 %. */
void rescue_whole(const struct pour_task *task, const struct pour_state *state, struct rescue *out) {
    struct problem problem;
    problem_set(&problem, task, state);
    const double least = least_total(&problem), added = least - sum(state->in_pot_g, problem.count);
    try_whole(&problem, least, out);
    if (!out->fits) return;
    for (size_t g = 0; g < sizeof growths / sizeof *growths; g++)
        for (int i = 0; i <= GROWTHS; i++) {
            const double from_g = growths[g].from * added,
                         to_g = fmax(growths[g].to * added, growths[g].to_of_pot * least);
            struct rescue tried;
            problem.finer = growths[g].finer;
            try_whole(&problem, least + from_g + (to_g - from_g) * i / GROWTHS, &tried);
            if (!tried.fits) break;
            if (task->let_downs && growths[g].to <= .01 && tried.de00 < out->de00) *out = tried;
            if (tried.de00 > RESCUE_RESTORED_DE00) continue;
            *out = tried;
            return;
        }
}

/* The residuals of a pot: three of colour under each light in the metric of dE00, one of the film. */
static void residuals(const struct problem *problem, const double add_g[], double rho[ROWS]) {
    double pot[RECIPE_TONERS_MOST];
    struct lab lab[LIGHTS];
    pot_with(problem, add_g, pot);
    labs_of(problem->task->recipe, pot, lab);
    for (int l = 0; l < LIGHTS; l++) {
        const double(*f)[3] = problem->metric[l].f;
        const double d[3] = {lab[l].l - problem->wanted[l].l, lab[l].a - problem->wanted[l].a,
                             lab[l].b - problem->wanted[l].b};
        for (int r = 0; r < 3; r++)
            rho[3 * l + r] = light_weight[l] * (f[r][0] * d[0] + f[r][1] * d[1] + f[r][2] * d[2]);
    }
    rho[ROWS - 1] = film_cost(binder_change(problem->task->recipe, pot));
}

/* Close to x the residuals are  constant + J y. */
static void linearise(const struct problem *problem, const double x[], double j[ROWS][RECIPE_TONERS_MOST],
                      double constant[ROWS]) {
    const double h = 1e-5 * (sum(x, problem->count) + sum(problem->state->in_pot_g, problem->count));
    double here[ROWS];
    residuals(problem, x, here);
    memcpy(constant, here, sizeof here);
    for (size_t i = 0; i < problem->count; i++) {
        double moved[RECIPE_TONERS_MOST], there[ROWS];
        memcpy(moved, x, problem->count * sizeof *moved);
        moved[i] += h;
        residuals(problem, moved, there);
        for (int r = 0; r < ROWS; r++) {
            j[r][i] = (there[r] - here[r]) / h;
            constant[r] -= j[r][i] * x[i];
        }
    }
}

struct quadratic { /* min y' g y - 2 b' y, y >= 0 */
    size_t n;
    double g[UNKNOWNS_MOST][UNKNOWNS_MOST], b[UNKNOWNS_MOST];
};

static void quadratic_make(const struct problem *problem, double j[ROWS][RECIPE_TONERS_MOST],
                           const double constant[ROWS], struct quadratic *q) {
    *q = (struct quadratic){.n = problem->count};
    const double ridge = RIDGE / problem->task->batch_g, w = SUM_WEIGHT / problem->most_g;
    for (size_t a = 0; a < q->n; a++) {
        for (size_t b = 0; b < q->n; b++) {
            q->g[a][b] = w * w;
            for (int r = 0; r < ROWS; r++) q->g[a][b] += j[r][a] * j[r][b];
        }
        q->g[a][a] += ridge * ridge;
        q->b[a] = w * w * problem->most_g;
        for (int r = 0; r < ROWS; r++) q->b[a] -= j[r][a] * constant[r];
    }
}

/* The minimum with only the unknowns of `set` free; false when one of them would be negative. */
static bool solve_set(const struct quadratic *q, unsigned set, double y[], double *value) {
    double g[UNKNOWNS_MOST * UNKNOWNS_MOST], b[UNKNOWNS_MOST];
    size_t index[UNKNOWNS_MOST], m = 0;
    for (size_t i = 0; i < q->n; i++)
        if (set >> i & 1u) index[m++] = i;
    for (size_t a = 0; a < m; a++) {
        for (size_t c = 0; c < m; c++) g[a * m + c] = q->g[index[a]][index[c]];
        b[a] = q->b[index[a]];
    }
    if (!dense_cholesky(g, m)) return false;
    dense_cholesky_solve(g, m, b);
    for (size_t i = 0; i < q->n; i++) y[i] = 0;
    *value = 0;
    for (size_t a = 0; a < m; a++) {
        if (b[a] < 0) return false;
        y[index[a]] = b[a];
        *value -= b[a] * q->b[index[a]];
    }
    return true;
}

static void quadratic_solve(const struct quadratic *q, double best[]) {
    double least = INFINITY;
    for (size_t i = 0; i < q->n; i++) best[i] = 0;
    for (unsigned set = 1; set < 1u << q->n; set++) {
        double y[UNKNOWNS_MOST], value;
        if (!solve_set(q, set, y, &value) || !(value < least)) continue;
        least = value;
        memcpy(best, y, q->n * sizeof *y);
    }
}

/* Moves x towards y as far as the true difference falls; what was gained. */
static double step_along(const struct problem *problem, double x[], const double y[], double *cost) {
    double part = 1;
    for (int i = 0; i < HALVINGS; i++, part *= .5) {
        double tried[RECIPE_TONERS_MOST];
        for (size_t k = 0; k < problem->count; k++) tried[k] = x[k] + part * (y[k] - x[k]);
        const double there = cost_of(problem, tried);
        if (!(there < *cost)) continue;
        const double gained = *cost - there;
        memcpy(x, tried, problem->count * sizeof *tried);
        *cost = there;
        return gained;
    }
    return 0;
}

static void scale_to(double x[], size_t n, double total_g) {
    const double total = sum(x, n);
    for (size_t i = 0; i < n && total > 0; i++) x[i] *= total_g / total;
}

static double descend(const struct problem *problem, double x[]) {
    double cost = cost_of(problem, x);
    for (int i = 0; i < STEPS_MOST; i++) {
        double j[ROWS][RECIPE_TONERS_MOST], constant[ROWS], y[UNKNOWNS_MOST];
        struct quadratic q;
        linearise(problem, x, j, constant);
        quadratic_make(problem, j, constant, &q);
        quadratic_solve(&q, y);
        scale_to(y, problem->count, problem->most_g);
        if (step_along(problem, x, y, &cost) < GAIN_LEAST) break;
    }
    return cost;
}

/* The best additions that weigh most_g, not yet on the grid. */
static double best_of_weight(struct problem *problem, double most_g, double best[]) {
    double start[2][RECIPE_TONERS_MOST], least = INFINITY;
    problem->most_g = most_g;
    whole_exact(problem, least_total(problem), start[0]);
    for (size_t i = 0; i < problem->count; i++)
        start[1][i] = fmax(0, problem->state->stay_mass_g[i] - problem->state->in_pot_g[i]);
    for (int s = 0; s < 2; s++) {
        scale_to(start[s], problem->count, most_g);
        const double cost = descend(problem, start[s]);
        if (!(cost < least)) continue;
        least = cost;
        memcpy(best, start[s], problem->count * sizeof *best);
    }
    return least;
}

static bool try_weight(struct problem *problem, double goal, double most_g, double weight_g,
                       struct rescue *out) {
    double exact[RECIPE_TONERS_MOST] = {0};
    *out = (struct rescue){0};
    if (weight_g > 0) best_of_weight(problem, weight_g, exact);
    const double cost = make_weighable(problem, exact, most_g, goal, out);
    report(problem, out);
    return cost <= goal;
}

void rescue_least(const struct pour_task *task, const struct pour_state *state, double de00, double most_g,
                  struct rescue *out) {
    struct problem problem;
    problem_set(&problem, task, state);
    double outside = fmax(0, sum(state->stay_mass_g, problem.count) - sum(state->in_pot_g, problem.count)),
           inside = fmax(0, most_g);
    bool good = try_weight(&problem, de00, most_g, inside, out);
    if (!good) {
        problem.finer = true;
        good = try_weight(&problem, de00, most_g, inside, out);
    }
    if (outside >= inside) return;
    struct rescue tried;
    const bool little = try_weight(&problem, de00, most_g, outside, &tried);
    if (little || (!good && tried.de00 < out->de00)) *out = tried; /* more would not be better */
    if (little || !good) return;
    for (int i = 0; i < BISECTIONS && inside - outside > .5 * task->scale.step_g; i++) {
        const double middle = .5 * (outside + inside);
        if (try_weight(&problem, de00, most_g, middle, &tried)) {
            inside = middle;
            *out = tried;
        } else {
            outside = middle;
        }
    }
}

int rescue_too_coarse(const struct pour_task *task, const struct pour_state *state,
                      const struct rescue *whole) {
    struct problem problem;
    double pot[RECIPE_TONERS_MOST], least = INFINITY;
    int worst = -1;
    if (whole->de00 <= RESCUE_RESTORED_DE00) return -1;
    problem_set(&problem, task, state);
    pot_with(&problem, whole->add_g, pot);
    for (size_t i = 0; i < problem.count; i++) {
        const double weighed = pot[i];
        pot[i] = task->recipe->part[i] * whole->total_g; /* as if this one could be weighed exactly */
        const double cost = cost_of_pot(&problem, pot);
        if (cost < least) least = cost, worst = (int)i;
        pot[i] = weighed;
    }
    return worst;
}

/* A drop and a twentieth of the pour at most; never under a step of the scale. */
static double window_of_let_down(const struct scale *scale, double window_g, double g) {
    return fmax(weighing_round_down(scale, fmin(window_g, LET_DOWN_DROP_G + LET_DOWN_SLACK * g)),
                scale->step_g);
}

/* The window of the toner's last step in the plan, in grams of what is poured here. */
static void lend_window(const struct pour_task *task, const struct pour_step *step, struct rescue_pour *out) {
    const double least = weighing_smallest_window(&task->scale), same = out->let_down.fraction;
    const double scaled = step ? step->let_down.fraction / same : 1;
    out->minus_g = scaled * (step ? step->minus_g : least);
    out->plus_g = scaled * (step ? step->plus_g : least);
    if (same < 1 && scaled > 1) {
        out->minus_g = window_of_let_down(&task->scale, out->minus_g, out->g);
        out->plus_g = window_of_let_down(&task->scale, out->plus_g, out->g);
    }
    out->plus_g = fmax(weighing_round(&task->scale, out->plus_g), .5 * task->scale.step_g);
    out->minus_g =
        fmin(fmax(weighing_round(&task->scale, out->minus_g), .5 * task->scale.step_g), .5 * out->g);
}

/* What is stirred costs at most a quarter of what counts as restored. The plan's own let-down serves where it
 * holds enough. */
static void find_let_down(const struct pour_task *task, const struct pour_step *step,
                          struct rescue_pour *out) {
    double whole_g[RECIPE_TONERS_MOST];
    const double used_g = task->let_down_poured_g[out->toner];
    if (step && step->let_down.fraction < 1 && step->let_down.make_g - used_g >= out->g) {
        out->let_down = step->let_down;
        out->stirred = used_g > 0;
        return;
    }
    for (size_t i = 0; i < task->recipe->shelf.count; i++) whole_g[i] = task->batch_g * task->recipe->part[i];
    pour_let_down_make(task, whole_g, out->toner, out->g, .25 * RESCUE_RESTORED_DE00, &out->let_down);
}

static void add_pour(const struct pour_task *task, const struct pour_step *step, int toner,
                     const struct rescue *rescue, struct rescue_pour out[], size_t *count) {
    struct rescue_pour *pour = &out[*count];
    if (rescue->pour_g[toner] < .5 * task->scale.step_g) return;
    *pour = (struct rescue_pour){.toner = toner, .g = rescue->pour_g[toner]};
    pour->let_down.fraction = rescue->fraction[toner];
    if (pour->let_down.fraction < 1) find_let_down(task, step, pour);
    lend_window(task, step, pour);
    (*count)++;
}

size_t rescue_pours(const struct pour_task *task, const struct pour_plan *plan, const struct rescue *rescue,
                    struct rescue_pour out[RECIPE_TONERS_MOST]) {
    const struct pour_step *of[RECIPE_TONERS_MOST] = {NULL}, *last = NULL;
    size_t count = 0;
    for (size_t j = 0; j < plan->count; j++)
        if (!plan->step[j].first_part) last = of[plan->step[j].toner] = &plan->step[j];
    for (size_t j = 0; j < plan->count; j++)
        if (of[plan->step[j].toner] == &plan->step[j] && &plan->step[j] != last)
            add_pour(task, &plan->step[j], plan->step[j].toner, rescue, out, &count);
    for (size_t i = 0; i < task->recipe->shelf.count; i++)
        if (!of[i]) add_pour(task, NULL, (int)i, rescue, out, &count);
    if (last) add_pour(task, last, last->toner, rescue, out, &count);
    return count;
}
