/* Which subsets deserve a refinement on the true objective, and refining them.
 *   1. A point to linearise at: the target's level set at the S of the best mix of up to three toners.
 *   2. Every subset's linear optimum (match_linear.c). The best 512 are refined; F20 is the 20th of them;
 * then every subset whose linear optimum, a lower bound on its scale, is within four times F20.
 *   3. Far targets (best F over .35): linearise again at the best recipe, up to three times.
 *   4. Growing: a recipe whose gradient wants one more toner (a negative reduced price at its optimum) is
 * refined with it. This finds the subsets whose linear optimum had left a toner out that the true one wants
 * (bounds, crowding, a large colour step). An audit instead refines every subset from three starts. */
#include "paint/match_search.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_BATCH = 512,
    RANK_KEPT = 20,
    RELINEARISE_MOST = 3,
    SCOUTS = 128,
    SUBSETS_MOST = 24000,
    SETTLE_MOST = 4,
    PARENTS = 24,
    PARENTS_MOST = 128,
    DILUTED = 40,
    GENERATIONS = 6
};
static const double ratio_kept = 4, far = 0.35, smooth_nominate = 0.004;
static const struct match_schedule scouting = {2, 8, 0.02, false}, nominating = {2, 8, 0.004, false},
                                   glancing = {1, 7, 0.004, false}, settling = {2, 8, 0.004, false},
                                   auditing = {5, 9, 0.004, false}, dilution = {4, 8, 0.004, false},
                                   pricing = {3, 10, 0.004, true};

/* Starts from the linear optimum, moved inside the bounds. */
static bool start_lane(const struct match_model *m, const struct match_linear *linear,
                       const signed char column[], size_t count, struct match_lane *lane) {
    double y[MATCH_TONERS_MOST], value, sum = 0;
    const int first = m->has_binder ? 1 : 0;
    if (!match_lane_make(m, column, count, lane)) return false;
    if (!match_linear_solve(linear, column, count, y, &value)) return true;
    for (size_t i = 0; i < count; i++) {
        const double c = linear->least[column[i]] + fmax(y[i], 0);
        lane->c[(size_t)first + i] = c;
        sum += c;
    }
    if (m->has_binder) lane->c[0] = 1 - sum;
    return match_lane_fit(lane);
}

/* Bounds can leave no set of toners at all, and then there is no pool. */
static void refine_new(struct match_search_state *s, size_t first, const struct match_schedule *schedule) {
    if (s->pool.count > first)
        match_refine(s, s->kernels.nominate, s->pool.lane + first, s->pool.count - first, schedule);
}

/* Claims and refines what is new among them; returns where the new lanes begin in the pool. */
static size_t refine_subsets(struct match_search_state *s, const struct match_linear *linear,
                             const struct match_proper *proper, size_t count,
                             const struct match_schedule *schedule) {
    const size_t first = s->pool.count;
    for (size_t i = 0; i < count; i++) {
        struct match_lane lane;
        if (!start_lane(s->model, linear, proper[i].column, (size_t)proper[i].count, &lane)) continue;
        if (match_pool_claim(&s->pool, match_lane_set(&lane))) match_pool_add(&s->pool, &lane);
    }
    refine_new(s, first, schedule);
    return first;
}

/* ---- where to linearise ---- */

static void mix_of(const struct match_model *m, const struct match_lane *lane, double k[BANDS],
                   double s[BANDS]) {
    double part[SHELF_MOST];
    match_lane_spread(m, lane, part);
    shelf_mix(m->task->shelf, part, k, s);
}

static void mean_scatter(const struct match_model *m, double s[BANDS]) {
    for (int b = 0; b < BANDS; b++) {
        s[b] = 0;
        for (size_t i = 0; i < m->count; i++) s[b] += m->column[i].s[b] / (double)m->count;
        if (m->has_binder) s[b] *= 1 - 0.5 * (m->column[m->count].low + m->column[m->count].high);
    }
}

static const struct match_lane *best_lane(const struct match_pool *pool, size_t first) {
    const struct match_lane *best = NULL;
    for (size_t i = first; i < pool->count; i++)
        if (!best || pool->lane[i].f < best->f) best = &pool->lane[i];
    return best;
}

