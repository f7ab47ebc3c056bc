/* The rescue of an over-pour.
 *
 * Whole: minimise sum x_i / density_i  subject to  q + x = S r,  x >= 0,  S >= wanted.  Every x_i = S r_i -
 * q_i grows with S, so the least S is the answer whatever the densities:  S = max(wanted, max_i q_i / r_i).
 * (Checked against a linear program: tests/outside/rescue_test.c.)
 *
 * Within a limit V < S - sum q: minimise dE00(recipe, mix(q + x)) over  x >= 0, sum x <= V.  Gauss-Newton in
 * the metric of dE00 at the recipe's colour; each step's convex quadratic program min |rho + J (y - x)|^2 +
 * eps^2 |y|^2,   y >= 0, sum y + slack = V, slack >= 0 is solved exactly by looking at every set of variables
 * that may be positive (at most 2^9 of them, Cholesky each); the line to its solution is searched on the true
 * dE00. Started from the whole rescue and from the unfinished plan, both scaled into the limit. It stops
 * after 40 steps or when a step gains less than 1e-6; the better end wins. The optimum of the linearised
 * problem is exact, that of the true one is audited in the tests against a compass search, not proven.
 *
 * Enough: bisection over V between the unfinished plan and the whole rescue.
 *
 * Grams end on the scale's grid, floor or ceiling of each addition by the colour (all combinations). */
#include "paint/rescue.h"
#include "base/dense.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { UNKNOWNS_MOST = RECIPE_TONERS_MOST + 1, STEPS_MOST = 40, HALVINGS = 12, BISECTIONS = 14 };
static const double SUM_WEIGHT = 1e3, RIDGE = 1e-3, GAIN_LEAST = 1e-6;

struct problem {
    const struct pour_task *task;
    const struct pour_state *state;
    size_t count;
    struct lab wanted; /* the recipe's colour */
    struct de00_metric metric;
    double most_g;
};

static double sum(const double v[], size_t n) {
    double total = 0;
    for (size_t i = 0; i < n; i++) total += v[i];
    return total;
}

static void problem_set(struct problem *problem, const struct pour_task *task,
                        const struct pour_state *state) {
    *problem = (struct problem){.task = task, .state = state, .count = task->recipe->shelf.count};
    problem->wanted = pour_lab(task->recipe, task->recipe->part);
    problem->metric = difference_metric(problem->wanted);
}

static struct lab lab_with(const struct problem *problem, const double add_g[]) {
    double mass[RECIPE_TONERS_MOST];
    for (size_t i = 0; i < problem->count; i++) mass[i] = problem->state->in_pot_g[i] + add_g[i];
    return pour_lab(problem->task->recipe, mass);
}

static double cost_of(const struct problem *problem, const double add_g[]) {
    return difference_de00(problem->wanted, lab_with(problem, add_g));
}

/* Floor or ceiling of each addition, whichever combination comes closest and stays inside most_g. */
static void put_on_grid(const struct problem *problem, const double exact_g[], double most_g, double out[]) {
    const struct scale *scale = &problem->task->scale;
    double least = INFINITY;
    for (unsigned choice = 0; choice < 1u << problem->count; choice++) {
        double tried[RECIPE_TONERS_MOST];
        for (size_t i = 0; i < problem->count; i++)
            tried[i] = choice >> i & 1u ? weighing_round_up(scale, exact_g[i])
                                        : weighing_round_down(scale, exact_g[i]);
        if (choice && sum(tried, problem->count) > most_g + 1e-6 * scale->step_g) continue;
        const double cost = cost_of(problem, tried);
        if (!(cost < least - 1e-9)) continue;
        least = cost;
        memcpy(out, tried, problem->count * sizeof *tried);
    }
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
    const struct lab lab = lab_with(problem, out->add_g);
    out->de00 = difference_de00(problem->wanted, lab);
    out->target_de00 = recipe->has_target ? difference_de00(recipe->target, lab) : (double)NAN;
    out->fits = out->total_g <= problem->task->pot_g + 1e-6 * problem->task->scale.step_g;
}

static double whole_exact(const struct problem *problem, double add_g[]) {
    const double *in = problem->state->in_pot_g, *part = problem->task->recipe->part;
    double total = planned_total(problem);
    for (size_t i = 0; i < problem->count; i++) total = fmax(total, in[i] / part[i]);
    for (size_t i = 0; i < problem->count; i++) add_g[i] = fmax(0, total * part[i] - in[i]);
    return total;
}

void rescue_whole(const struct pour_task *task, const struct pour_state *state, struct rescue *out) {
    struct problem problem;
    double exact[RECIPE_TONERS_MOST];
    problem_set(&problem, task, state);
    whole_exact(&problem, exact);
    *out = (struct rescue){0};
    put_on_grid(&problem, exact, INFINITY, out->add_g);
    report(&problem, out);
}

