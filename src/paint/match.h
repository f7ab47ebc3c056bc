/* The match: which of the shop's own toners, by weight, make the target's colour.
 *
 *     F = sum(w dE00) / sum(w) + .1 RMS % + .004 cost                       (docs/decisions.md)
 *
 * dE00 per light (CIEDE2000), RMS % the root mean square reflectance difference over 31 bands in per cent
 * (left out when the target is only a Lab), cost the price of the mix over the mean price of the shelf's
 * priced toners (so it has no unit and no currency; a toner without a price counts as the mean; 0 when
 * nothing is priced). An uncertain target is matched in expectation over seven points of it. Every
 * subset of up to max_toners toners is considered; see docs/match.md for the method and what is promised.
 *
 *     struct match_task task;
 *     match_task_preset(&task, shelf);
 *     task.target = reading; ...
 *     match_run(&task, work, arena, &result, &fault);
 */
#ifndef RUSSET_PAINT_MATCH_H
#define RUSSET_PAINT_MATCH_H

#include "base/memory.h"
#include "base/work.h"
#include "paint/recipe.h"

enum { MATCH_TONERS_MOST = 5, MATCH_LIGHTS_MOST = 6, MATCH_BACKINGS_MOST = 8 };

/* Which build of the kernels to use; the results are the same bytes (tests force each). */
enum match_path { MATCH_PATH_BEST, MATCH_PATH_BASE, MATCH_PATH_AVX2 };

struct calibration;

struct match_task {
    const struct shelf *shelf;
    struct reading target;
    struct film_case film;                        /* colour is for film.backing, the first backing */
    struct spectrum backing[MATCH_BACKINGS_MOST]; /* all of them, for hiding; 0 when opaque */
    size_t backing_count;
    const struct weights *light[MATCH_LIGHTS_MOST]; /* the first one is what a tolerance is about */
    double light_weight[MATCH_LIGHTS_MOST];         /* >= 0, not all 0 */
    size_t light_count;
    size_t max_toners;              /* 1..5, the binder not counted */
    double binder_low, binder_high; /* mass fraction of the binder in the whole; equal: fixed */
    bool require[SHELF_MOST], exclude[SHELF_MOST];
    double
        least[SHELF_MOST];   /* a toner with least > 0 is in every recipe, with at least this mass fraction */
    double most[SHELF_MOST]; /* largest mass fraction, 1 when free */
    double stock_g[SHELF_MOST]; /* what is left of it, INFINITY when not kept */
    double minimum_dose;        /* smallest mass fraction of a toner that is in a recipe at all */
    double batch_g, scale_step_g;
    bool let_downs; /* a pinch that a coarse scale cannot weigh may be planned as a let-down (MATCH_LET_DOWN)
                     */
    double coat_um; /* dry film of one coat */
    double film_most_um; /* with bench_order: what new coats may come to, clear and all */
    double cost_weight;  /* .004 */
    bool bench_order;    /* order by what a bench needs (docs/decisions.md); a film over backings with a free
                            binder   is then searched at its richest too */
    double tolerance;    /* with bench_order: dE00 under the first light; what is inside stands before what is
                            not */
    size_t top;          /* recipes wanted */
    bool audit;          /* refine every subset from several starts */
    bool on_grid; /* false: fractions as the optimum has them, not rounded to the scale (mass_g = fraction x
                     batch) */
    enum match_path path;
    const struct calibration *sure; /* NULL; match_run sets it for a shelf that has learnt from cards */
};

