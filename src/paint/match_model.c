/* From a task to numbers that the kernels take: which toners may be used, their bounds, the surface as one
 * Moebius map, the target. */
#include "paint/match_model.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- is the task one that can hold? ---- */

static bool fraction(double x) {
    return x >= 0 && x <= 1;
}

static enum status check_toner(const struct match_task *task, size_t i, struct fault *fault) {
    const char *id = task->shelf->toner[i].id;
    if (!fraction(task->least[i]) || !fraction(task->most[i]) || task->least[i] > task->most[i])
        return FAULT(fault, MATCH_BOUNDS_CROSSED, id, NUMBER_TEXT(task->least[i]),
                     NUMBER_TEXT(task->most[i]));
    if (!(task->stock_g[i] >= 0))
        return FAULT(fault, MATCH_STOCK_NEGATIVE, id, NUMBER_TEXT(task->stock_g[i]));
    if (task->exclude[i] && (task->require[i] || task->least[i] > 0))
        return FAULT(fault, MATCH_BOTH_WAYS, id);
    return STATUS_OK;
}

static enum status check_batch(const struct match_task *task, struct fault *fault) {
    if (!(task->batch_g > 0 && task->batch_g <= 1e6))
        return FAULT(fault, MATCH_BATCH, NUMBER_TEXT(task->batch_g));
    if (!(task->scale_step_g > 0) || task->batch_g < 10 * task->scale_step_g)
        return FAULT(fault, MATCH_STEP_COARSE, NUMBER_TEXT(task->scale_step_g), NUMBER_TEXT(task->batch_g));
    return STATUS_OK;
}

static enum status check_lights(const struct match_task *task, struct fault *fault) {
    double sum = 0;
    for (size_t i = 0; i < task->light_count; i++) {
        if (!(task->light_weight[i] >= 0 && task->light_weight[i] <= 1e6))
            return FAULT(fault, MATCH_WEIGHT, NUMBER_TEXT(task->light_weight[i]));
        sum += task->light_weight[i];
    }
    return sum > 0 ? STATUS_OK : FAULT0(fault, MATCH_WEIGHTS_ZERO);
}

static bool target_is_finite(const struct reading *target) {
    bool finite = isfinite(target->lab.l) && isfinite(target->lab.a) && isfinite(target->lab.b);
    for (int b = 0; b < BANDS && target->has_spectrum; b++)
        finite &= isfinite(target->reflectance.band[b]) != 0;
    return finite;
}

static enum status check_task(const struct match_task *task, struct fault *fault) {
    enum status status = STATUS_OK;
    assert(task->light_count >= 1 && task->light_count <= MATCH_LIGHTS_MOST &&
           task->shelf->count <= SHELF_MOST);
    assert(task->backing_count <= MATCH_BACKINGS_MOST && task->top >= 1);
    if (task->max_toners < 1 || task->max_toners > MATCH_TONERS_MOST)
        return FAULT(fault, MATCH_TONERS, COUNT_TEXT(task->max_toners));
    if (!fraction(task->binder_low) || !fraction(task->binder_high) || task->binder_low > task->binder_high ||
        task->binder_low >= 1)
        return FAULT(fault, MATCH_BINDER, NUMBER_TEXT(task->binder_low), NUMBER_TEXT(task->binder_high));
    if (!(task->film.film_um > 0)) return FAULT(fault, MATCH_FILM, NUMBER_TEXT(task->film.film_um));
    if (!target_is_finite(&task->target)) return FAULT0(fault, MATCH_TARGET_NOT_FINITE);
    if (!fraction(task->minimum_dose)) return FAULT(fault, MATCH_DOSE, NUMBER_TEXT(task->minimum_dose));
    for (size_t i = 0; i < task->shelf->count && status == STATUS_OK; i++)
        status = check_toner(task, i, fault);
    if (status == STATUS_OK) status = check_batch(task, fault);
    return status == STATUS_OK ? check_lights(task, fault) : status;
}

/* ---- columns ---- */

static bool is_needed(const struct match_task *task, size_t i) {
    return task->require[i] || task->least[i] > 0;
}

static void fill_column(const struct match_model *m, size_t i, struct match_column *out) {
    const struct match_task *task = m->task;
    const struct toner *toner = &task->shelf->toner[i];
    for (int b = 0; b < BANDS; b++) {
        out->k[b] = toner->k[b];
        out->s[b] = toner->s[b];
    }
    out->bend = toner->bend;
    out->crowd = toner->crowd;
    out->lean = m->task->shelf->beam.on ? toner->lean : 0;
    out->toner = (int)i;
    out->needed = is_needed(task, i);
    out->price = m->objective.price[i];
    out->low = fmax(task->least[i], fmax(task->minimum_dose, task->scale_step_g / task->batch_g));
    out->high = fmin(task->most[i], task->stock_g[i] / task->batch_g);
}

