/* From the pool to a short list: in order of F, each different from all before it, polished in double with
 * the smoothing shrunk. */
#include "paint/match_search.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct match_schedule polishing = {4, 12, 0.0008, true};

static double rounded(double f) {
    return floor(f * 1e4 + .5);
}

int match_lane_order(const void *a, const void *b) {
    const struct match_lane *x = a, *y = b;
    const double fx = rounded(x->f), fy = rounded(y->f);
    if (fx != fy) return fx < fy ? -1 : 1;
    for (int i = MATCH_SLOTS - 1; i >= 0; i--)
        if ((x->column[i] < 0) != (y->column[i] < 0)) return x->column[i] < 0 ? -1 : 1;
    const int order = memcmp(x->column, y->column, sizeof x->column);
    if (order) return order;
    return (x->f > y->f) - (x->f < y->f);
}

/* Shares of the toners among themselves: the same toners in more or less binder are one recipe. */
struct shares {
    int column[MATCH_SLOTS];
    double share[MATCH_SLOTS];
    int count;
};

static struct shares shares_of(const struct match_lane *lane, bool has_binder) {
    struct shares x = {.count = 0};
    double sum = 0;
    for (int i = has_binder ? 1 : 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) sum += lane->c[i];
    for (int i = has_binder ? 1 : 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) {
        x.column[x.count] = lane->column[i];
        x.share[x.count++] = lane->c[i] / fmax(sum, 1e-9);
    }
    return x;
}

static bool has_more(const struct shares *a, const struct shares *b) {
    for (int i = 0; i < a->count; i++) {
        double other = 0;
        for (int k = 0; k < b->count; k++)
            if (b->column[k] == a->column[i]) other = b->share[k];
        if (fabs(a->share[i] - other) >= MATCH_TRACE) return true;
    }
    return false;
}

/* Toners with more than a trace, and all: most pairs are told apart by these alone. */
struct outline {
    unsigned long long much, any, at_least; /* at_least: at the smallest dose */
    struct shares shares;
};

static struct outline outline_of(const struct match_lane *lane, bool has_binder) {
    struct outline o = {0, 0, 0, shares_of(lane, has_binder)};
    for (int i = 0; i < o.shares.count; i++) {
        const int slot = i + (has_binder ? 1 : 0);
        o.any |= 1ULL << (o.shares.column[i] & 63);
        if (lane->c[slot] <= lane->low[slot] * 1.0001) o.at_least |= 1ULL << (o.shares.column[i] & 63);
        if (o.shares.share[i] >= MATCH_TRACE) o.much |= 1ULL << (o.shares.column[i] & 63);
    }
    return o;
}

/* A better recipe, and beside it only toners at their smallest dose: that recipe plus a trace. */
static bool is_plus_a_trace(const struct outline *better, const struct outline *o) {
    return o->at_least && !(better->any & ~o->any) && !(o->any & ~better->any & ~o->at_least);
}

static bool is_new(const struct outline kept[], size_t n, const struct outline *o) {
    for (size_t i = 0; i < n; i++) {
        if (is_plus_a_trace(&kept[i], o)) return false;
        if ((o->much & ~kept[i].any) || (kept[i].much & ~o->any)) continue;
        if (!has_more(&kept[i].shares, &o->shares) && !has_more(&o->shares, &kept[i].shares)) return false;
    }
    return true;
}

struct keyed {
    double key;
    const struct match_lane *lane;
};

static int by_key(const void *a, const void *b) {
    const struct keyed *x = a, *y = b;
    return x->key != y->key ? (x->key < y->key ? -1 : 1) : match_lane_order(x->lane, y->lane);
}

/* The n-th smallest of x[count] (Hoare's selection); x is moved about. */
static double nth_smallest(double x[], size_t count, size_t n) {
    size_t low = 0, high = count - 1;
    while (low < high) {
        const double pivot = x[(low + high) / 2];
        size_t i = low, j = high;
        for (;;) {
            while (x[i] < pivot) i++;
            while (x[j] > pivot) j--;
            if (i >= j) break;
            const double t = x[i];
            x[i++] = x[j];
            x[j--] = t;
        }
        /* x[low..j] <= pivot <= x[j + 1..high] */
        if (x[j] > pivot) j--;
        if (n <= j)
            high = j;
        else
            low = j + 1;
    }
    return x[n];
}

