/* The match against what a careful script would do with a general-purpose optimiser, on the same targets and
 * the same objective in one run:
 *   - every subset of up to five toners by NLopt's SLSQP (Kraft 1994) with the analytic gradient: time ratio,
 * and, restarted where SLSQP stopped above a part of the subset, the exhaustive reference for the twenty best
 * different recipes (rank by rank: by how much F of russet's is above the reference's);
 *   - SLSQP on all toners, then the smallest dropped one by one to five (backward elimination): how far from
 * the best that ends. Times are CPU time of one thread. Shelves and targets: tests/match_shelf.h. Usage:
 * match_bench [--long | --rows | --references FROM COUNT] Prints Markdown; --rows: only what bench/all asks
 * for;
 * --references: a piece of the thirty references of --long. */
#include "bench.h"
#include "match_shelf.h"
#include "paint/match_search.h"
#include <nlopt.h>

static double seconds(void) {
    return 1e-3 * cpu_ms();
}

static double share_of(double value[], size_t n, double share) {
    qsort(value, n, sizeof *value, by_value);
    const size_t at = (size_t)(share * (double)n);
    return value[at < n ? at : n - 1];
}

static struct match_task task_for(const struct shelf *shelf, size_t target) {
    struct match_task task;
    match_task_preset(&task, shelf);
    task.film = match_film(false);
    task.target = match_target(shelf, target, &task.film);
    return task;
}

/* ---- the peer ---- */

enum { PEER_TONERS_MOST = SHELF_MOST };

/* The objective on a small shelf of the subset's own toners, so that nothing is computed for the others. */
struct peer {
    struct toner toner[PEER_TONERS_MOST];
    struct shelf shelf;
    struct objective objective;
    long calls;
};

static void peer_start(struct peer *peer, const struct objective *whole, const int toner[], size_t count) {
    peer->objective = *whole;
    peer->shelf = *whole->shelf;
    peer->shelf.toner = peer->toner;
    peer->shelf.count = count;
    peer->objective.shelf = &peer->shelf;
    for (size_t i = 0; i < count; i++) {
        peer->toner[i] = whole->shelf->toner[toner[i]];
        peer->objective.price[i] = whole->price[toner[i]];
    }
}

static const double peer_smooth =
    0.0008; /* the same as russet's polish: F has a kink that a line search stumbles over */

static double peer_f(unsigned n, const double *c, double *gradient, void *data) {
    struct peer *peer = data;
    (void)n;
    peer->calls++;
    return objective_slope(&peer->objective, c, peer_smooth, gradient);
}

static double peer_sum(unsigned n, const double *c, double *gradient, void *data) {
    double sum = -1;
    (void)data;
    for (unsigned i = 0; i < n; i++) {
        sum += c[i];
        if (gradient) gradient[i] = 1;
    }
    return sum;
}

static double peer_solve(struct peer *peer, double c[], const double low[], const double high[]) {
    const unsigned n = (unsigned)peer->shelf.count;
    nlopt_opt opt = nlopt_create(NLOPT_LD_SLSQP, n);
    double f = (double)INFINITY;
    nlopt_set_min_objective(opt, peer_f, peer);
    nlopt_add_equality_constraint(opt, peer_sum, NULL, 1e-9);
    nlopt_set_lower_bounds(opt, low);
    nlopt_set_upper_bounds(opt, high);
    nlopt_set_ftol_rel(opt, 1e-7);
    nlopt_set_xtol_abs1(opt, 1e-7);
    nlopt_set_maxeval(opt, 200);
    const nlopt_result status = nlopt_optimize(opt, c, &f);
    nlopt_destroy(opt);
    return status < 0 && status != NLOPT_ROUNDOFF_LIMITED ? (double)INFINITY : f;
}

/* One subset: its lane, refined by the peer from the middle of the bounds (and, for a reference, from little
 * and much binder). */
static void peer_lane(struct peer *peer, const struct match_model *m, struct match_lane *lane, int starts) {
    int toner[MATCH_SLOTS];
    size_t n = 0;
    struct match_lane start = *lane;
    /* no smallest dose for the script: a toner that is not wanted goes to 0, and the recipe is that of a
     * smaller subset */
    for (int i = m->has_binder ? 1 : 0; i < MATCH_SLOTS && lane->column[i] >= 0; i++)
        lane->low[i] = start.low[i] = 0;
    for (; n < MATCH_SLOTS && lane->column[n] >= 0; n++) toner[n] = m->column[lane->column[n]].toner;
    peer_start(peer, &m->objective, toner, n);
    lane->f = (double)INFINITY;
    for (int s = 0; s < starts; s++) {
        double c[MATCH_SLOTS];
        if (s) start.c[0] = s == 1 ? start.low[0] : start.high[0];
        match_lane_fit(&start);
        memcpy(c, start.c, sizeof c);
        const double f = peer_solve(peer, c, lane->low, lane->high);
        if (f >= lane->f) continue;
        lane->f = f;
        memcpy(lane->c, c, sizeof c);
    }
    match_lane_fit(lane);
}

