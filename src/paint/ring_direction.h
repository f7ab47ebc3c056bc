/* Where the dabs of a ring lie: six steps from the pot, chosen among a few figures so that the answer is
 * expected to leave least to guess (ring_guess.h). All angles and lengths are those of the eye: Lab steps are
 * first made square by the local metric of CIEDE2000 (difference.h). */
#ifndef RUSSET_PAINT_RING_DIRECTION_H
#define RUSSET_PAINT_RING_DIRECTION_H

#include "paint/ring_guess.h"

enum { RING_DIRECTIONS = 6 };

struct ring_direction {
    char says[40];
    double lab[3]; /* the step from the pot */
};

/* The figures: both ways along the three axes of the cloud, and six ways around in the plane of its two
 * longest, each at several sizes; sizes go with the cloud's own. words: a first ring around a pot darker than
 * L* 28 is asked in the words of blacks: bluer, browner, greener, redder, lighter, darker. step: 0, or how
 * far the farthest dab shall lie from the pot (dE00). */
void ring_directions(const struct guess *guess, struct lab pot, bool words, double step,
                     struct ring_direction way[RING_DIRECTIONS]);

#endif
