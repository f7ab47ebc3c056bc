/* What all pots of a shop say about its toners: strengths per lot and shapes, from (pot, measured) pairs.
 *
 * Every result is tried against what the others say (leave one out, and with it what else was read of the
 * same pour: the halves of a card over two grounds would speak for each other). A result that stands far off
 * (over LEARN_FAR dE00 and over four times the median, or over four times what the others are without it; of
 * twelve results or fewer by the latter alone) is named with its likeliest cause and left out. The shelf
 * learns only when results that it has not seen are predicted better afterwards. */
#ifndef RUSSET_PAINT_LEARN_H
#define RUSSET_PAINT_LEARN_H

#include "base/memory.h"
#include "base/work.h"
#include "paint/calibrate.h"

#define LEARN_FAR 1.5 /* dE00 */
enum { LEARN_FEWEST = 3, LEARN_MOST = 400 };

struct outlier {
    size_t result;
    double de00;
    int toner;        /* the one whose amount explains it best, or -1 */
    double factor;    /* how much of it seems to have been in the card, 1 = as weighed */
    double explained; /* share of the misfit that this takes away, 0..1 */
};

/* How far a card reads from what the shelf says of its pot (D65/10). */
double learn_card_de00(const struct shelf *shelf, const struct card *card);
/* Which one toner's amount explains a card best; out->de00 is set. Fills toner, factor, explained. */
void learn_cause(const struct shelf *shelf, const struct card *card, struct outlier *out);

struct learnt {
    struct calibration *calibration; /* free it */
    size_t outliers;
    struct outlier *outlier;        /* in the arena */
    double before_de00, after_de00; /* mean over held-out results, the shelf as it was and as learnt */
    double *held_out;               /* [results] dE00 of each when not seen; NAN for outliers; in the arena */
    bool better;
};

/* NOTE_LEARNT_WORSE is not decided here: look at better. CANCELLED when work was. results: at least
 * LEARN_FEWEST. */
enum status learn_run(const struct shelf *shelf, const struct card *result, size_t results, int lots,
                      const struct doubt *doubt, struct work *work, struct arena *arena, struct learnt *out,
                      struct fault *fault) MUST_USE;

/* What moves readings in another state than dry and coated to it: ln(R as learnt / R read) of all cards by
 * least squares on the terms of a shift, with a prior that holds what few cards cannot tell. sd: what is left
 * of it from card to card. count >= 1. */
void learn_shift(const struct shelf *learnt, const struct card *card, size_t count, struct shift *out);

#endif
