/* Weights on the scale's grid: whole steps with a fixed sum, from the nearest rounding (largest remainders)
 * by the best exchange of one step between two toners, again and again, then by exchanges of two pairs at
 * once where the grid costs something. Rounding alone is bad on a coarse scale (docs/match.md).
 *
 * An exchange is measured by the local model of the objective (dE00 of a term |e + E d|, spectral residual a
 * quadratic), which is quick, and in the end, where one step is much, by the objective itself.
 *
 * What a coarse scale cannot weigh is planned as a let-down: it steps by a tenth. */
#include "paint/match_search.h"
#include <math.h>
#include <stdlib.h>

static const double GAIN = 1e-7; /* of F: less is no gain */
enum { EXACT_ROUNDS = 20 };

struct grid {
    const struct match_model *model;
    const struct match_lane *lane;
    int n;
    long total, units_a_step;
    double unit;            /* as a mass fraction: one step, or a tenth of it where something is let down */
    long step[MATCH_SLOTS]; /* the least that a toner moves by, in units */
    int binder;             /* slot, -1 for none */
    bool let_down[MATCH_SLOTS];
    long low[MATCH_SLOTS], high[MATCH_SLOTS], at[MATCH_SLOTS];
    /* the local model where the grid stands */
    double e[MATCH_TERMS_MOST][3], square, pull[MATCH_SLOTS], price, f;
};

/* What an exchange between two toners moves, in units. What is poured of the binder stays on the grid: nine
 * parts of it come in with each part that is let down. */
static long moved(const struct grid *g, int to, int from) {
    return g->step[to] > g->step[from] ? g->step[to] : g->step[from];
}

/* F after one exchange from one toner to another. */
typedef double measure(struct grid *g, int to, int from);

/* Sets the local model at g->at. */
static void settle(struct grid *g) {
    const struct match_local *x = g->lane->local;
    const struct objective *o = &g->model->objective;
    double d[MATCH_SLOTS];
    g->price = 0;
    g->square = x->q0;
    for (int i = 0; i < g->n; i++) {
        d[i] = (double)g->at[i] * g->unit - g->lane->c[i];
        g->price += o->cost_weight * g->model->column[g->lane->column[i]].price * (g->lane->c[i] + d[i]);
    }
    for (int i = 0; i < g->n; i++) {
        g->pull[i] = x->q1[i];
        for (int j = 0; j < g->n; j++) g->pull[i] += x->q2[i][j] * d[j];
        g->square += (g->pull[i] + x->q1[i]) * d[i];
    }
    g->f = g->price + g->model->rms_weight * sqrt(fmax(g->square, 0));
    for (size_t t = 0; t < o->terms; t++) {
        double length = 0;
        for (int r = 0; r < 3; r++) {
            g->e[t][r] = x->e[t][r];
            for (int i = 0; i < g->n; i++) g->e[t][r] += x->slope[t][r][i] * d[i];
            length += g->e[t][r] * g->e[t][r];
        }
        g->f += o->term[t].weight * sqrt(length);
    }
}

static double by_local_model(struct grid *g, int to, int from) {
    const struct match_local *x = g->lane->local;
    const struct objective *o = &g->model->objective;
    const double u = g->unit * (double)moved(g, to, from);
    const double square = g->square + 2 * u * (g->pull[to] - g->pull[from]) +
                          u * u * (x->q2[to][to] + x->q2[from][from] - 2 * x->q2[to][from]);
    const struct match_column *column = g->model->column;
    double f = g->price +
               o->cost_weight * u * (column[g->lane->column[to]].price - column[g->lane->column[from]].price);
    f += g->model->rms_weight * sqrt(fmax(square, 0));
    for (size_t t = 0; t < o->terms; t++) {
        double length = 0;
        for (int r = 0; r < 3; r++) {
            const double e = g->e[t][r] + u * (x->slope[t][r][to] - x->slope[t][r][from]);
            length += e * e;
        }
        f += o->term[t].weight * sqrt(length);
    }
    return f;
}

static double objective_at(const struct grid *g) {
    double part[SHELF_MOST] = {0};
    struct objective_value value;
    for (int i = 0; i < g->n; i++)
        part[g->model->column[g->lane->column[i]].toner] = (double)g->at[i] / (double)g->total;
    objective_of(&g->model->objective, part, &value);
    return value.f;
}

static double by_objective(struct grid *g, int to, int from) {
    const long by = moved(g, to, from);
    g->at[to] += by, g->at[from] -= by;
    const double f = objective_at(g);
    g->at[to] -= by, g->at[from] += by;
    return f;
}

/* The binder that is left when all let-downs are in, in units. */
static long binder_left(const struct grid *g) {
    long left = g->binder < 0 ? 0 : g->at[g->binder];
    for (int i = 0; i < g->n; i++) left -= g->let_down[i] ? (MATCH_LET_DOWN - 1) * g->at[i] : 0;
    return left;
}

static long taken(const struct grid *g, int slot) { /* of the binder, by a unit of it */
    return slot == g->binder ? -1 : g->let_down[slot] ? MATCH_LET_DOWN - 1 : 0;
}

static bool may_move(const struct grid *g, int to, int from) {
    if (to == from) return false;
    const long by = moved(g, to, from), more = by * (taken(g, to) - taken(g, from));
    return g->at[to] + by <= g->high[to] && g->at[from] - by >= g->low[from] &&
           (more <= 0 || binder_left(g) >= more);
}

static void move(struct grid *g, int to, int from) {
    const long by = moved(g, to, from);
    g->at[to] += by;
    g->at[from] -= by;
    settle(g);
}