/* K and S at the target's own level set, with the S of the best small mix. */
static void find_level(struct match_search_state *s, size_t most, double k0[BANDS], double s0[BANDS]) {
    struct match_linear *linear = memory_need(1, sizeof *linear);
    struct match_proper *proper = NULL;
    struct match_search_state scout = *s;
    size_t count;
    double unused[BANDS];
    scout.pool = (struct match_pool){0};
    mean_scatter(s->model, s0);
    match_level_set(s->model, s0, k0);
    match_linearise(s->model, k0, s0, linear);
    match_enumerate(linear, most < 3 ? most : 3, s->work, &proper, &count);
    refine_subsets(&scout, linear, proper, count < SCOUTS ? count : SCOUTS, &scouting);
    const struct match_lane *best = best_lane(&scout.pool, 0);
    if (best) mix_of(s->model, best, unused, s0);
    match_level_set(s->model, s0, k0);
    match_pool_free(&scout.pool);
    memory_free(proper);
    memory_free(linear);
}

/* ---- refining where it can matter ---- */

/* The F of the n-th best different recipe so far (of the last one when there are fewer). */
static double ranked_f(const struct match_search_state *s, size_t n) {
    const struct match_pool *pool = &s->pool;
    if (pool->count == 0) return (double)INFINITY;
    struct match_lane *kept = memory_need(n, sizeof *kept);
    const size_t different = match_keep_different(pool->lane, pool->count, n, s->model->has_binder, kept);
    const double ranked = different ? kept[different - 1].f : (double)INFINITY;
    memory_free(kept);
    return ranked;
}

static bool is_settled(const struct match_lane *lane) {
    return lane->f - lane->hope <= .0005 * lane->f + 1e-4;
}

/* Refines those again; they go back where they were. */
static void refine_again(struct match_search_state *s, struct match_lane moving[], size_t n) {
    const size_t refined = s->pool.refined;
    match_refine(s, s->kernels.nominate, moving, n, &settling);
    for (size_t i = 0; i < n; i++) s->pool.lane[moving[i].home] = moving[i];
    s->pool.refined = refined; /* the same subsets again */
}

/* Refines on what could still come into the list: F as the last step aimed at it is inside, and it is not
 * there yet. A lane that a step has not helped is not at its optimum for that. */
static void settle(struct match_search_state *s, size_t first) {
    struct match_lane *moving = memory_need(s->pool.count - first, sizeof *moving);
    for (int round = 0; round < SETTLE_MOST && !work_is_cancelled(s->work); round++) {
        const double limit = (round == 0 ? 1.5 : 1.1) * ranked_f(s, 2 * RANK_KEPT);
        size_t n = 0;
        for (size_t i = first; i < s->pool.count; i++) {
            if (s->pool.lane[i].hope > limit || is_settled(&s->pool.lane[i])) continue;
            moving[n] = s->pool.lane[i];
            moving[n++].home = i;
        }
        if (n == 0) break;
        refine_again(s, moving, n);
    }
    memory_free(moving);
}

/* What stands in the list or near it is linearised where it stands once more, settled or not: a model of
 * where it came from may have held a toner at its smallest dose that is wanted here. */
static void confirm(struct match_search_state *s) {
    struct match_lane *moving = memory_need(s->pool.count, sizeof *moving);
    const double limit = ranked_f(s, 2 * RANK_KEPT);
    size_t n = 0;
    for (size_t i = 0; i < s->pool.count; i++) {
        if (s->pool.lane[i].f > limit) continue;
        moving[n] = s->pool.lane[i];
        moving[n++].home = i;
    }
    refine_again(s, moving, n);
    memory_free(moving);
    settle(s, 0);
}

static size_t search_at(struct match_search_state *s, const double k0[BANDS], const double s0[BANDS],
                        double report) {
    struct match_linear *linear = memory_need(1, sizeof *linear);
    struct match_proper *proper = NULL;
    size_t count;
    match_linearise(s->model, k0, s0, linear);
    const size_t subsets = match_enumerate(linear, s->model->task->max_toners, s->work, &proper, &count);
    const size_t first = count < FIRST_BATCH ? count : FIRST_BATCH;
    work_report(s->work, report);
    const size_t begin = refine_subsets(s, linear, proper, first, &nominating);
    settle(s, begin);
    const double limit = ratio_kept * ranked_f(s, RANK_KEPT);
    size_t last = first;
    while (last < count && last < SUBSETS_MOST && sqrt((double)proper[last].value) <= limit) last++;
    refine_subsets(s, linear, proper + first, last - first, &glancing);
    settle(s, begin);
    memory_free(proper);
    memory_free(linear);
    return subsets;
}

