/* The stages of the search, each in its file. Internal to src/paint/match*.c. */
#ifndef RUSSET_PAINT_MATCH_SEARCH_H
#define RUSSET_PAINT_MATCH_SEARCH_H

#include "paint/match_model.h"

/* Recipes that were refined, and which subsets have been. */
struct match_pool {
    struct match_lane *lane;
    size_t count, room;
    unsigned long long *seen; /* open hash of column sets, 0: free */
    size_t seen_count, seen_room;
    size_t refined;
};

struct match_search_state {
    const struct match_model *model;
    struct work *work;
    struct match_kernels kernels;
    struct match_pool pool;
};

/* match_refine.c: adds a recipe to be refined unless its subset has been; refines all lanes from `first` on.
 */
unsigned long long match_lane_set(const struct match_lane *lane);
bool match_pool_claim(struct match_pool *pool, unsigned long long set);
/* Subsets whose best F is over the limit may be claimed again. */
void match_pool_forget(struct match_pool *pool, double limit);
void match_pool_add(struct match_pool *pool, const struct match_lane *lane);
void match_pool_free(struct match_pool *pool);
void match_refine(struct match_search_state *search, match_kernel *kernel, struct match_lane *lane,
                  size_t count, const struct match_schedule *schedule);

/* match_nominate.c: fills the pool. */
size_t match_nominate(struct match_search_state *search);
size_t match_audit(struct match_search_state *search);

/* match_finish.c: the different ones among the pool's best, polished; returned in the arena, best first. */
size_t match_polish(struct match_search_state *search, size_t most, struct arena *arena,
                    struct match_lane **out);
/* Polishes lanes that are not of the pool, and fills their local models (in the arena). They are put into
 * another order. */
void match_polish_lanes(struct match_search_state *search, struct match_lane *lane, size_t count,
                        struct arena *arena);
/* Order of recipes: F to 1e-4, then fewer toners, then the toners themselves. */
int match_lane_order(const void *a, const void *b);
/* The first `most` different ones of lane[count], in order. */
size_t match_keep_different(const struct match_lane *lane, size_t count, size_t most, bool has_binder,
                            struct match_lane kept[]);
#define MATCH_TRACE \
    0.02 /* recipes whose toners' shares (binder left out) all differ by less are one recipe */

/* match_grid.c: the best weights on the scale's grid near a polished lane. exactly: the last exchanges by the
 * objective itself, not by the lane's local model. */
struct match_weights {
    long units[MATCH_SLOTS]; /* of column[i] */
    long total;              /* their sum */
    long units_a_step;       /* 1, or MATCH_LET_DOWN where something is let down */
    bool let_down[MATCH_SLOTS];
};
struct match_weights match_grid_search(const struct match_model *model, const struct match_lane *lane,
                                       bool exactly);
/* What weighing toner i of a recipe steps by, in grams of the toner. */
double match_step_g(const struct match_task *task, const struct match_recipe *recipe, size_t i);

/* match_trace.c: how many toners of a recipe are traces; where the same recipe without them, and without
 * those that are too little to weigh, begins (to be polished; how many of the two there are). */
size_t match_traces(const struct match_model *model, const struct match_recipe *recipe);
size_t match_without_traces(const struct match_model *model, const struct match_recipe *recipe,
                            struct match_lane out[2]);

/* match_report.c: everything about a recipe whose toners, parts and masses are set. */
void match_report(const struct match_model *model, struct match_recipe *recipe);

#endif
