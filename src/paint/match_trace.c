/* A first recipe without traces.
 *
 * A toner is a trace when there are fewer than three steps of the scale of it (a step is what weighing it may
 * miss, .82 d at two standard uncertainties), or when the recipe without it, its mass given to the binder,
 * lies within .10 dE00 under every light that counts (what counts as the same colour here, paint/rescue.h).
 * The twin of a recipe without its traces is what the others can do alone: exchanges of two toners on the
 * scale's grid, from large steps to one. A toner that was asked for is no trace. */
#include "colour/difference.h"
#include "paint/match_search.h"
#include <math.h>

static const double TRACE_STEPS = 3, TRACE_DE00 = .10;
enum { ROUNDS = 12, LARGEST = 256 };

/* -1 when the toner has no column (it is not free). */
static int column_of(const struct match_model *m, int toner) {
    for (size_t i = 0; i < m->count + m->has_binder; i++)
        if (m->column[i].toner == toner) return (int)i;
    return -1;
}

static bool is_free(const struct match_model *m, int toner) {
    const int column = column_of(m, toner);
    return column >= 0 && (size_t)column < m->count && !m->column[column].needed;
}

/* The mass of one toner is given to the binder, or to the others in their shares. */
static void leave_out(const struct match_model *m, int toner, double part[]) {
    const double gone = part[toner];
    part[toner] = 0;
    if (m->has_binder) {
        part[m->column[m->count].toner] += gone;
        return;
    }
    for (size_t i = 0; i < m->task->shelf->count && gone < 1; i++) part[i] /= 1 - gone;
}

static bool is_seen(const struct match_model *m, const struct match_recipe *r, int toner) {
    const struct match_task *task = m->task;
    double part[SHELF_MOST];
    struct objective_value without;
    recipe_spread(&r->recipe, task->shelf, part);
    leave_out(m, toner, part);
    objective_of(&m->objective, part, &without);
    for (size_t l = 0; l < task->light_count; l++)
        if (task->light_weight[l] > 0 &&
            difference_de00(lab_of_spectrum(&r->reflectance, task->light[l]),
                            lab_of_spectrum(&without.reflectance, task->light[l])) > TRACE_DE00)
            return true;
    return false;
}

static bool is_trace(const struct match_model *m, const struct match_recipe *r, size_t i) {
    const int toner = r->recipe.toner[i];
    if (!is_free(m, toner) || r->recipe.count < 3) return false;
    return r->recipe.mass_g[i] < (TRACE_STEPS - .5) * m->task->scale_step_g || !is_seen(m, r, toner);
}

size_t match_traces(const struct match_model *m, const struct match_recipe *r) {
    size_t count = 0;
    for (size_t i = 0; i < r->recipe.count; i++) count += is_trace(m, r, i);
    return count;
}

/* ---- the twin ---- */

struct twin {
    const struct match_model *m;
    size_t count;
    int toner[RECIPE_TONERS_MOST], column[RECIPE_TONERS_MOST];
    long unit[RECIPE_TONERS_MOST], total;
    double f;
};

static double f_of(const struct twin *t) {
    double part[SHELF_MOST] = {0};
    struct objective_value value;
    for (size_t i = 0; i < t->count; i++) part[t->toner[i]] = (double)t->unit[i] / (double)t->total;
    objective_of(&t->m->objective, part, &value);
    return value.f;
}

static bool is_allowed(const struct twin *t, size_t i) {
    const struct match_column *c = &t->m->column[t->column[i]];
    const double part = (double)t->unit[i] / (double)t->total;
    return t->unit[i] > 0 && part <= c->high + 1e-9 && part >= c->low - 1e-9;
}

static bool exchange_best(struct twin *t, long size) {
    size_t to_best = 0, from_best = 0;
    double best = t->f - 1e-7;
    for (size_t to = 0; to < t->count; to++)
        for (size_t from = 0; from < t->count; from++) {
            if (to == from) continue;
            t->unit[to] += size, t->unit[from] -= size;
            const double f = is_allowed(t, to) && is_allowed(t, from) ? f_of(t) : (double)INFINITY;
            t->unit[to] -= size, t->unit[from] += size;
            if (f < best) best = f, to_best = to, from_best = from;
        }
    if (to_best == from_best) return false;
    t->unit[to_best] += size, t->unit[from_best] -= size;
    t->f = best;
    return true;
}

static void settle(struct twin *t) {
    long size = LARGEST;
    while (size < t->total / 64) size *= 4;
    for (; size > 0; size /= 4)
        for (int round = 0; round < ROUNDS && exchange_best(t, size); round++) {
        }
}

/* What is left of the recipe, in steps: what the traces leave goes to the largest toner. */
static bool twin_of(const struct match_model *m, const struct match_recipe *r, struct twin *t) {
    size_t takes = 0;
    long left;
    *t = (struct twin){.m = m, .total = lround(m->task->batch_g / m->task->scale_step_g)};
    left = t->total;
    for (size_t i = 0; i < r->recipe.count; i++) {
        const int column = column_of(m, r->recipe.toner[i]);
        if (column < 0) return false;
        if (is_trace(m, r, i)) continue;
        t->toner[t->count] = r->recipe.toner[i];
        t->column[t->count] = column;
        t->unit[t->count] = lround(r->recipe.part[i] * (double)t->total);
        left -= t->unit[t->count];
        if ((size_t)column < m->count &&
            ((size_t)t->column[takes] == m->count || t->unit[t->count] > t->unit[takes]))
            takes = t->count; /* the binder may stand at its limit */
        t->count++;
    }
    if (t->count < 2 || t->count == r->recipe.count) return false;
    t->unit[takes] += left;
    for (size_t i = 0; i < t->count; i++)
        if (!is_allowed(t, i)) return false;
    return true;
}

bool match_without_traces(const struct match_model *m, const struct match_recipe *r,
                          struct match_recipe *out) {
    struct twin t;
    if (!twin_of(m, r, &t)) return false;
    t.f = f_of(&t);
    settle(&t);
    *out = (struct match_recipe){0};
    for (size_t i = 0; i < t.count; i++) {
        out->recipe.toner[i] = t.toner[i];
        out->recipe.part[i] = (double)t.unit[i] / (double)t.total;
        out->recipe.mass_g[i] = (double)t.unit[i] * m->task->scale_step_g;
    }
    out->recipe.count = t.count;
    return true;
}