static void relinearise(struct match_search_state *s) {
    double k0[BANDS], s0[BANDS], before = (double)INFINITY;
    for (int i = 0; i < RELINEARISE_MOST && !work_is_cancelled(s->work); i++) {
        const struct match_lane *best = best_lane(&s->pool, 0);
        if (!best || best->f <= far || best->f >= before * .999) return;
        before = best->f;
        mix_of(s->model, best, k0, s0);
        match_pool_forget(&s->pool, 1.1 * ranked_f(s, 2 * RANK_KEPT));
        search_at(s, k0, s0, .5 + .1 * i);
    }
}

/* The needed toners alone: the recipe when nothing may be added. */
static void add_needed(struct match_search_state *s) {
    signed char column[MATCH_TONERS_MOST];
    struct match_lane lane;
    const size_t n = s->model->needed;
    for (size_t i = 0; i < n; i++) column[i] = (signed char)i;
    if (n == 0 || !match_lane_make(s->model, column, n, &lane) ||
        !match_pool_claim(&s->pool, match_lane_set(&lane)))
        return;
    match_pool_add(&s->pool, &lane);
    match_refine(s, s->kernels.nominate, &s->pool.lane[s->pool.count - 1], 1, &nominating);
}

/* ---- growing ---- */

struct growth {
    const struct match_search_state *search;
    const struct match_lane *parent;
    unsigned long long *wants; /* per parent: columns whose reduced price is negative */
};

static bool is_inside(const struct match_lane *lane, int i) {
    return lane->c[i] > lane->low[i] + 1e-4 && lane->c[i] < lane->high[i] - 1e-4;
}

/* The multiplier of the sum: the mean gradient of what lies inside its bounds, or the largest of all when
 * nothing does. */
static double level_of(const struct match_model *m, const struct match_lane *lane, const double gradient[]) {
    double sum = 0, count = 0, top = -(double)INFINITY;
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) {
        const double g = gradient[m->column[lane->column[i]].toner];
        top = fmax(top, g);
        if (!is_inside(lane, i)) continue;
        sum += g;
        count++;
    }
    return count > 0 ? sum / count : top;
}

static void price_lane(void *context, size_t chunk) {
    const struct growth *growth = context;
    const struct match_model *m = growth->search->model;
    const struct match_lane *lane = &growth->parent[chunk];
    double part[SHELF_MOST], gradient[SHELF_MOST];
    match_lane_spread(m, lane, part);
    objective_slope(&m->objective, part, smooth_nominate, gradient);
    const double level = level_of(m, lane, gradient), wanted = .003 + .01 * lane->f;
    const unsigned long long has = match_lane_set(lane);
    growth->wants[chunk] = 0;
    for (size_t j = 0; j < m->count; j++)
        if (!(has >> j & 1) && gradient[m->column[j].toner] < level - wanted)
            growth->wants[chunk] |= 1ULL << j;
}

/* The lane with column j put into its place, at its smallest dose. */
static bool grown_lane(const struct match_model *m, const struct match_lane *from, size_t j,
                       struct match_lane *out) {
    signed char column[MATCH_TONERS_MOST];
    size_t n = 0, at = 0;
    const int first = m->has_binder ? 1 : 0;
    for (int i = first; i < MATCH_SLOTS && from->column[i] >= 0; i++) {
        if (from->column[i] < (int)j) at = n + 1;
        n++;
    }
    for (size_t i = 0; i <= n; i++)
        column[i] = i < at    ? from->column[(size_t)first + i]
                    : i == at ? (signed char)j
                              : from->column[(size_t)first + i - 1];
    if (!match_lane_make(m, column, n + 1, out)) return false;
    for (int i = 0; i < MATCH_SLOTS && out->column[i] >= 0; i++) {
        out->c[i] = out->low[i];
        for (int k = 0; k < MATCH_SLOTS && from->column[k] >= 0; k++)
            if (from->column[k] == out->column[i]) out->c[i] = from->c[k];
    }
    return match_lane_fit(out);
}

static size_t toners_in(const struct match_model *m, const struct match_lane *lane) {
    size_t n = 0;
    while (n < MATCH_SLOTS && lane->column[n] >= 0) n++;
    return n - (m->has_binder ? 1 : 0);
}

struct asked {
    unsigned long long set[PARENTS_MOST * GENERATIONS];
    size_t count;
};