/* Finite lanes with F at most limit, in order. */
static size_t sort_lanes(const struct match_lane *lane, size_t count, double limit, struct keyed out[]) {
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(lane[i].f) && lane[i].f <= limit)
            out[n++] = (struct keyed){rounded(lane[i].f), &lane[i]};
    qsort(out, n, sizeof *out, by_key);
    return n;
}

/* F under which so many lanes lie. */
static double f_limit(const struct match_lane *lane, size_t count, size_t wanted) {
    if (wanted >= count) return (double)INFINITY;
    double *f = memory_need(count, sizeof *f);
    for (size_t i = 0; i < count; i++) f[i] = lane[i].f;
    const double limit = nth_smallest(f, count, wanted);
    memory_free(f);
    return limit;
}

static size_t keep_under(const struct match_lane *lane, size_t count, double limit, size_t most,
                         bool has_binder, struct match_lane kept[]) {
    struct outline *outline = memory_need(most + 1, sizeof *outline);
    struct keyed *sorted = memory_need(count, sizeof *sorted);
    const size_t finite = sort_lanes(lane, count, limit, sorted);
    size_t n = 0;
    for (size_t i = 0; i < finite && n < most; i++) {
        outline[n] = outline_of(sorted[i].lane, has_binder);
        if (is_new(outline, n, &outline[n])) kept[n++] = *sorted[i].lane;
    }
    memory_free(sorted);
    memory_free(outline);
    return n;
}

/* Mostly a few times as many as are kept need to be put in order; all when that was not enough. */
size_t match_keep_different(const struct match_lane *lane, size_t count, size_t most, bool has_binder,
                            struct match_lane kept[]) {
    const double limit = f_limit(lane, count, 4 * most + 64);
    const size_t n = keep_under(lane, count, limit, most, has_binder, kept);
    if (n == most || isinf(limit)) return n;
    return keep_under(lane, count, (double)INFINITY, most, has_binder, kept);
}

/* Which of the pool's lanes are the best different ones. Lanes are told apart by what they hold, so a lane
 * that is not yet where it belongs may hide another: those that are kept are polished in the pool and the
 * question is asked again, until all that are kept are polished (at most ROUNDS times, after that what is).
 */
enum { ROUNDS = 8 };

static size_t polish_kept(struct match_search_state *s, struct match_lane *kept, size_t n, bool polished[]) {
    struct match_lane *fresh = memory_need(n, sizeof *fresh);
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (!polished[kept[i].home]) fresh[count++] = kept[i];
    match_refine(s, s->kernels.polish, fresh, count, &polishing);
    for (size_t i = 0; i < count; i++) {
        polished[fresh[i].home] = true;
        s->pool.lane[fresh[i].home] = fresh[i];
    }
    memory_free(fresh);
    return count;
}

static void fill_local(struct match_search_state *s, struct match_lane *lane, size_t count,
                       struct arena *arena) {
    static const struct match_schedule still = {0, 0, 0.0008, true};
    struct match_local *local = arena_need(arena, count, sizeof *local);
    for (size_t i = 0; i < count; i++) lane[i].local = &local[i];
    match_refine(s, s->kernels.polish, lane, count, &still);
}

void match_polish_lanes(struct match_search_state *s, struct match_lane *lane, size_t count,
                        struct arena *arena) {
    match_refine(s, s->kernels.polish, lane, count, &polishing);
    fill_local(s, lane, count, arena);
}

size_t match_polish(struct match_search_state *s, size_t most, struct arena *arena, struct match_lane **out) {
    const bool has_binder = s->model->has_binder;
    const size_t refined = s->pool.refined, count = s->pool.count;
    bool *polished = memory_need(count, sizeof *polished);
    size_t n = 0;
    *out = arena_need(arena, most, sizeof **out);
    for (size_t i = 0; i < count; i++) s->pool.lane[i].home = i;
    for (int round = 0; round < ROUNDS; round++) {
        n = match_keep_different(s->pool.lane, count, most, has_binder, *out);
        if (polish_kept(s, *out, n, polished) == 0) break;
    }
    fill_local(s, *out, n, arena);
    qsort(*out, n, sizeof **out, match_lane_order);
    s->pool.refined = refined; /* the same subsets again */
    memory_free(polished);
    return n;
}
