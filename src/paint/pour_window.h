/* The windows of a pour plan (part of paint/pour; nobody else needs it). */
#ifndef RUSSET_PAINT_POUR_WINDOW_H
#define RUSSET_PAINT_POUR_WINDOW_H

#include "paint/pour.h"

/* How the colour answers, in units of dE00 close to the recipe's colour: v[3] per gram of what a step pours.
 */
struct pour_answer {
    double v[3];
};
double pour_answer_size(const struct pour_answer *answer);
void pour_answer_of(const struct pour_recipe *recipe, const double mass_g[], int toner, double fraction,
                    struct pour_answer *out);

/* What the colour leaves each step, in grams, and what a gram of it costs in dE00 at most. False when even
 * the smallest windows of the scale cost more than the allowance; window_g then holds the smallest ones. */
bool pour_window_wanted(const struct pour_task *task, const struct pour_plan *plan, double window_g[],
                        double cost[]);
/* Fills minus_g, plus_g, share_de00, below_scale of every step, worst_de00 and scale_too_coarse. */
void pour_window_set(const struct pour_task *task, struct pour_plan *plan);

#endif
