/* The rescue of an over-pour: nothing comes out of a pot, so the rest grows. */
#ifndef RUSSET_PAINT_RESCUE_H
#define RUSSET_PAINT_RESCUE_H

#include "paint/pour.h"

#define RESCUE_RESTORED_DE00 0.10 /* what counts as the recipe's colour again */

struct rescue {
    double add_g[RECIPE_TONERS_MOST]; /* on the scale's grid, the rest of the recipe among it */
    double added_g, total_g;          /* what goes in, and the pot after it */
    double added_ml;                  /* NAN when a density is not known */
    double extra_g;                   /* beyond what the plan would have come to */
    double de00;                      /* to the recipe's colour, of the grams as written */
    double de00_a;                    /* the same under light A */
    double target_de00;               /* to the target; NAN without one */
    double binder_change; /* of the binder's share against the recipe's: -.05 is a twentieth less */
    bool fits;            /* inside the pot's limit */
};

/* The ratios exactly (to the scale's grid): the least total S with in_pot_i <= S part_i and S >= wanted_g,
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

/* What rescue_least minimises for a given weight of additions; for tests. */
double rescue_cost(const struct pour_task *task, const double pot_g[]);

#endif
