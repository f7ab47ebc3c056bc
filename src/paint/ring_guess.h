/* Where the part may lie, seen from the pot: a cloud of points that are all alike likely. A ring's answer
 * keeps the points from which the eye would have answered so; the next dabs are laid where their answer will
 * leave least to guess.
 *
 * The eye: of each dab it sees the difference to the part with a noise of EYE_NOISE dE00 (and the dab itself
 * lies not quite where it should); two dabs whose differences lie within EYE_THRESHOLD it cannot tell apart,
 * and says "between". Both are common practice, and those of the trial (tests/room/ring_room_test.c).
 *
 * Lengths are those of the eye: |F d| with the metric of CIEDE2000 at the pot (colour/difference.h). Pure
 * functions: the cloud and the noise are fixed scattered numbers. */
#ifndef RUSSET_PAINT_RING_GUESS_H
#define RUSSET_PAINT_RING_GUESS_H

#include "base/memory.h"
#include "colour/difference.h"

#define EYE_NOISE 0.25
#define EYE_THRESHOLD 0.5

enum { RING_DABS_MOST = 8, GUESS_POINTS = 4096 };

/* A ring that was looked at: the dabs in Lab, how unsure the place of each is (dE00, sd), the one or two that
 * were named, and how far the pot went then (Lab). Dab 0 is the pot as it was. */
struct heard {
    size_t dabs;
    struct lab lab[RING_DABS_MOST];
    double doubt[RING_DABS_MOST];
    int nearest[2];
    size_t named;
    double moved[3];
};

struct guess {
    double (*at)[3]; /* [GUESS_POINTS] Lab steps from the pot; in the arena */
    double *noise;   /* [GUESS_POINTS][RING_DABS_MOST] normal numbers; in the arena */
};

/* Before any answer. cov: what the shelf is unsure of in this pot, in Lab. */
struct guess guess_new(const struct de00_metric *metric, const double cov[3][3], struct arena *arena);
/* Keeps what fits the answer. An answer that no point fits is heard with a duller eye. */
void guess_hear(struct guess *guess, const struct heard *heard);
/* The pot went by heard->moved; a tenth of the way is not sure. */
void guess_move(struct guess *guess, const struct heard *heard);

/* The middle of the cloud (Lab), and its root mean square distance from there (dE00). */
double guess_middle(const struct guess *guess, const struct de00_metric *metric, double middle[3]);
/* Root mean square distance that is still to be expected when these dabs (Lab steps from the pot) have been
 * answered. */
double guess_rest(const struct guess *guess, const struct de00_metric *metric, const double dab[][3],
                  const double doubt[], size_t dabs);
/* Covariance about the middle, as the eye measures (F cov F'). */
void guess_spread(const struct guess *guess, const struct de00_metric *metric, double cov[3][3]);

#endif