/* ---- a subset is never worse than a part of it ---- */

/* SLSQP sometimes stops where it stands (a flat valley, a corner): such a lane is no optimum, and its recipe
 * is none that a list of optima should hold. A lane that is worse than the best subset of one toner less is
 * started again from there. */

struct index { /* open hash: set of columns -> lane + 1 */
    size_t room, *lane;
};

static size_t index_place(const struct index *index, const struct match_lane lane[], unsigned long long set) {
    size_t at = (size_t)((set * 0x9E3779B97F4A7C15ULL) >> 20) % index->room;
    while (index->lane[at] && match_lane_set(&lane[index->lane[at] - 1]) != set) at = (at + 1) % index->room;
    return at;
}

static struct index index_make(const struct match_lane lane[], size_t count) {
    struct index index = {4 * count + 7, memory_need(4 * count + 7, sizeof(size_t))};
    for (size_t i = 0; i < count; i++)
        index.lane[index_place(&index, lane, match_lane_set(&lane[i]))] = i + 1;
    return index;
}

static int slots_in(const struct match_lane *lane) {
    int n = 0;
    while (n < MATCH_SLOTS && lane->column[n] >= 0) n++;
    return n;
}

static const struct match_lane *best_part(const struct index *index, const struct match_lane lane[],
                                          const struct match_lane *of, int binder) {
    const struct match_lane *best = NULL;
    for (int k = binder; k < slots_in(of); k++) {
        const size_t at =
            index->lane[index_place(index, lane, match_lane_set(of) & ~(1ULL << of->column[k]))];
        if (at && (!best || lane[at - 1].f < best->f)) best = &lane[at - 1];
    }
    return best;
}

static void restart(struct peer *peer, const struct match_model *m, const struct match_lane *part,
                    struct match_lane *lane) {
    struct match_lane from = *lane;
    for (int k = 0; k < slots_in(lane); k++) {
        from.c[k] = 0;
        for (int j = 0; j < slots_in(part); j++)
            if (part->column[j] == lane->column[k]) from.c[k] = part->c[j];
    }
    struct match_lane solved = from;
    from.f = part->f;
    peer_lane(peer, m, &solved, 1);
    *lane = solved.f < from.f ? solved : from;
}

static void restart_from_parts(struct peer *peer, const struct match_model *m, struct match_lane lane[],
                               size_t count) {
    const struct index index = index_make(lane, count);
    const int binder = m->has_binder ? 1 : 0;
    for (int slots = binder + 2; slots <= MATCH_SLOTS; slots++)
        for (size_t i = 0; i < count; i++) {
            if (slots_in(&lane[i]) != slots) continue;
            const struct match_lane *part = best_part(&index, lane, &lane[i], binder);
            if (part && part->f < lane[i].f - 1e-6) restart(peer, m, part, &lane[i]);
        }
    memory_free(index.lane);
}

/* Every subset; returns how many lanes. */
static size_t every_subset(const struct match_model *m, struct match_lane lane[], signed char column[],
                           size_t n, size_t next, size_t at) {
    if (n > 0 && match_lane_make(m, column, n, &lane[at])) at++;
    for (size_t j = next; j < m->count && n < MATCH_TONERS_MOST; j++) {
        column[n] = (signed char)j;
        at = every_subset(m, lane, column, n + 1, j + 1, at);
    }
    return at;
}

/* ---- exhaustive ---- */

struct comparison {
    double ours_s, peer_s, gap, best_gap;
    long calls;
};

