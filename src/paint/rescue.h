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
    double target_de00;               /* to the target; NAN without one */
    bool fits;                        /* inside the pot's limit */
};

/* The ratios exactly (to the scale's grid): the least total S with in_pot_i <= S part_i and S >= wanted_g,
 * and what is missing to it. Closed form; the optimum of the linear program  min sum x_i / density_i,  in_pot
 * + x = S part,  x >= 0,  S >= wanted_g. */
void rescue_whole(const struct pour_task *task, const struct pour_state *state, struct rescue *out);

/* The best that can be done when no more than most_g goes in: least dE00 to the recipe's colour. */
void rescue_within(const struct pour_task *task, const struct pour_state *state, double most_g,
                   struct rescue *out);

/* The smallest rescue that brings the pot back to within de00 of the recipe's colour; the whole one when
 * nothing smaller does. */
void rescue_enough(const struct pour_task *task, const struct pour_state *state, double de00,
                   struct rescue *out);

#endif