/* The best exchange of one step from here when it gets under *f, which it then is. */
static bool exchange(struct grid *g, measure *after, double *f) {
    int best_to = -1, best_from = -1;
    for (int to = 0; to < g->n; to++)
        for (int from = 0; from < g->n; from++) {
            if (!may_move(g, to, from)) continue;
            const double trial = after(g, to, from);
            if (trial < *f - GAIN) *f = trial, best_to = to, best_from = from;
        }
    if (best_to < 0) return false;
    move(g, best_to, best_from);
    return true;
}

static void exchange_on(struct grid *g) {
    double f = g->f;
    while (exchange(g, by_local_model, &f)) f = g->f;
}

static bool exchange_twice(struct grid *g) {
    double f = g->f;
    for (int to = 0; to < g->n; to++)
        for (int from = 0; from < g->n; from++) {
            if (!may_move(g, to, from)) continue;
            move(g, to, from);
            if (exchange(g, by_local_model, &f)) return true;
            move(g, from, to);
        }
    return false;
}

/* Largest remainders, inside the bounds. */
static void round_down(struct grid *g) {
    long sum = 0;
    for (int i = 0; i < g->n; i++) {
        const long floor_of = g->step[i] * (long)floor(g->lane->c[i] / (g->unit * (double)g->step[i]) + 1e-9);
        g->at[i] = floor_of < g->low[i] ? g->low[i] : floor_of > g->high[i] ? g->high[i] : floor_of;
        sum += g->at[i];
    }
    while (sum != g->total) {
        const int way = sum < g->total ? 1 : -1;
        int best = -1;
        double most = 0;
        for (int i = 0; i < g->n; i++) {
            const double miss = way * (g->lane->c[i] / g->unit - (double)g->at[i]) / (double)g->step[i];
            const bool can = g->step[i] <= labs(g->total - sum) &&
                             (way > 0 ? g->at[i] < g->high[i] : g->at[i] > g->low[i]);
            if (can && (best < 0 || miss > most)) best = i, most = miss;
        }
        if (best < 0) return;
        g->at[best] += way * g->step[best];
        sum += way * g->step[best];
    }
}

/* Lighter than the scale weighs to 1 in 50, and little enough to be stirred into binder first (pour.c). */
static bool wants_let_down(const struct match_task *task, double part) {
    const double sd_steps = sqrt(2 * (1 + 1.0 / 12));
    return part <= MATCH_LET_DOWN_MOST && part * task->batch_g < 50 * sd_steps * task->scale_step_g;
}

/* On a coarse scale: the smallest first, as long as the binder has room for what comes in with them. */
static bool choose_let_downs(struct grid *g) {
    const struct match_task *task = g->model->task;
    if (!task->let_downs || g->binder < 0 || task->scale_step_g < MATCH_LET_DOWN_STEP * task->batch_g)
        return false;
    double room = g->lane->c[g->binder];
    bool any = false;
    for (;;) {
        int least = -1;
        for (int i = 0; i < g->n; i++)
            if (i != g->binder && !g->let_down[i] && wants_let_down(task, g->lane->c[i]) &&
                (least < 0 || g->lane->c[i] < g->lane->c[least]))
                least = i;
        if (least < 0 || (MATCH_LET_DOWN - 1) * g->lane->c[least] > room) return any;
        room -= (MATCH_LET_DOWN - 1) * g->lane->c[least];
        g->let_down[least] = any = true;
    }
}

static void set_bounds(struct grid *g, int i) {
    const double most = g->let_down[i] ? fmin(g->lane->high[i], MATCH_LET_DOWN_MOST) : g->lane->high[i];
    const double steps = (double)g->total / (double)g->step[i];
    g->low[i] = g->step[i] * (long)ceil(g->lane->low[i] * steps - 1e-6);
    g->high[i] = g->step[i] * (long)floor(most * steps + 1e-6);
    if (g->high[i] < g->low[i]) g->high[i] = g->low[i] = g->step[i] * lround(g->lane->low[i] * steps);
}

static struct grid grid_of(const struct match_model *model, const struct match_lane *lane) {
    struct grid g = {.model = model, .lane = lane, .binder = -1};
    while (g.n < MATCH_SLOTS && lane->column[g.n] >= 0) {
        if (model->has_binder && (size_t)lane->column[g.n] == model->count) g.binder = g.n;
        g.n++;
    }
    g.units_a_step = choose_let_downs(&g) ? MATCH_LET_DOWN : 1;
    g.total = g.units_a_step * lround(model->task->batch_g / model->task->scale_step_g);
    g.unit = 1 / (double)g.total;
    for (int i = 0; i < g.n; i++) {
        g.step[i] = g.let_down[i] || i == g.binder ? 1 : g.units_a_step;
        set_bounds(&g, i);
    }
    return g;
}

double match_step_g(const struct match_task *task, const struct match_recipe *recipe, size_t i) {
    return recipe->let_down[i] ? task->scale_step_g / MATCH_LET_DOWN : task->scale_step_g;
}

struct match_weights match_grid_search(const struct match_model *model, const struct match_lane *lane,
                                       bool exactly) {
    struct grid g = grid_of(model, lane);
    round_down(&g);
    settle(&g);
    exchange_on(&g);
    while (g.f > lane->f + .004 && exchange_twice(&g)) exchange_on(&g);
    double f = exactly ? objective_at(&g) : 0;
    for (int round = 0; exactly && round < EXACT_ROUNDS && exchange(&g, by_objective, &f); round++) {
    }
    struct match_weights out = {.total = g.total, .units_a_step = g.units_a_step};
    for (int i = 0; i < g.n; i++) out.units[i] = g.at[i], out.let_down[i] = g.let_down[i];
    return out;
}