static struct comparison exhaustive(const struct match_task *asked, int starts) {
    struct match_task task = *asked;
    struct match_model *m = memory_need(1, sizeof *m);
    struct arena *arena = arena_new();
    struct match_result result;
    struct comparison out = {0};
    task.top = 20;
    double begin = seconds();
    if (match_run(&task, NULL, arena, &result, NULL) != STATUS_OK) exit(1);
    out.ours_s = seconds() - begin;
    task.on_grid = false;
    if (match_run(&task, NULL, arena, &result, NULL) != STATUS_OK ||
        match_model_make(&task, m, NULL) != STATUS_OK)
        exit(1);
    struct match_lane *lane = memory_need(result.search.subsets, sizeof *lane), kept[20];
    struct peer *peer = memory_need(1, sizeof *peer);
    signed char column[MATCH_TONERS_MOST];
    const size_t count = every_subset(m, lane, column, 0, 0, 0);
    begin = seconds();
    for (size_t i = 0; i < count; i++) peer_lane(peer, m, &lane[i], 1);
    out.peer_s = seconds() - begin;
    out.calls = peer->calls;
    restart_from_parts(peer, m, lane, count);
    for (size_t i = 0; i < count && starts > 1; i++) {
        struct match_lane again = lane[i];
        if (again.f > 4 * result.recipe[result.count - 1].f + .1) continue; /* far from the list already */
        peer_lane(peer, m, &again, starts);
        if (again.f < lane[i].f) lane[i] = again;
    }
    if (starts > 1) restart_from_parts(peer, m, lane, count);
    const size_t n = match_keep_different(lane, count, 20, m->has_binder, kept);
    for (size_t i = 0; i < n && i < result.count; i++) {
        double part[SHELF_MOST];
        struct objective_value value;
        match_lane_spread(m, &kept[i], part);
        objective_of(&m->objective, part, &value);
        const double gap = result.recipe[i].f - value.f;
        out.gap = gap > out.gap ? gap : out.gap;
        if (i == 0) out.best_gap = gap;
    }
    memory_free(lane);
    memory_free(peer);
    memory_free(m);
    arena_free(arena);
    return out;
}

/* How both grow with the shelf: one target a size, every subset by the peer from one start. */
static void grow(void) {
    static const size_t sizes[] = {8, 12, 16, 24};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        struct shelf shelf = match_shelf(sizes[i], true);
        double ours = 0, peer = 0, gap = 0;
        char quality[80];
        const size_t targets = sizes[i] < 24 ? 4 : 2;
        for (size_t k = 0; k < targets; k++) {
            const struct match_task task = task_for(&shelf, k);
            const struct comparison c = exhaustive(&task, 1);
            ours += c.ours_s / (double)targets, peer += c.peer_s / (double)targets;
            gap = c.best_gap > gap ? c.best_gap : gap;
        }
        snprintf(quality, sizeof quality, "F of the best over the peer's: %.4f at most", gap);
        bench_hand_in((struct bench_row){"a recipe", (double)sizes[i], 1e3 * ours,
                                         "NLopt SLSQP on every subset", 1e3 * peer, quality, memory_mib()});
        memory_free(shelf.toner);
    }
}

static void compare_exhaustively(const struct shelf *shelf, size_t from, size_t targets, int starts) {
    double *ratio = memory_need(targets, sizeof *ratio), *gap = memory_need(targets, sizeof *gap), peer_s = 0,
           calls = 0, best = -1;
    for (size_t i = 0; i < targets; i++) {
        const struct match_task task = task_for(shelf, from + i);
        const struct comparison c = exhaustive(&task, starts);
        ratio[i] = c.peer_s / c.ours_s;
        gap[i] = c.gap;
        peer_s += c.peer_s / (double)targets;
        calls += (double)c.calls / (double)targets;
        if (i == 0 || c.best_gap > best) best = c.best_gap;
        fprintf(stderr, "target %zu: %.1f ms, peer %.2f s, top twenty worse by %.5f at most\n", from + i,
                1e3 * c.ours_s, c.peer_s, c.gap);
    }
    printf("| every subset by SLSQP, %zu targets | mean %.2f s, %.0f calls of F, %.2f us each |\n", targets,
           peer_s, calls, 1e6 * peer_s / calls);
    printf("| time ratio SLSQP / russet | median %.0f, least %.0f |\n", share_of(ratio, targets, .5),
           share_of(ratio, targets, 0));
    size_t within = 0;
    for (size_t i = 0; i < targets; i++) within += gap[i] <= .002;
    printf("| references whose 20 best different recipes are all met within .002 | %zu of %zu |\n", within,
           targets);
    printf("| F of the 20 best different recipes over the reference's (%d start%s a subset) | median of the "
           "worst rank %.5f, worst %.5f |\n",
           starts, starts > 1 ? "s" : "", share_of(gap, targets, .5), share_of(gap, targets, 1));
    printf("| F of the best over the reference's best | worst %.5f |\n", best);
    memory_free(ratio);
    memory_free(gap);
}

/* A piece of the thirty references of --long, from target `from` on. */
static void references(size_t from, size_t targets) {
    struct shelf shelf = match_shelf(24, true);
    compare_exhaustively(&shelf, from, targets, 3);
    memory_free(shelf.toner);
}

/* ---- backward elimination ---- */

