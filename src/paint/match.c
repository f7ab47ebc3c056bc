/* The match: its stages in order. Nominating (match_nominate.c) and polishing (match_finish.c) run in the
 * kernels; weights go on the scale's grid (match_grid.c); F of what is weighed comes from the scalar double
 * path (objective.c), and so do the order and all that is printed. */
#include "paint/match.h"
#include "colour/difference.h"
#include "paint/amount.h"
#include "paint/calibrate.h"
#include "paint/match_doubt.h"
#include "paint/match_search.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { POLISHED_LEAST = 48, POLISHED_SPARE = 20 };
static const double COARSE = 5e-4; /* a step of the scale in the batch, from which the local model errs */

void match_task_preset(struct match_task *task, const struct shelf *shelf) {
    static const enum light light[] = {LIGHT_D65, LIGHT_A, LIGHT_FL11};
    static const double weight[] = {.6, .25, .15};
    *task = (struct match_task){
        .shelf = shelf, .max_toners = MATCH_TONERS_MOST, .binder_low = .40, .binder_high = .80};
    task->film =
        (struct film_case){.film_um = (double)INFINITY, .geometry = shelf->geometry, .sheen_gu = (double)NAN};
    for (size_t i = 0; i < 3; i++) {
        task->light[i] = weights_of((struct view){light[i], OBSERVER_10});
        task->light_weight[i] = weight[i];
    }
    task->light_count = 3;
    for (size_t i = 0; i < SHELF_MOST; i++) {
        task->most[i] = 1;
        task->stock_g[i] = (double)INFINITY;
    }
    task->batch_g = 100;
    task->scale_step_g = .01;
    task->coat_um = 6;
    task->film_most_um = LEATHER_COATING_MOST_UM;
    task->cost_weight = .004;
    task->top = 10;
    task->on_grid = true;
}

double match_objective(const struct match_task *task, const double part[], double de00[MATCH_LIGHTS_MOST]) {
    struct objective *objective = memory_need(1, sizeof *objective);
    struct objective_value value;
    objective_make(objective, task->shelf, &task->target, &task->film, task->light, task->light_weight,
                   task->light_count, task->cost_weight);
    objective_of(objective, part, &value);
    if (de00) memcpy(de00, value.de00, sizeof value.de00);
    memory_free(objective);
    return value.f;
}

void recipe_spread(const struct recipe *recipe, const struct shelf *shelf, double part[]) {
    for (size_t i = 0; i < shelf->count; i++) part[i] = 0;
    for (size_t i = 0; i < recipe->count; i++) part[recipe->toner[i]] = recipe->part[i];
}

/* ---- exact numbers ---- */

static void evaluate(const struct match_model *m, struct match_recipe *r) {
    double part[SHELF_MOST];
    struct objective_value value;
    recipe_spread(&r->recipe, m->task->shelf, part);
    objective_of(&m->objective, part, &value);
    r->f = value.f;
    r->rms_percent = value.rms_percent;
    r->cost = value.cost;
    r->reflectance = value.reflectance;
    memcpy(r->de00, value.de00, sizeof r->de00);
}

/* Slots in the order of the shelf; toners that the grid left out are dropped. */
static void recipe_of(const struct match_model *m, const struct match_lane *lane,
                      const struct match_weights *weights, struct match_recipe *out) {
    const struct match_task *task = m->task;
    const double total = (double)weights->total;
    const double step_g = task->scale_step_g / (double)weights->units_a_step;
    *out = (struct match_recipe){0};
    for (size_t toner = 0; toner < task->shelf->count; toner++)
        for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) {
            if (m->column[lane->column[i]].toner != (int)toner ||
                (task->on_grid ? weights->units[i] <= 0 : lane->c[i] <= 0))
                continue;
            struct recipe *r = &out->recipe;
            r->toner[r->count] = (int)toner;
            const double units = (double)weights->units[i];
            out->let_down[r->count] = task->on_grid && weights->let_down[i];
            r->part[r->count] = task->on_grid ? units / total : lane->c[i];
            r->mass_g[r->count++] = task->on_grid ? units * step_g : lane->c[i] * task->batch_g;
        }
}

