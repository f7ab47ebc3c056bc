/* How unsure a recipe's colour is because its toners' strengths are. */
#ifndef RUSSET_PAINT_MATCH_DOUBT_H
#define RUSSET_PAINT_MATCH_DOUBT_H

#include "paint/match.h"

/* Standard deviation, in dE00 under the first light, of the colour of a mix (part[shelf count], sum 1) whose
 * toners' strengths are each as unsure as toner.strength_sd says, independently; with task->sure, by all that
 * the shelf's cards have shown (D65/10). */
double match_spread(const struct match_task *task, const double part[]);
/* What the order of a bench rises by when differences are counted as they are to be expected, sqrt(de00^2 +
 * spread^2). A shelf that has its cards: under every light of de00[light_count] (NAN: not known), and under
 * the weakest once more as MATCH_WEAKEST counts it, for what is unsure of a toner moves all lights; the
 * spread counts CARDS_COUNT times there. By the
 * strengths' own variances, which hang together in ways that nobody kept: under the first light alone. */
double match_doubt_costs(const struct match_task *task, const double part[], const double de00[]);

#endif
