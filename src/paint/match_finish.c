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
    unsigned long long much, any;
    struct shares shares;
};

static struct outline outline_of(const struct match_lane *lane, bool has_binder) {
    struct outline o = {0, 0, shares_of(lane, has_binder)};
    for (int i = 0; i < o.shares.count; i++) {
        o.any |= 1ULL << (o.shares.column[i] & 63);
        if (o.shares.share[i] >= MATCH_TRACE) o.much |= 1ULL << (o.shares.column[i] & 63);
    }
    return o;
}

static bool is_new(const struct outline kept[], size_t n, const struct outline *o) {
    for (size_t i = 0; i < n; i++) {
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

/* Finite lanes in order. */
static size_t sort_lanes(const struct match_lane *lane, size_t count, struct keyed out[]) {
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(lane[i].f)) out[n++] = (struct keyed){rounded(lane[i].f), &lane[i]};
    qsort(out, n, sizeof *out, by_key);
    return n;
}

size_t match_keep_different(const struct match_lane *lane, size_t count, size_t most, bool has_binder,
                            struct match_lane kept[]) {
    struct outline *outline = memory_need(most + 1, sizeof *outline);
    struct keyed *sorted = memory_need(count, sizeof *sorted);
    const size_t finite = sort_lanes(lane, count, sorted);
    size_t n = 0;
    for (size_t i = 0; i < finite && n < most; i++) {
        outline[n] = outline_of(sorted[i].lane, has_binder);
        if (is_new(outline, n, &outline[n])) kept[n++] = *sorted[i].lane;
    }
    memory_free(sorted);
    memory_free(outline);
    return n;
}

/* Polished lanes may come to the same recipe, so it goes on down the pool until `most` different ones stand,
 * at most three times. */
size_t match_polish(struct match_search_state *s, size_t most, struct arena *arena, struct match_lane **out) {
    const bool has_binder = s->model->has_binder;
    const size_t refined = s->pool.refined, wide = 3 * most;
    struct match_lane *all = memory_need(wide, sizeof *all);
    struct match_local *local = arena_need(arena, wide, sizeof *local);
    const size_t n = match_keep_different(s->pool.lane, s->pool.count, wide, has_binder, all);
    size_t kept = 0, done = 0;
    *out = arena_need(arena, most, sizeof **out);
    for (size_t i = 0; i < n; i++) all[i].local = &local[i];
    while (done < n && kept < most) {
        const size_t next = n - done < most - kept ? n - done : most - kept;
        match_refine(s, s->kernels.polish, all + done, next, &polishing);
        done += next;
        kept = match_keep_different(all, done, most, has_binder, *out);
    }
    s->pool.refined = refined; /* the same subsets again */
    memory_free(all);
    return kept;
}
