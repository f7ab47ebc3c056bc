/* The pool of refined recipes, and running the kernels over lanes in fixed chunks. */
#include "paint/match_search.h"
#include <string.h>

struct match_kernels match_kernels_choose(enum match_path path) {
    const struct match_kernels base = {match_kernel_f32_base, match_kernel_f64_base};
#if defined(__x86_64__)
    const struct match_kernels avx2 = {match_kernel_f32_avx2, match_kernel_f64_avx2};
    if (path != MATCH_PATH_BASE && __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma"))
        return avx2;
#else
    (void)path;
#endif
    return base;
}

unsigned long long match_lane_set(const struct match_lane *lane) {
    unsigned long long set = 0;
    for (int i = 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++) set |= 1ULL << (lane->column[i] & 63);
    return set;
}

static size_t place_of(const struct match_pool *pool, unsigned long long set) {
    size_t at = (size_t)((set * 0x9E3779B97F4A7C15ULL) >> 20) % pool->seen_room;
    while (pool->seen[at] && pool->seen[at] != set) at = (at + 1) % pool->seen_room;
    return at;
}

static void grow_seen(struct match_pool *pool) {
    struct match_pool larger = {.seen_room = pool->seen_room ? 2 * pool->seen_room : 4096};
    larger.seen = memory_need(larger.seen_room, sizeof *larger.seen);
    for (size_t i = 0; i < pool->seen_room; i++)
        if (pool->seen[i]) larger.seen[place_of(&larger, pool->seen[i])] = pool->seen[i];
    memory_free(pool->seen);
    pool->seen = larger.seen;
    pool->seen_room = larger.seen_room;
}

bool match_pool_claim(struct match_pool *pool, unsigned long long set) {
    if (2 * pool->seen_count >= pool->seen_room) grow_seen(pool);
    const size_t at = place_of(pool, set);
    if (pool->seen[at]) return false;
    pool->seen[at] = set;
    pool->seen_count++;
    return true;
}

void match_pool_forget(struct match_pool *pool, double limit) {
    if (pool->seen_room) memset(pool->seen, 0, pool->seen_room * sizeof *pool->seen);
    pool->seen_count = 0;
    for (size_t i = 0; i < pool->count; i++)
        if (pool->lane[i].f <= limit) match_pool_claim(pool, match_lane_set(&pool->lane[i]));
}

void match_pool_add(struct match_pool *pool, const struct match_lane *lane) {
    if (pool->count == pool->room) {
        pool->room = pool->room ? 2 * pool->room : 1024;
        pool->lane = memory_grow(pool->lane, pool->room, sizeof *pool->lane);
    }
    pool->lane[pool->count++] = *lane;
}

void match_pool_free(struct match_pool *pool) {
    memory_free(pool->lane);
    memory_free(pool->seen);
    *pool = (struct match_pool){0};
}

/* ---- chunks of lanes of one size ---- */

enum { CHUNK = 64 };

struct span {
    size_t first, count;
    int slots;
};

struct round {
    const struct match_model *model;
    struct match_lane *lane;
    match_kernel *kernel;
    const struct match_schedule *schedule;
    struct span *span;
    size_t span_count;
};

static int slots_of(const struct match_lane *lane) {
    int n = 0;
    while (n < MATCH_SLOTS && lane->column[n] >= 0) n++;
    return n;
}

static void run_span(void *context, size_t chunk) {
    const struct round *round = context;
    const struct span *span = &round->span[chunk];
    round->kernel(round->model, round->lane + span->first, span->count, span->slots, round->schedule);
}

/* Neighbours of the same size share a chunk. */
static void cut_spans(struct round *round, size_t count) {
    for (size_t i = 0; i < count; i++) {
        const int slots = slots_of(&round->lane[i]);
        struct span *last = round->span_count ? &round->span[round->span_count - 1] : NULL;
        if (last && last->slots == slots && last->count < CHUNK)
            last->count++;
        else
            round->span[round->span_count++] = (struct span){i, 1, slots};
    }
}

/* Lanes are put into the order of their size first, as they came within a size. */
static void order_by_size(struct match_lane *lane, size_t count) {
    struct match_lane *copy = memory_need(count, sizeof *copy);
    size_t at = 0;
    for (int slots = 0; slots <= MATCH_SLOTS; slots++)
        for (size_t i = 0; i < count; i++)
            if (slots_of(&lane[i]) == slots) copy[at++] = lane[i];
    memcpy(lane, copy, count * sizeof *lane);
    memory_free(copy);
}

void match_refine(struct match_search_state *search, match_kernel *kernel, struct match_lane *lane,
                  size_t count, const struct match_schedule *schedule) {
    if (count == 0) return;
    struct round round = {search->model, lane, kernel, schedule, memory_need(count, sizeof(struct span)), 0};
    order_by_size(lane, count);
    cut_spans(&round, count);
    work_run(search->work, round.span_count, run_span, &round);
    memory_free(round.span);
    search->pool.refined += count;
}
