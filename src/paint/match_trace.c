/* A first recipe without traces.
 *
 * A toner is a trace when there are fewer than three steps of the scale of it (a step is what weighing it may
 * miss, .82 d at two standard uncertainties), or when the recipe without it, its mass given to the binder,
 * lies within .10 dE00 under every light that counts (what counts as the same colour here, paint/rescue.h).
 * The twin of a recipe without its traces is what the others can do alone, in about as much binder: polished
 * and put on the scale's grid like every recipe; another one leaves out only what is too little to weigh. A
 * toner that was asked for is no trace. */
#include "colour/difference.h"
#include "paint/match_search.h"
#include <math.h>

static const double TRACE_STEPS = 3, TRACE_DE00 = .10;
static const double DILUTED = .02; /* how far the twin's binder may move */

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

typedef bool is_dropped(const struct match_model *m, const struct match_recipe *r, size_t i);

static bool is_little(const struct match_model *m, const struct match_recipe *r, size_t i) {
    if (!is_free(m, r->recipe.toner[i]) || r->recipe.count < 3) return false;
    return r->recipe.mass_g[i] < (TRACE_STEPS - .5) * match_step_g(m->task, r, i);
}

static bool is_trace(const struct match_model *m, const struct match_recipe *r, size_t i) {
    if (!is_free(m, r->recipe.toner[i]) || r->recipe.count < 3) return false;
    return is_little(m, r, i) || !is_seen(m, r, r->recipe.toner[i]);
}

static size_t count_of(const struct match_model *m, const struct match_recipe *r, is_dropped *dropped) {
    size_t count = 0;
    for (size_t i = 0; i < r->recipe.count; i++) count += dropped(m, r, i);
    return count;
}

size_t match_traces(const struct match_model *m, const struct match_recipe *r) {
    return count_of(m, r, is_trace);
}

/* ---- the twin ---- */

static bool is_binder(const struct match_model *m, int column) {
    return m->has_binder && (size_t)column == m->count;
}

/* What is left beside the binder, in rising columns; their number. */
static size_t columns_left(const struct match_model *m, const struct match_recipe *r, is_dropped *dropped,
                           signed char column[]) {
    size_t n = 0;
    for (size_t i = 0; i < r->recipe.count; i++) {
        const int here = column_of(m, r->recipe.toner[i]);
        if (here < 0 || is_binder(m, here) || dropped(m, r, i)) continue;
        size_t at = n++;
        for (; at > 0 && column[at - 1] > here; at--) column[at] = column[at - 1];
        column[at] = (signed char)here;
    }
    return n;
}

/* The twin hides as its recipe does: the binder stays where it is but for a little, inside the limits (an
 * opaque film's column has but one fraction, and its recipe may have another). */
static void hold_binder(const struct match_model *m, const struct match_recipe *r, struct match_lane *lane) {
    const struct match_column *binder = &m->column[m->count];
    double part[SHELF_MOST];
    recipe_spread(&r->recipe, m->task->shelf, part);
    const double low = fmin(binder->low, part[binder->toner]), high = fmax(binder->high, part[binder->toner]);
    lane->low[0] = fmax(low, fmin(lane->c[0] - DILUTED, high));
    lane->high[0] = fmin(high, fmax(lane->c[0] + DILUTED, low));
}

static bool without(const struct match_model *m, const struct match_recipe *r, is_dropped *dropped,
                    struct match_lane *out) {
    signed char column[RECIPE_TONERS_MOST];
    double part[SHELF_MOST];
    const size_t left = columns_left(m, r, dropped, column);
    if (left == 0 || left > MATCH_TONERS_MOST || !match_lane_make(m, column, left, out)) return false;
    recipe_spread(&r->recipe, m->task->shelf, part);
    for (size_t i = 0; i < r->recipe.count; i++)
        if (dropped(m, r, i)) leave_out(m, r->recipe.toner[i], part);
    for (int i = 0; i < MATCH_SLOTS && out->column[i] >= 0; i++)
        out->c[i] = part[m->column[out->column[i]].toner];
    if (m->has_binder) hold_binder(m, r, out);
    return match_lane_fit(out);
}

size_t match_without_traces(const struct match_model *m, const struct match_recipe *r,
                            struct match_lane out[2]) {
    const size_t traces = count_of(m, r, is_trace), little = count_of(m, r, is_little);
    if (traces == 0) return 0;
    size_t n = without(m, r, is_trace, &out[0]);
    if (little > 0 && little < traces) n += without(m, r, is_little, &out[n]);
    return n;
}