static double backward(const struct match_model *m, struct peer *peer) {
    int toner[SHELF_MOST];
    double c[SHELF_MOST], low[SHELF_MOST], high[SHELF_MOST];
    size_t n = m->count + 1;
    for (size_t i = 0; i < n; i++) {
        toner[i] = m->column[i].toner;
        low[i] = i == m->count ? m->column[i].low : 0;
        high[i] = m->column[i].high;
        c[i] = i == m->count ? .6 : .4 / (double)m->count;
    }
    for (;;) {
        peer_start(peer, &m->objective, toner, n);
        peer_solve(peer, c, low, high);
        if (n <= MATCH_TONERS_MOST + 1) break;
        size_t least = 0;
        for (size_t i = 0; i + 1 < n; i++)
            if (c[i] < c[least]) least = i;
        const double left = 1 / (1 - c[least]);
        for (size_t i = least; i + 1 < n; i++)
            toner[i] = toner[i + 1], c[i] = c[i + 1], low[i] = low[i + 1], high[i] = high[i + 1];
        n--;
        for (size_t i = 0; i < n; i++) c[i] *= left;
    }
    struct objective_value value;
    objective_of(&peer->objective, c, &value);
    return value.f;
}

static void compare_backward(const struct shelf *shelf, size_t targets) {
    double *gap = memory_need(targets, sizeof *gap), *ms = memory_need(targets, sizeof *ms), script_s = 0;
    struct match_model *m = memory_need(1, sizeof *m);
    struct peer *peer = memory_need(1, sizeof *peer);
    for (size_t i = 0; i < targets; i++) {
        struct match_task task = task_for(shelf, i);
        struct arena *arena = arena_new();
        struct match_result result;
        double begin = seconds();
        if (match_run(&task, NULL, arena, &result, NULL) != STATUS_OK) exit(1);
        ms[i] = 1e3 * (seconds() - begin);
        task.on_grid = false;
        if (match_run(&task, NULL, arena, &result, NULL) != STATUS_OK ||
            match_model_make(&task, m, NULL) != STATUS_OK)
            exit(1);
        begin = seconds();
        gap[i] = backward(m, peer) - result.recipe[0].f;
        script_s += (seconds() - begin) / (double)targets;
        arena_free(arena);
    }
    printf("| russet, %zu toners, %zu targets, one thread, ten recipes | median %.1f ms, p95 %.1f ms |\n",
           shelf->count - 1, targets, share_of(ms, targets, .5), share_of(ms, targets, .95));
    printf("| backward elimination (SLSQP, drop one by one) | mean %.1f ms; its F over russet's: median "
           "%.4f, p95 %.3f, best %.5f |\n",
           1e3 * script_s, share_of(gap, targets, .5), share_of(gap, targets, .95),
           share_of(gap, targets, 0));
    memory_free(gap);
    memory_free(ms);
    memory_free(m);
    memory_free(peer);
}

/* ---- alone ---- */

static void time_alone(size_t toners, size_t targets) {
    struct shelf shelf = match_shelf(toners, true);
    double *ms = memory_need(targets, sizeof *ms);
    size_t subsets = 0, refined = 0;
    for (size_t i = 0; i < targets; i++) {
        const struct match_task task = task_for(&shelf, i);
        struct arena *arena = arena_new();
        struct match_result result;
        ms[i] = (double)INFINITY;
        for (int again = 0; again < 3; again++) { /* the least of three: the machine is not ours alone */
            const double begin = seconds();
            if (match_run(&task, NULL, arena, &result, NULL) != STATUS_OK) exit(1);
            const double took = 1e3 * (seconds() - begin);
            ms[i] = took < ms[i] ? took : ms[i];
        }
        subsets = result.search.subsets;
        refined += result.search.refined / targets;
        arena_free(arena);
    }
    printf("| russet, %zu toners (%zu subsets, mean %zu refined), %zu targets | median %.1f ms, p95 %.1f ms; "
           "peak memory %.1f MiB |\n",
           toners, subsets, refined, targets, share_of(ms, targets, .5), share_of(ms, targets, .95),
           memory_mib());
    if (toners == 40)
        bench_hand_in(
            (struct bench_row){"a recipe", 40, share_of(ms, targets, .5), "", 0, "alone", memory_mib()});
    memory_free(ms);
    memory_free(shelf.toner);
}

int main(int argc, char **argv) {
    const bool is_long = argc > 1 && strcmp(argv[1], "--long") == 0;
    if (argc > 1 && strcmp(argv[1], "--rows") == 0) return grow(), time_alone(40, 10), 0;
    puts("| what | measured |\n|---|---|");
    if (argc == 4 && strcmp(argv[1], "--references") == 0)
        return references((size_t)atoi(argv[2]), (size_t)atoi(argv[3])), 0;
    time_alone(24, 40);
    time_alone(40, 20);
    struct shelf shelf = match_shelf(24, true);
    compare_backward(&shelf, is_long ? 200 : 40);
    fflush(stdout);
    compare_exhaustively(&shelf, 0, is_long ? 30 : 2, is_long ? 3 : 1);
    memory_free(shelf.toner);
    return 0;
}