struct weighing {
    const struct match_model *model;
    const struct match_lane *lane;
    struct match_recipe *recipe;
    size_t exact; /* how many are searched on the objective itself, where the grid is coarse */
};

static void weigh_one(void *context, size_t i) {
    const struct weighing *w = context;
    const struct match_task *task = w->model->task;
    const bool exactly = i < w->exact && task->scale_step_g >= COARSE * task->batch_g;
    struct match_weights weights = {.total = 1, .units_a_step = 1};
    if (task->on_grid) weights = match_grid_search(w->model, &w->lane[i], exactly);
    recipe_of(w->model, &w->lane[i], &weights, &w->recipe[i]);
    evaluate(w->model, &w->recipe[i]);
}

static void report_one(void *context, size_t i) {
    const struct weighing *w = context;
    match_report(w->model, &w->recipe[i]);
}

/* ---- order ---- */

struct sortable {
    struct match_recipe *recipe;
    const struct shelf *shelf;
    double key;
};

/* ids of the toners in their own order, so that the order on the shelf does not matter */
static void sorted_ids(const struct sortable *s, const char *id[RECIPE_TONERS_MOST]) {
    for (size_t i = 0; i < s->recipe->recipe.count; i++) {
        const char *this = s->shelf->toner[s->recipe->recipe.toner[i]].id;
        size_t at = i;
        for (; at > 0 && strcmp(id[at - 1], this) > 0; at--) id[at] = id[at - 1];
        id[at] = this;
    }
}

static int recipe_order(const void *a, const void *b) {
    const struct sortable *x = a, *y = b;
    const char *id_x[RECIPE_TONERS_MOST], *id_y[RECIPE_TONERS_MOST];
    const size_t nx = x->recipe->recipe.count, ny = y->recipe->recipe.count;
    if (x->key != y->key) return x->key < y->key ? -1 : 1;
    if (nx != ny) return nx < ny ? -1 : 1;
    sorted_ids(x, id_x);
    sorted_ids(y, id_y);
    for (size_t i = 0; i < nx; i++) {
        const int order = strcmp(id_x[i], id_y[i]);
        if (order) return order;
    }
    return (x->recipe->f > y->recipe->f) - (x->recipe->f < y->recipe->f);
}

static void shares_of(const struct match_recipe *r, int binder, const struct shelf *shelf,
                      double share[SHELF_MOST]) {
    double sum = 0;
    recipe_spread(&r->recipe, shelf, share);
    if (binder >= 0) share[binder] = 0;
    for (size_t i = 0; i < shelf->count; i++) sum += share[i];
    for (size_t i = 0; i < shelf->count; i++) share[i] /= fmax(sum, 1e-9);
}

static bool recipes_differ(const struct match_recipe *a, const struct match_recipe *b, int binder,
                           const struct shelf *shelf) {
    double x[SHELF_MOST], y[SHELF_MOST];
    shares_of(a, binder, shelf, x);
    shares_of(b, binder, shelf, y);
    for (size_t i = 0; i < shelf->count; i++)
        if (fabs(x[i] - y[i]) >= MATCH_TRACE) return true;
    return false;
}

/* Of the lights that count beside the first; 0 when there are none. */
static double weakest_other(const struct match_recipe *r, const struct match_task *task) {
    double weakest = 0;
    for (size_t l = 1; l < task->light_count; l++)
        if (task->light_weight[l] > 0) weakest = fmax(weakest, r->de00[l]); /* fmax passes over NAN */
    return weakest;
}

/* How far the film over the worst of the other backings is from itself over the first: what of them shows. */
static double shows_through(const struct match_recipe *r, const struct match_task *task,
                            const double part[]) {
    const struct weights *light = task->light[0];
    double worst = 0;
    for (size_t i = 1; i < task->backing_count && isfinite(task->film.film_um); i++) {
        struct film_case film = task->film;
        struct spectrum seen;
        film.backing = task->backing[i];
        predict_reflectance(task->shelf, part, &film, &seen);
        worst = fmax(worst,
                     difference_de00(lab_of_spectrum(&r->reflectance, light), lab_of_spectrum(&seen, light)));
    }
    return worst;
}