static bool is_asked(const struct asked *asked, unsigned long long set) {
    for (size_t i = 0; i < asked->count; i++)
        if (asked->set[i] == set) return true;
    return false;
}

/* The best of those that have room for one more toner and have not been asked before: all that are inside the
 * list already, and the next few. Recipes that the list would call the same are asked alike: what one more
 * toner is worth depends on the traces in them. */
static size_t pick_parents(struct match_search_state *s, struct match_lane parent[], struct asked *asked) {
    const double inside = ranked_f(s, RANK_KEPT);
    struct match_lane *roomy = memory_need(s->pool.count, sizeof *roomy);
    size_t count = 0, n = 0;
    for (size_t i = 0; i < s->pool.count; i++)
        if (toners_in(s->model, &s->pool.lane[i]) < s->model->task->max_toners)
            roomy[count++] = s->pool.lane[i];
    qsort(roomy, count, sizeof *roomy, match_lane_order);
    for (size_t i = 0; i < count && n < PARENTS_MOST; i++) {
        if (i >= PARENTS && roomy[i].f > inside) break;
        if (is_asked(asked, match_lane_set(&roomy[i]))) continue;
        asked->set[asked->count++] = match_lane_set(&roomy[i]);
        parent[n++] = roomy[i];
    }
    memory_free(roomy);
    return n;
}

/* One generation of children; false when nobody asked for one. */
static bool grow_once(struct match_search_state *s, struct asked *asked) {
    struct match_lane *parent = memory_need(PARENTS_MOST, sizeof *parent);
    unsigned long long wants[PARENTS_MOST];
    const size_t parents = pick_parents(s, parent, asked), begin = s->pool.count;
    struct growth growth = {s, parent, wants};
    const size_t refined = s->pool.refined;
    /* at the kink of dE00 = 0 a gradient is only worth something at the optimum itself: the parents are
     * polished first */
    match_refine(s, s->kernels.polish, parent, parents, &pricing);
    s->pool.refined = refined; /* the same subsets again */
    work_run(s->work, parents, price_lane, &growth);
    for (size_t i = 0; i < parents && !work_is_cancelled(s->work); i++)
        for (size_t j = 0; j < s->model->count; j++) {
            struct match_lane child;
            if (!(wants[i] >> j & 1) || !grown_lane(s->model, &parent[i], j, &child)) continue;
            if (match_pool_claim(&s->pool, match_lane_set(&child))) match_pool_add(&s->pool, &child);
        }
    refine_new(s, begin, &nominating);
    settle(s, begin);
    memory_free(parent);
    return s->pool.count > begin;
}

/* ---- other dilutions ---- */

/* The best lanes in order: all that are inside the list, at least `least` and at most `most`. Traces count.
 */
static size_t pick_best(const struct match_search_state *s, size_t least, size_t most,
                        struct match_lane best[]) {
    const double inside = ranked_f(s, RANK_KEPT);
    struct match_lane *sorted = memory_need(s->pool.count, sizeof *sorted);
    size_t n = 0;
    if (s->pool.count) memcpy(sorted, s->pool.lane, s->pool.count * sizeof *sorted);
    qsort(sorted, s->pool.count, sizeof *sorted, match_lane_order);
    while (n < s->pool.count && n < most && (n < least || sorted[n].f <= inside)) best[n] = sorted[n], n++;
    memory_free(sorted);
    return n;
}

/* In a film that nearly hides, the same toners in much and in little binder are two valleys: the best recipes
 * are also tried from the ends of the binder's limits. */
static void try_dilutions(struct match_search_state *s) {
    const struct match_column *binder = &s->model->column[s->model->count];
    if (!s->model->has_binder || binder->low >= binder->high) return;
    struct match_lane *best = memory_need(PARENTS_MOST, sizeof *best),
                      *lane = memory_need(2 * PARENTS_MOST, sizeof *lane);
    const size_t n = pick_best(s, DILUTED, PARENTS_MOST, best), refined = s->pool.refined;
    for (size_t i = 0; i < 2 * n; i++) {
        lane[i] = best[i / 2];
        const double from = lane[i].c[0], to = i % 2 ? binder->low + .02 : binder->high - .02;
        for (int k = 1; k < MATCH_SLOTS && lane[i].column[k] >= 0; k++)
            lane[i].c[k] *= (1 - to) / fmax(1 - from, 1e-6);
        lane[i].c[0] = to;
        lane[i].damp = 1e-3;
        match_lane_fit(&lane[i]);
    }
    match_refine(s, s->kernels.nominate, lane, 2 * n, &dilution);
    s->pool.refined = refined; /* the same subsets again */
    for (size_t i = 0; i < 2 * n; i++)
        if (lane[i].f < best[n ? n - 1 : 0].f) match_pool_add(&s->pool, &lane[i]);
    memory_free(best);
    memory_free(lane);
}

