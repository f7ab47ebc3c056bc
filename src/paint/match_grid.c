/* Weights on the scale's grid: whole steps with a fixed sum, from the nearest rounding (largest remainders)
 * by the best exchange of one step between two toners, again and again, then by exchanges of two pairs at
 * once where the grid costs something. Rounding alone is bad on a coarse scale (docs/match.md).
 *
 * An exchange is measured by the local model of the objective (dE00 of a term |e + E d|, spectral residual a
 * quadratic), which is quick, and in the end, where one step is much, by the objective itself. */
#include "paint/match_search.h"
#include <math.h>

static const double GAIN = 1e-7; /* of F: less is no gain */
enum { EXACT_ROUNDS = 20 };

struct grid {
    const struct match_model *model;
    const struct match_lane *lane;
    int n;
    long total;
    double unit; /* one step as a mass fraction */
    long low[MATCH_SLOTS], high[MATCH_SLOTS], at[MATCH_SLOTS];
    /* the local model where the grid stands */
    double e[MATCH_TERMS_MOST][3], square, pull[MATCH_SLOTS], price, f;
};

/* F after one step from one toner to another. */
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
    const double u = g->unit;
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
    g->at[to]++, g->at[from]--;
    const double f = objective_at(g);
    g->at[to]--, g->at[from]++;
    return f;
}

static bool may_move(const struct grid *g, int to, int from) {
    return to != from && g->at[to] < g->high[to] && g->at[from] > g->low[from];
}

static void move(struct grid *g, int to, int from) {
    g->at[to]++;
    g->at[from]--;
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
        const long floor_of = (long)floor(g->lane->c[i] / g->unit + 1e-9);
        g->at[i] = floor_of < g->low[i] ? g->low[i] : floor_of > g->high[i] ? g->high[i] : floor_of;
        sum += g->at[i];
    }
    while (sum != g->total) {
        const int way = sum < g->total ? 1 : -1;
        int best = -1;
        double most = 0;
        for (int i = 0; i < g->n; i++) {
            const double miss = way * (g->lane->c[i] / g->unit - (double)g->at[i]);
            const bool can = way > 0 ? g->at[i] < g->high[i] : g->at[i] > g->low[i];
            if (can && (best < 0 || miss > most)) best = i, most = miss;
        }
        if (best < 0) return;
        g->at[best] += way;
        sum += way;
    }
}

static struct grid grid_of(const struct match_model *model, const struct match_lane *lane) {
    const long total = lround(model->task->batch_g / model->task->scale_step_g);
    struct grid g = {.model = model, .lane = lane, .total = total, .unit = 1 / (double)total};
    while (g.n < MATCH_SLOTS && lane->column[g.n] >= 0) g.n++;
    for (int i = 0; i < g.n; i++) {
        g.low[i] = (long)ceil(lane->low[i] * (double)total - 1e-6);
        g.high[i] = (long)floor(lane->high[i] * (double)total + 1e-6);
        if (g.high[i] < g.low[i]) g.high[i] = g.low[i] = (long)lround(lane->low[i] * (double)total);
    }
    return g;
}

void match_grid_search(const struct match_model *model, const struct match_lane *lane, bool exactly,
                       long units[MATCH_SLOTS]) {
    struct grid g = grid_of(model, lane);
    round_down(&g);
    settle(&g);
    exchange_on(&g);
    while (g.f > lane->f + .004 && exchange_twice(&g)) exchange_on(&g);
    double f = exactly ? objective_at(&g) : 0;
    for (int round = 0; exactly && round < EXACT_ROUNDS && exchange(&g, by_objective, &f); round++) {
    }
    for (int i = 0; i < MATCH_SLOTS; i++) units[i] = i < g.n ? g.at[i] : 0;
}