struct match_recipe {
    struct recipe recipe;
    double f;                             /* the objective, of what is weighed */
    double de00[MATCH_LIGHTS_MOST];       /* NAN where the target does not say (Lab only) */
    double metamerism[MATCH_LIGHTS_MOST]; /* special index against the first light, dE*ab; NAN for the first,
                                             and for Lab only */
    double rms_percent;                   /* NAN for Lab only */
    double cost;
    struct spectrum reflectance;
    struct lab lab;                    /* D65/10 */
    double ml[RECIPE_TONERS_MOST];     /* 0 where the density is not known */
    double contrast_ratio;             /* at the film; NAN when S is relative, 1 when opaque */
    double film_um_to_hide;            /* INFINITY: no film under 1 mm hides; NAN: not known */
    double weighing_de00_p95;          /* blur by the scale, weighed as it stands (let_down: from one) */
    double weighing_de00_p95_let_down; /* with every hard toner let down 1:9 in binder; the same when none is
                                          hard */
    double min_batch_g;                /* smallest batch whose blur stays inside MATCH_BLUR */
    bool hard_to_weigh[RECIPE_TONERS_MOST]; /* lighter than the scale weighs to 1 in 50 */
    bool let_down[RECIPE_TONERS_MOST]; /* planned as one: its mass is a whole number of tenths of a step */
    size_t traces; /* with bench_order: toners too little to weigh or to see; such a recipe stands behind the
                      others */
    long long price_minor; /* of the batch; -1 when a price is missing */
};

/* A let-down holds a tenth of toner, the rest is binder (pour.c makes the same): a step of the scale is then
 * a tenth of a step of the toner. Planned where a step is a thousandth of the batch or more, for what is at
 * most a twentieth of the batch and the binder has room for. */
#define MATCH_LET_DOWN 10
#define MATCH_LET_DOWN_STEP 1e-3
#define MATCH_LET_DOWN_MOST .05

#define MATCH_COAT 0.01        /* of F, for each coat until it hides, at most 60 of them */
#define MATCH_USUAL_UM 84.0    /* with its clear .1 mm, as much as a finish on a car has (.10 to .12 mm) */
#define MATCH_COAT_MORE 0.0005 /* of F, by the square of the coats over that */
#define MATCH_CLEAR_UM 12.0    /* of a clear: two coats (common practice) */
#define MATCH_CROWDED 0.15     /* of F, when hiding leaves no room for that clear under film_most_um */
#define MATCH_BURIED 1.0       /* of F, when it takes more than film_most_um to hide */
#define MATCH_TONER 0.02       /* of F, for each toner that is not binder: a trace must earn its pouring */
#define MATCH_WEAKEST 1.0      /* of F, for each dE00 under the weakest light beside the first */
#define MATCH_SHOWS 0.3  /* of F, for each dE00 between the film over the first and over another backing */
#define MATCH_TRACED 0.2 /* of F, for a recipe with a trace: .10 dE00 in F and in the weakest light */
#define MATCH_BLUR 0.3   /* dE00 that weighing may cost at p95 */

struct match_search {
    size_t subsets, refined;
    bool audited;
};

struct match_result {
    size_t count;
    struct match_recipe *recipe; /* best first, all different; in the arena */
    struct match_search search;
    int binder; /* index on the shelf, -1 when the shelf has none */
};

/* D65 .6, A .25, FL11 .15 at 10 degrees; opaque; five toners; binder .40 .. .80 of the whole (common
 * practice); 100 g on .01 g; ten recipes; hidden within the .15 mm that leather means as coating
 * (LEATHER_COATING_MOST_UM). */
void match_task_preset(struct match_task *task, const struct shelf *shelf);

/* INPUT when the task cannot hold: no toner left after require/exclude, bounds that cannot meet, more
 * required than max_toners, batch under ten steps of the scale, not finite. CANCELLED when work was. An OK
 * result has at least one recipe. */
enum status match_run(const struct match_task *task, struct work *work, struct arena *arena,
                      struct match_result *out, struct fault *fault) MUST_USE;

/* The objective of any mix, from the scalar double path (part[shelf->count], sum 1). de00[] (may be NULL) per
 * light, NAN where unknown. */
double match_objective(const struct match_task *task, const double part[], double de00[MATCH_LIGHTS_MOST]);

#endif