size_t match_nominate(struct match_search_state *s) {
    double k0[BANDS], s0[BANDS];
    struct asked *asked = memory_need(1, sizeof *asked);
    add_needed(s);
    find_level(s, s->model->task->max_toners, k0, s0);
    const size_t subsets = search_at(s, k0, s0, .2);
    relinearise(s);
    for (int g = 0; g < GENERATIONS && !work_is_cancelled(s->work); g++)
        if (!grow_once(s, asked)) break;
    memory_free(asked);
    confirm(s);
    try_dilutions(s);
    return subsets;
}

/* ---- audit ---- */

enum { AUDIT_BLOCK = 4096, AUDIT_KEPT = 512 };

struct auditor {
    struct match_search_state *search;
    struct match_linear linear;
    struct match_lane *block;
    size_t filled, done, total;
};

/* Keeps the best of the pool that are different. */
static void trim_pool(struct match_pool *pool, bool has_binder) {
    struct match_lane *kept = memory_need(AUDIT_KEPT, sizeof *kept);
    pool->count = match_keep_different(pool->lane, pool->count, AUDIT_KEPT, has_binder, kept);
    memcpy(pool->lane, kept, pool->count * sizeof *kept);
    memory_free(kept);
}

/* Starts: the linear optimum, the middle of the bounds, and everything in the first toner. */
static void flush_audit(struct auditor *a) {
    struct match_search_state *s = a->search;
    const size_t n = a->filled;
    match_refine(s, s->kernels.nominate, a->block, n, &auditing);
    for (size_t i = 0; i < n; i++) match_pool_add(&s->pool, &a->block[i]);
    for (int start = 0; start < 2; start++) {
        for (size_t i = 0; i < n; i++) {
            struct match_lane *lane = &a->block[i];
            for (int k = 0; k < MATCH_SLOTS && lane->column[k] >= 0; k++)
                lane->c[k] = start == 0                            ? .5 * (lane->low[k] + lane->high[k])
                             : k == (s->model->has_binder ? 1 : 0) ? 1
                                                                   : lane->low[k];
            match_lane_fit(lane);
        }
        match_refine(s, s->kernels.nominate, a->block, n, &auditing);
        for (size_t i = 0; i < n; i++) match_pool_add(&s->pool, &a->block[i]);
    }
    s->pool.refined -= 2 * n;
    trim_pool(&s->pool, s->model->has_binder);
    a->done += n;
    a->filled = 0;
    work_report(s->work, (double)a->done / (double)a->total);
}

static void audit_from(struct auditor *a, signed char column[], size_t n, size_t next) {
    const struct match_model *m = a->search->model;
    if (work_is_cancelled(a->search->work)) return;
    if (n >= m->needed && n > 0 && start_lane(m, &a->linear, column, n, &a->block[a->filled])) {
        if (++a->filled == AUDIT_BLOCK) flush_audit(a);
    }
    if (n == m->task->max_toners) return;
    for (size_t j = next; j < m->count; j++) {
        if (n < m->needed && j != n) return; /* the needed ones come first and all of them */
        column[n] = (signed char)j;
        audit_from(a, column, n + 1, j + 1);
    }
}

size_t match_audit(struct match_search_state *s) {
    struct auditor *a = memory_need(1, sizeof *a);
    signed char column[MATCH_TONERS_MOST];
    double k0[BANDS], s0[BANDS];
    find_level(s, s->model->task->max_toners, k0, s0);
    match_linearise(s->model, k0, s0, &a->linear);
    a->search = s;
    a->block = memory_need(AUDIT_BLOCK, sizeof *a->block);
    a->total = 1;
    for (size_t k = 1, c = 1; k <= s->model->task->max_toners && k <= s->model->count; k++)
        a->total += c = c * (s->model->count - k + 1) / k;
    audit_from(a, column, 0, 0);
    if (a->filled) flush_audit(a);
    const size_t subsets = a->done;
    memory_free(a->block);
    memory_free(a);
    return subsets;
}