static int falling(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

/* What toners, binder left out, may come to in a mix: the needed ones and the largest of the others. */
static double most_of_toners(const struct match_model *m) {
    double free[SHELF_MOST], sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < m->count; i++) {
        if (i < m->needed)
            sum += m->column[i].high;
        else
            free[n++] = m->column[i].high;
    }
    qsort(free, n, sizeof *free, falling);
    for (size_t i = 0; i < n && i + m->needed < m->task->max_toners; i++) sum += free[i];
    return sum;
}

static double least_of_needed(const struct match_model *m) {
    double sum = 0;
    for (size_t i = 0; i < m->needed; i++) sum += m->column[i].low;
    return sum;
}

#define GRAMS(x) NUMBER_TEXT(floor((x)*m->task->batch_g * 100 + .5) / 100)

/* Whether any mix can fill the batch at all; if not, what is in the way, in grams. */
static enum status check_room(const struct match_model *m, struct fault *fault) {
    const struct match_column *binder = &m->column[m->count];
    const double near = 1e-9, low = m->has_binder ? binder->low : 0, high = m->has_binder ? binder->high : 0;
    const double most = most_of_toners(m), least = least_of_needed(m);
    if (low > high + near)
        return FAULT(fault, MATCH_BINDER_SHORT, m->task->shelf->toner[binder->toner].id, GRAMS(low),
                     GRAMS(high));
    if (most + high < 1 - near)
        return FAULT(fault, MATCH_CANNOT_MEET, NUMBER_TEXT(m->task->batch_g), COUNT_TEXT(m->task->max_toners),
                     GRAMS(most), GRAMS(high));
    if (least + low > 1 + near)
        return FAULT(fault, MATCH_MUST_EXCEED, NUMBER_TEXT(m->task->batch_g), GRAMS(least), GRAMS(low));
    return STATUS_OK;
}

/* An opaque film looks the same whatever its binder, so a free binder fraction is taken in the middle of its
 * limits, as far as what must be in the mix leaves room for it and what the toners can fill. */
static void settle_binder(struct match_model *m) {
    struct match_column *binder = &m->column[m->count];
    if (!m->has_binder || !isinf(m->film_um)) return;
    binder->low = fmin(fmax(binder->low, 1 - most_of_toners(m)), binder->high);
    binder->high = fmin(binder->high, fmax(1 - least_of_needed(m), binder->low));
    binder->low = binder->high = 0.5 * (binder->low + binder->high);
}

static void fill_binder(struct match_model *m, int binder) {
    const struct match_task *task = m->task;
    struct match_column *out = &m->column[m->count];
    fill_column(m, (size_t)binder, out);
    out->low = fmax(task->least[binder], task->binder_low);
    out->high = fmin(out->high, task->binder_high);
}

static int find_binder(const struct match_task *task) {
    for (size_t i = 0; i < task->shelf->count; i++)
        if (task->shelf->toner[i].role == ROLE_BINDER && !task->exclude[i]) return (int)i;
    return -1;
}

static enum status add_columns(struct match_model *m, int binder, bool needed, struct fault *fault) {
    const struct match_task *task = m->task;
    for (size_t i = 0; i < task->shelf->count; i++) {
        struct match_column *column = &m->column[m->count];
        if ((int)i == binder || task->exclude[i] || is_needed(task, i) != needed) continue;
        if (task->shelf->toner[i].role == ROLE_BINDER && !needed) continue; /* one binder is enough */
        fill_column(m, i, column);
        if (column->low <= column->high)
            m->count++;
        else if (needed)
            return FAULT(fault, MATCH_NOT_ENOUGH, task->shelf->toner[i].id,
                         NUMBER_TEXT(column->low * task->batch_g), NUMBER_TEXT(column->high * task->batch_g));
    }
    if (needed) m->needed = m->count;
    return STATUS_OK;
}

/* ---- surface, target ---- */

/* The air interface and a clear's haze together are a Moebius map of the inner reflectance: its value at 0,
 * slope at 0 and value at 1. */
