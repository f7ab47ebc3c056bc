/* The rescue of an over-pour: nothing comes out of a pot, so the rest grows. */
#ifndef RUSSET_PAINT_RESCUE_H
#define RUSSET_PAINT_RESCUE_H

#include "paint/pour.h"

#define RESCUE_RESTORED_DE00 0.10 /* what counts as the recipe's colour again */

struct rescue {
    double add_g[RECIPE_TONERS_MOST]; /* of each toner itself, the rest of the recipe among it */
    /* What is poured of each, on the scale's grid: the toner as it is (fraction 1), or its let-down, whose
     * binder counts in add_g of the binder and not in what is poured of that. */
    double fraction[RECIPE_TONERS_MOST], pour_g[RECIPE_TONERS_MOST];
    double added_g, total_g; /* what goes in, and the pot after it */
    double added_ml;         /* NAN when a density is not known */
    double extra_g;          /* beyond what the plan would have come to */
    double de00;             /* to the recipe's colour, of the grams as written */
    double de00_a;           /* the same under light A */
    double target_de00;      /* to the target; NAN without one */
    double binder_change;    /* of the binder's share against the recipe's: -.05 is a twentieth less */
    bool fits;               /* inside the pot's limit */
};

/* What the plan lets down is let down here too as far as the binder that must go in has room for it. Where
 * the scale's grid alone keeps a rescue from its goal and the task allows let-downs, more toners are let
 * down, those first that bring most.
 *
 * The ratios exactly (to the scale's grid): the least total S with in_pot_i <= S part_i and S >= wanted_g,
 * and what is missing to it. Closed form; the optimum of the linear program  min sum x_i / density_i,  in_pot
 * + x = S part,  x >= 0,  S >= wanted_g. */
void rescue_whole(const struct pour_task *task, const struct pour_state *state, struct rescue *out);

/* The whole rescue gives the ratios back, so only the scale's grid can keep it over RESCUE_RESTORED_DE00:
 * then the toner whose grid harms most, otherwise -1. */
int rescue_too_coarse(const struct pour_task *task, const struct pour_state *state,
                      const struct rescue *whole);

#define RESCUE_BINDER_FREE \
    0.10 /* the binder's share of the pot may leave the recipe's by a tenth of itself ... */
#define RESCUE_BINDER_COST \
    20.0 /* ... beyond that each further twentieth counts like one dE00: the film has its rights too */

/* The smallest rescue that brings the pot back to within de00 of the recipe's colour: no less than the
 * unfinished plan wants, no more than most_g. When most_g is too little for that: the best that it can do
 * (out->de00 says how good). */
void rescue_least(const struct pour_task *task, const struct pour_state *state, double de00, double most_g,
                  struct rescue *out);

/* The pours of a rescue in their order: as the plan has them, each toner once, what the plan has too little
 * of to pour before the toner that comes last. */
struct rescue_pour {
    int toner;
    struct let_down let_down; /* fraction 1 for a toner as it is; else what to stir, at least g of it */
    bool stirred;             /* it is there already: the plan's, and enough of it is left */
    double g, minus_g, plus_g;
};
size_t rescue_pours(const struct pour_task *task, const struct pour_plan *plan, const struct rescue *rescue,
                    struct rescue_pour out[RECIPE_TONERS_MOST]);

/* What rescue_least minimises for a given weight of additions; for tests. */
double rescue_cost(const struct pour_task *task, const double pot_g[]);

#endif