/* What hiding costs: the coats, those over a usual film by their square as well (each wants its flash-off,
 * and a thick film loses the grain and cracks); a film that leaves no room for its clear, and one that may
 * not lie there at all. 0 where hiding is not known. */
static double hiding_cost(double film_um, const struct match_task *task) {
    if (isnan(film_um)) return 0;
    const double coats = fmin(predict_coats(film_um, task->coat_um), 60);
    const double more = fmax(0, coats - MATCH_USUAL_UM / task->coat_um);
    return MATCH_COAT * coats + MATCH_COAT_MORE * more * more +
           (film_um > task->film_most_um - MATCH_CLEAR_UM ? MATCH_CROWDED : 0) +
           (film_um > task->film_most_um ? MATCH_BURIED : 0);
}

/* F, and with bench_order what the coats to hide, the toners to pour, the weakest light, what shows of
 * the other backings and the doubt about the strengths count. The binder has no colour of its own, so F
 * alone, which holds the price, would always take the most of it; F alone takes a trace for a gain that
 * nobody sees; and it weighs the first light so much that a recipe may fall apart in the shop. */
static double order_key(const struct match_recipe *r, const struct match_task *task, int binder, bool told) {
    if (!told) return r->f;
    double toners = 0;
    for (size_t i = 0; i < r->recipe.count; i++) toners += r->recipe.toner[i] != binder;
    double part[SHELF_MOST];
    recipe_spread(&r->recipe, task->shelf, part);
    const double doubt = isnan(r->de00[0]) ? 0 : match_doubt_costs(task, part, r->de00);
    const double traced = r->traces ? MATCH_TRACED : 0;
    /* what nobody would spray is not weighed by its coats: the nearest of it stands first */
    if (r->de00[0] > task->tolerance) return 100 + traced + r->f + doubt;
    return traced + r->f + doubt + hiding_cost(r->film_um_to_hide, task) + MATCH_TONER * toners +
           MATCH_WEAKEST * weakest_other(r, task) + MATCH_SHOWS * shows_through(r, task, part);
}

/* Three tolerances (of a dE00 at the least) over the first one: nobody would pour it. */
static bool is_far_behind(const struct match_recipe *r, const struct match_recipe *first,
                          const struct match_task *task) {
    return r->de00[0] > first->de00[0] + 3 * fmax(task->tolerance, 1);
}

static size_t rank(struct match_recipe recipe[], size_t count, const struct match_task *task, int binder,
                   bool told, struct match_recipe out[]) {
    struct sortable *sort = memory_need(count, sizeof *sort);
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        sort[i] = (struct sortable){&recipe[i], task->shelf,
                                    floor(order_key(&recipe[i], task, binder, told) * 1e4 + .5)};
    qsort(sort, count, sizeof *sort, recipe_order);
    for (size_t i = 0; i < count && kept < task->top; i++) {
        bool is_new = !(told && kept > 0 && is_far_behind(sort[i].recipe, &out[0], task));
        for (size_t k = 0; k < kept && is_new; k++)
            is_new = recipes_differ(sort[i].recipe, &out[k], binder, task->shelf);
        if (is_new) out[kept++] = *sort[i].recipe;
    }
    memory_free(sort);
    return kept;
}

/* ---- the whole ---- */

static enum status finish(struct match_search_state *s, struct arena *arena, struct match_result *out,
                          struct fault *fault) {
    const struct match_task *task = s->model->task;
    struct match_lane *lane;
    size_t most = 2 * task->top + POLISHED_SPARE;
    if (most < POLISHED_LEAST) most = POLISHED_LEAST;
    const size_t count = match_polish(s, most, arena, &lane);
    if (work_is_cancelled(s->work)) return FAULT0(fault, CANCELLED);
    if (count == 0) return FAULT0(fault, MATCH_NO_SET);
    struct match_recipe *recipe = memory_need(count, sizeof *recipe);
    struct weighing weighing = {s->model, lane, recipe, 2 * task->top};
    work_run(s->work, count, weigh_one, &weighing);
    out->recipe = arena_need(arena, task->top, sizeof *out->recipe);
    out->count = work_is_cancelled(s->work) ? 0 : rank(recipe, count, task, out->binder, false, out->recipe);
    memory_free(recipe);
    struct weighing told = {s->model, lane, out->recipe, 0};
    work_run(s->work, out->count, report_one, &told);
    return work_is_cancelled(s->work) ? FAULT0(fault, CANCELLED) : STATUS_OK;
}