static void fill_surface(struct match_model *m) {
    const struct objective *o = &m->objective;
    double slope;
    m->k1 = surface_measured(0, &o->surface, o->film.geometry, &slope);
    const double rise = surface_measured(1, &o->surface, o->film.geometry, NULL) - m->k1;
    m->span = slope;
    m->k2 = rise > 0 ? 1 - slope / rise : 0;
}

/* The smallest spectrum of a colour, kept inside what paint can be. */
static void smooth_spectrum(const struct objective *o, double out[BANDS]) {
    const struct weights *w = o->light[0];
    const double *row[3] = {w->x, w->y, w->z};
    double gram[9];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            gram[3 * i + j] = 0;
            for (int b = 0; b < BANDS; b++) gram[3 * i + j] += row[i][b] * row[j][b];
        }
    const struct xyz xyz = xyz_of_lab(o->term[0].lab, w);
    double v[3] = {xyz.x, xyz.y, xyz.z};
    if (dense_cholesky(gram, 3)) dense_cholesky_solve(gram, 3, v);
    for (int b = 0; b < BANDS; b++)
        out[b] = fmin(fmax(v[0] * row[0][b] + v[1] * row[1][b] + v[2] * row[2][b], .01), .98);
}

enum status match_model_make(const struct match_task *task, struct match_model *out, struct fault *fault) {
    enum status status = check_task(task, fault);
    if (status != STATUS_OK) return status;
    *out = (struct match_model){.task = task, .film_um = task->film.film_um};
    objective_make(&out->objective, task->shelf, &task->target, &task->film, task->light, task->light_weight,
                   task->light_count, task->cost_weight);
    out->rms_weight = out->objective.spectral ? 10 / sqrt(BANDS) : 0;
    fill_surface(out);
    if (out->objective.spectral)
        memcpy(out->smooth, out->objective.target, sizeof out->smooth);
    else
        smooth_spectrum(&out->objective, out->smooth);
    const int binder = find_binder(task);
    status = add_columns(out, binder, true, fault);
    if (status == STATUS_OK) status = add_columns(out, binder, false, fault);
    if (status != STATUS_OK) return status;
    if (out->count == 0) return FAULT0(fault, MATCH_NO_TONERS);
    if (out->needed > task->max_toners)
        return FAULT(fault, MATCH_NEEDS_MORE, COUNT_TEXT(out->needed), COUNT_TEXT(task->max_toners));
    out->has_binder = binder >= 0;
    if (out->has_binder) fill_binder(out, binder);
    status = check_room(out, fault);
    if (status == STATUS_OK) settle_binder(out);
    return status;
}

/* ---- lanes ---- */

int match_slots(const struct match_model *model, size_t toners) {
    return (int)toners + (model->has_binder ? 1 : 0);
}

bool match_lane_fit(struct match_lane *lane) {
    double low = 0, high = 0, sum = 0;
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) {
        low += lane->low[i];
        high += lane->high[i];
        lane->c[i] = fmin(fmax(lane->c[i], lane->low[i]), lane->high[i]);
        sum += lane->c[i];
    }
    if (low > 1 + 1e-12 || high < 1 - 1e-12) return false;
    /* what is missing (or too much) is shared by the room that each has */
    const double room = sum < 1 ? high - sum : sum - low,
                 share = room > 0 ? fmin(fabs(1 - sum) / room, 1) : 0;
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++)
        lane->c[i] += share * (sum < 1 ? lane->high[i] - lane->c[i] : lane->low[i] - lane->c[i]);
    return true;
}

static void set_slot(const struct match_model *model, size_t column, int at, struct match_lane *lane) {
    const struct match_column *c = &model->column[column];
    lane->column[at] = (signed char)column;
    lane->low[at] = c->low;
    lane->high[at] = c->high;
    lane->c[at] = 0.5 * (c->low + c->high);
}

bool match_lane_make(const struct match_model *model, const signed char column[], size_t count,
                     struct match_lane *lane) {
    int at = 0;
    *lane = (struct match_lane){.f = (double)INFINITY, .damp = 1e-3, .hope = 0};
    memset(lane->column, -1, sizeof lane->column);
    if (model->has_binder) set_slot(model, model->count, at++, lane);
    for (size_t i = 0; i < count; i++) set_slot(model, (size_t)column[i], at++, lane);
    return match_lane_fit(lane);
}

void match_lane_spread(const struct match_model *model, const struct match_lane *lane,
                       double part[SHELF_MOST]) {
    for (size_t i = 0; i < SHELF_MOST; i++) part[i] = 0;
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++)
        part[model->column[lane->column[i]].toner] = lane->c[i];
}