/* rho + J (y - x) close to x: the three rows of J over the additions, and rho - J x. */
static void linearise(const struct problem *problem, const double x[], double j[3][RECIPE_TONERS_MOST],
                      double constant[3]) {
    const struct lab here = lab_with(problem, x);
    const double h = 1e-5 * (sum(x, problem->count) + sum(problem->state->in_pot_g, problem->count));
    const double d[3] = {here.l - problem->wanted.l, here.a - problem->wanted.a, here.b - problem->wanted.b};
    for (int r = 0; r < 3; r++)
        constant[r] =
            problem->metric.f[r][0] * d[0] + problem->metric.f[r][1] * d[1] + problem->metric.f[r][2] * d[2];
    for (size_t i = 0; i < problem->count; i++) {
        double moved[RECIPE_TONERS_MOST];
        memcpy(moved, x, problem->count * sizeof *moved);
        moved[i] += h;
        const struct lab up = lab_with(problem, moved);
        const double g[3] = {(up.l - here.l) / h, (up.a - here.a) / h, (up.b - here.b) / h};
        for (int r = 0; r < 3; r++) {
            j[r][i] = problem->metric.f[r][0] * g[0] + problem->metric.f[r][1] * g[1] +
                      problem->metric.f[r][2] * g[2];
            constant[r] -= j[r][i] * x[i];
        }
    }
}

struct quadratic { /* min y' g y - 2 b' y, y >= 0; the last unknown is the slack */
    size_t n;
    double g[UNKNOWNS_MOST][UNKNOWNS_MOST], b[UNKNOWNS_MOST];
};

static void quadratic_make(const struct problem *problem, double j[3][RECIPE_TONERS_MOST],
                           const double constant[3], struct quadratic *q) {
    *q = (struct quadratic){.n = problem->count + 1};
    const double ridge = RIDGE / fmax(problem->task->batch_g, 1e-9),
                 w = SUM_WEIGHT / fmax(problem->most_g, 1e-9);
    for (size_t a = 0; a < q->n; a++) {
        for (size_t b = 0; b < q->n; b++) {
            q->g[a][b] = w * w;
            for (int r = 0; r < 3 && a < problem->count && b < problem->count; r++)
                q->g[a][b] += j[r][a] * j[r][b];
        }
        q->g[a][a] += ridge * ridge;
        q->b[a] = w * w * problem->most_g;
        for (int r = 0; r < 3 && a < problem->count; r++) q->b[a] -= j[r][a] * constant[r];
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

static void scale_into(double x[], size_t n, double most_g) {
    const double total = sum(x, n);
    if (total <= most_g || total <= 0) return;
    for (size_t i = 0; i < n; i++) x[i] *= most_g / total;
}

static double descend(const struct problem *problem, double x[]) {
    double cost = cost_of(problem, x);
    for (int i = 0; i < STEPS_MOST; i++) {
        double j[3][RECIPE_TONERS_MOST], constant[3], y[UNKNOWNS_MOST];
        struct quadratic q;
        linearise(problem, x, j, constant);
        quadratic_make(problem, j, constant, &q);
        quadratic_solve(&q, y);
        scale_into(y, problem->count, problem->most_g);
        if (step_along(problem, x, y, &cost) < GAIN_LEAST) break;
    }
    return cost;
}

/* The best additions of at most most_g, not yet on the grid. */
static double best_within(struct problem *problem, double most_g, double best[]) {
    double start[2][RECIPE_TONERS_MOST], least = INFINITY;
    problem->most_g = most_g;
    whole_exact(problem, start[0]);
    for (size_t i = 0; i < problem->count; i++)
        start[1][i] = fmax(0, problem->state->stay_mass_g[i] - problem->state->in_pot_g[i]);
    for (int s = 0; s < 2; s++) {
        scale_into(start[s], problem->count, most_g);
        const double cost = descend(problem, start[s]);
        if (!(cost < least)) continue;
        least = cost;
        memcpy(best, start[s], problem->count * sizeof *best);
    }
    return least;
}

void rescue_within(const struct pour_task *task, const struct pour_state *state, double most_g,
                   struct rescue *out) {
    struct problem problem;
    double exact[RECIPE_TONERS_MOST] = {0};
    problem_set(&problem, task, state);
    *out = (struct rescue){0};
    if (most_g > 0) best_within(&problem, most_g, exact);
    put_on_grid(&problem, exact, most_g, out->add_g);
    report(&problem, out);
}

void rescue_enough(const struct pour_task *task, const struct pour_state *state, double de00,
                   struct rescue *out) {
    struct problem problem;
    double exact[RECIPE_TONERS_MOST];
    problem_set(&problem, task, state);
    rescue_whole(task, state, out);
    double outside = sum(state->stay_mass_g, problem.count) - sum(state->in_pot_g, problem.count),
           inside = out->added_g;
    for (int i = 0; i < BISECTIONS && inside - outside > .5 * task->scale.step_g; i++) {
        const double middle = .5 * (outside + inside);
        if (best_within(&problem, middle, exact) > de00) {
            outside = middle;
            continue;
        }
        struct rescue tried;
        inside = middle;
        rescue_within(task, state, middle, &tried);
        if (tried.de00 <= de00) *out = tried;
    }
}
