/* From the pool to a short list: in order of F, each different from all before it, polished in double with
 * the smoothing shrunk. */
#include "paint/match_search.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double trace = 0.01; /* mass fractions that differ by less in every toner are one recipe */
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

static double part_of(const struct match_lane *lane, int column) {
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++)
        if (lane->column[i] == column) return lane->c[i];
    return 0;
}

static bool has_more(const struct match_lane *a, const struct match_lane *b) {
    for (int i = 0; i < MATCH_SLOTS && a->column[i] >= 0; i++)
        if (fabs(a->c[i] - part_of(b, a->column[i])) >= trace) return true;
    return false;
}

bool match_lanes_differ(const struct match_lane *a, const struct match_lane *b) {
    return has_more(a, b) || has_more(b, a);
}

/* Columns with more than a trace, and all: most pairs are told apart by these alone. */
struct outline {
    unsigned long long much, any;
};

static struct outline outline_of(const struct match_lane *lane) {
    struct outline o = {0, match_lane_set(lane)};
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++)
        if (lane->c[i] >= trace) o.much |= 1ULL << (lane->column[i] & 63);
    return o;
}

static bool is_new(const struct match_lane *kept, const struct outline *outline, size_t n,
                   const struct match_lane *lane) {
    const struct outline o = outline_of(lane);
    for (size_t i = 0; i < n; i++) {
        if ((o.much & ~outline[i].any) || (outline[i].much & ~o.any)) continue;
        if (!match_lanes_differ(&kept[i], lane)) return false;
    }
    return true;
}

/* The first `most` different ones of lane[count], in order; sorts lane. */
static size_t keep_different(struct match_lane *lane, size_t count, size_t most, struct match_lane kept[]) {
    struct outline *outline = memory_need(most, sizeof *outline);
    size_t n = 0;
    qsort(lane, count, sizeof *lane, match_lane_order);
    for (size_t i = 0; i < count && n < most; i++) {
        if (!isfinite(lane[i].f) || !is_new(kept, outline, n, &lane[i])) continue;
        outline[n] = outline_of(&lane[i]);
        kept[n++] = lane[i];
    }
    memory_free(outline);
    return n;
}

size_t match_polish(struct match_search_state *s, size_t most, struct arena *arena, struct match_lane **out) {
    struct match_lane *first = memory_need(most, sizeof *first);
    const size_t n = keep_different(s->pool.lane, s->pool.count, most, first);
    struct match_local *local = arena_need(arena, n, sizeof *local);
    const size_t refined = s->pool.refined;
    for (size_t i = 0; i < n; i++) first[i].local = &local[i];
    match_refine(s, s->kernels.polish, first, n, &polishing);
    s->pool.refined = refined; /* the same subsets again */
    *out = arena_need(arena, most, sizeof **out);
    const size_t kept = keep_different(first, n, most, *out);
    memory_free(first);
    return kept;
}
