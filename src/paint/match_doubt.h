/* How unsure a recipe's colour is because its toners' strengths are. */
#ifndef RUSSET_PAINT_MATCH_DOUBT_H
#define RUSSET_PAINT_MATCH_DOUBT_H

#include "paint/match.h"

/* Standard deviation, in dE00 under the first light, of the colour of a mix (part[shelf count], sum 1) whose
 * toners' strengths are each as unsure as toner.strength_sd says, independently; with task->sure, by all that
 * the shelf's cards have shown (D65/10). */
double match_spread(const struct match_task *task, const double part[]);
/* What F rises by when the first light's difference is counted as it is to be expected, sqrt(de00^2 +
 * spread^2), with that light's share of the weights. */
double match_doubt_costs(const struct match_task *task, const double part[], double de00);

#endif