static enum status search_once(const struct match_task *task, struct work *work, struct arena *arena,
                               struct match_result *out, struct fault *fault) {
    struct match_model *model = arena_need(arena, 1, sizeof *model);
    *out = (struct match_result){.binder = -1};
    enum status status = match_model_make(task, model, fault);
    if (status != STATUS_OK) return status;
    struct match_search_state search = {
        .model = model, .work = work, .kernels = match_kernels_choose(task->path)};
    out->binder = model->has_binder ? model->column[model->count].toner : -1;
    out->search.subsets = task->audit ? match_audit(&search) : match_nominate(&search);
    out->search.refined = search.pool.refined;
    out->search.audited = task->audit;
    status = finish(&search, arena, out, fault);
    match_pool_free(&search.pool);
    return status;
}

enum { WIDER = 3, CONSIDERED = 10 /* at the least, so that a short list begins as a long one does */ };
static const double dilution[] = {0, .2, .4}; /* shares of the way from the least to the most binder */
static const double thinner[] = {.75, 1}, richer[] = {0, .25};

/* Mixes as rich as the limits allow and two dilutions of them, beside what was found: F alone knows one
 * dilution of a set of toners, and hardly ever the one that hides soon. None when nothing so rich can be
 * mixed. */
static void add_dilution(const struct match_task *wide, double share, struct work *work, struct arena *arena,
                         struct match_result *out) {
    struct match_task rich = *wide;
    struct match_result found;
    struct fault none;
    rich.binder_low += share * (wide->binder_high - wide->binder_low);
    rich.binder_high = rich.binder_low;
    rich.audit = wide->audit && share == 0; /* the two between only offer coats */
    if (search_once(&rich, work, arena, &found, &none) != STATUS_OK) return;
    struct match_recipe *all = arena_need(arena, out->count + found.count, sizeof *all);
    memcpy(all, out->recipe, out->count * sizeof *all);
    memcpy(all + out->count, found.recipe, found.count * sizeof *all);
    out->recipe = all;
    out->count += found.count;
    out->search.refined += found.search.refined;
    if (out->search.subsets == 0)
        out->search.subsets = found.search.subsets; /* the middle could not be met */
}

/* An opaque film looks the same whatever its binder, so the search takes one fraction (match_model.c). A
 * stock or a --most may leave too little of a toner for that one and enough for a leaner mix; what must be in
 * the mix may want a richer one. */
static void add_what_limits_allow(const struct match_task *wide, struct work *work, struct arena *arena,
                                  struct match_result *out) {
    bool capped = false, held = false;
    for (size_t i = 0; i < wide->shelf->count; i++) {
        if ((int)i == out->binder || wide->exclude[i]) continue;
        capped = capped || fmin(wide->most[i], wide->stock_g[i] / wide->batch_g) < 1 - wide->binder_low;
        held = held || wide->least[i] > 0;
    }
    for (size_t i = 0; i < sizeof thinner / sizeof *thinner && capped; i++)
        add_dilution(wide, thinner[i], work, arena, out);
    for (size_t i = 0; i < sizeof richer / sizeof *richer && held; i++)
        add_dilution(wide, richer[i], work, arena, out);
}

/* The search itself gives every light that counts at least half of the first one's say, so that the list has
 * recipes for the order to choose from; F is then what was asked for. */
static void widen(const struct match_task *task, struct match_task *wide) {
    *wide = *task;
    wide->top = WIDER * (task->top < CONSIDERED ? CONSIDERED : task->top);
    for (size_t l = 1; l < wide->light_count; l++)
        if (wide->light_weight[l] > 0)
            wide->light_weight[l] = fmax(wide->light_weight[l], wide->light_weight[0] / 2);
}

