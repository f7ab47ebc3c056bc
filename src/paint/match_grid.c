/* Weights on the scale's grid. The local model of the objective (dE00 of a term |e + E d|, spectral residual
 * a quadratic) is searched over whole steps with a fixed sum: from the nearest rounding (largest remainders),
 * the best exchange of one step between two toners again and again, then exchanges of two pairs at once where
 * the grid costs something. Rounding alone is bad on a coarse scale (docs/match.md). */
#include "paint/match_search.h"
#include <math.h>

struct grid {
    const struct match_model *model;
    const struct match_lane *lane;
    int n;
    double unit; /* one step as a mass fraction */
    long low[MATCH_SLOTS], high[MATCH_SLOTS], at[MATCH_SLOTS];
};

static double local_f(const struct grid *g, const double d[]) {
    const struct match_local *x = g->lane->local;
    const struct objective *o = &g->model->objective;
    double f = 0, square = x->q0;
    for (size_t t = 0; t < o->terms; t++) {
        double length = 0;
        for (int r = 0; r < 3; r++) {
            double e = x->e[t][r];
            for (int i = 0; i < g->n; i++) e += x->slope[t][r][i] * d[i];
            length += e * e;
        }
        f += o->term[t].weight * sqrt(length);
    }
    for (int i = 0; i < g->n; i++) {
        double pull = 2 * x->q1[i];
        for (int j = 0; j < g->n; j++) pull += x->q2[i][j] * d[j];
        square += pull * d[i];
        f += o->cost_weight * g->model->column[g->lane->column[i]].price * (g->lane->c[i] + d[i]);
    }
    return f + g->model->rms_weight * sqrt(fmax(square, 0));
}

static double f_of(const struct grid *g, const long at[]) {
    double d[MATCH_SLOTS];
    for (int i = 0; i < g->n; i++) d[i] = (double)at[i] * g->unit - g->lane->c[i];
    return local_f(g, d);
}

static bool may_move(const struct grid *g, int to, int from) {
    return to != from && g->at[to] < g->high[to] && g->at[from] > g->low[from];
}

/* The best exchange of one step from here; false when none helps. */
static bool exchange(struct grid *g, double *f) {
    int best_to = -1, best_from = -1;
    for (int to = 0; to < g->n; to++)
        for (int from = 0; from < g->n; from++) {
            if (!may_move(g, to, from)) continue;
            g->at[to]++, g->at[from]--;
            const double trial = f_of(g, g->at);
            g->at[to]--, g->at[from]++;
            if (trial < *f - 1e-9) *f = trial, best_to = to, best_from = from;
        }
    if (best_to < 0) return false;
    g->at[best_to]++, g->at[best_from]--;
    return true;
}

static bool exchange_twice(struct grid *g, double *f) {
    for (int to = 0; to < g->n; to++)
        for (int from = 0; from < g->n; from++) {
            if (!may_move(g, to, from)) continue;
            double trial = *f;
            g->at[to]++, g->at[from]--;
            if (exchange(g, &trial)) {
                *f = trial;
                return true;
            }
            g->at[to]--, g->at[from]++;
        }
    return false;
}

/* Largest remainders, inside the bounds. */
static void round_down(struct grid *g, long total) {
    long sum = 0;
    for (int i = 0; i < g->n; i++) {
        const long floor_of = (long)floor(g->lane->c[i] / g->unit + 1e-9);
        g->at[i] = floor_of < g->low[i] ? g->low[i] : floor_of > g->high[i] ? g->high[i] : floor_of;
        sum += g->at[i];
    }
    while (sum != total) {
        const int way = sum < total ? 1 : -1;
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

void match_grid_search(const struct match_model *model, const struct match_lane *lane,
                       long units[MATCH_SLOTS]) {
    const struct match_task *task = model->task;
    const long total = lround(task->batch_g / task->scale_step_g);
    struct grid g = {.model = model, .lane = lane, .unit = 1 / (double)total};
    while (g.n < MATCH_SLOTS && lane->column[g.n] >= 0) g.n++;
    for (int i = 0; i < g.n; i++) {
        g.low[i] = (long)ceil(lane->low[i] * (double)total - 1e-6);
        g.high[i] = (long)floor(lane->high[i] * (double)total + 1e-6);
        if (g.high[i] < g.low[i]) g.high[i] = g.low[i] = (long)lround(lane->low[i] * (double)total);
    }
    round_down(&g, total);
    double f = f_of(&g, g.at);
    while (exchange(&g, &f)) {
    }
    while (f > lane->f + .004 && exchange_twice(&g, &f)) {
    }
    for (int i = 0; i < MATCH_SLOTS; i++) units[i] = i < g.n ? g.at[i] : 0;
}