static void ask_as_given(const struct match_task *task, struct match_result *out) {
    double part[SHELF_MOST];
    for (size_t i = 0; i < out->count; i++) {
        recipe_spread(&out->recipe[i].recipe, task->shelf, part);
        out->recipe[i].f = match_objective(task, part, NULL);
    }
}

static void look_for_traces(void *context, size_t i) {
    const struct weighing *w = context;
    w->recipe[i].traces = match_traces(w->model, &w->recipe[i]);
}

/* In the bench's order, by all that the shelf's cards have shown. */
static size_t rank_for_bench(const struct match_task *task, struct match_result *found,
                             struct match_recipe ranked[]) {
    struct match_task judged = *task;
    struct calibration *sure =
        task->shelf->cards > 0 ? calibration_of_shelf(task->shelf, &doubt_learning) : NULL;
    judged.sure = sure;
    const size_t count = rank(found->recipe, found->count, &judged, found->binder, true, ranked);
    calibration_free(sure);
    return count;
}

/* The best of what was found are tried without their traces as well. */
static enum status add_trimmed(const struct match_task *task, struct work *work, struct arena *arena,
                               struct match_result *out, struct fault *fault) {
    struct match_model *model = arena_need(arena, 1, sizeof *model);
    struct match_task more = *task;
    const enum status status = match_model_make(task, model, fault);
    if (status != STATUS_OK || !task->on_grid) return status;
    struct match_search_state search = {
        .model = model, .work = work, .kernels = match_kernels_choose(task->path)};
    struct weighing found = {.model = model, .recipe = out->recipe};
    work_run(work, out->count, look_for_traces, &found);
    more.top = 2 * (task->top < CONSIDERED ? CONSIDERED : task->top);
    struct match_recipe *best = arena_need(arena, more.top, sizeof *best);
    struct match_lane *lane = arena_need(arena, 2 * more.top, sizeof *lane);
    const size_t count = rank_for_bench(&more, out, best);
    size_t n = 0;
    for (size_t i = 0; i < count; i++) n += match_without_traces(model, &best[i], &lane[n]);
    match_polish_lanes(&search, lane, n, arena);
    struct match_recipe *all = arena_need(arena, out->count + n, sizeof *all);
    memcpy(all, out->recipe, out->count * sizeof *all);
    struct weighing twins = {model, lane, all + out->count, n};
    work_run(work, n, weigh_one, &twins);
    work_run(work, n, report_one, &twins);
    work_run(work, n, look_for_traces, &twins);
    out->recipe = all;
    out->count += n;
    return work_is_cancelled(work) ? FAULT0(fault, CANCELLED) : STATUS_OK;
}

static enum status search_for_bench(const struct match_task *task, struct work *work, struct arena *arena,
                                    struct match_result *out, struct fault *fault) {
    struct match_task wide;
    widen(task, &wide);
    const enum status status = search_once(&wide, work, arena, out, fault);
    const bool opaque = task->backing_count == 0 || isinf(task->film.film_um);
    const bool free_binder = out->binder >= 0 && task->binder_low < task->binder_high;
    if (free_binder && opaque && (status == STATUS_OK || status == STATUS_INPUT))
        add_what_limits_allow(&wide, work, arena, out);
    if (out->count == 0) return status;
    if (free_binder && task->backing_count > 0 && isfinite(task->film.film_um) && !task->shelf->relative_s)
        for (size_t i = 0; i < sizeof dilution / sizeof *dilution; i++)
            add_dilution(&wide, dilution[i], work, arena, out);
    if (work_is_cancelled(work)) return FAULT0(fault, CANCELLED);
    ask_as_given(task, out);
    const enum status trimmed = add_trimmed(task, work, arena, out, fault);
    if (trimmed != STATUS_OK) return trimmed;
    struct match_recipe *ranked = arena_need(arena, task->top, sizeof *ranked);
    out->count = rank_for_bench(task, out, ranked);
    out->recipe = ranked;
    return STATUS_OK;
}

enum status match_run(const struct match_task *task, struct work *work, struct arena *arena,
                      struct match_result *out, struct fault *fault) {
    return (task->bench_order ? search_for_bench : search_once)(task, work, arena, out, fault);
}
