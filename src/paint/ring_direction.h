/* Where the dabs of a ring lie. All angles and lengths are those of the eye: Lab steps are first made square
 * by the local metric of CIEDE2000 (difference.h). */
#ifndef RUSSET_PAINT_RING_DIRECTION_H
#define RUSSET_PAINT_RING_DIRECTION_H

#include "paint/adjust.h"

enum { RING_DIRECTIONS = 6 };

struct ring_direction {
    char says[40];
    double lab[3];
};

/* A first ring: both ways along the three axes of what the shelf is unsure of in this pot (calibrate.h,
 * before any card); a pot darker than L* 28 is asked in the words of blacks: bluer, browner, greener, redder,
 * lighter, darker. */
void ring_directions_first(const struct adjust_task *task, const double part[], struct lab pot,
                           struct ring_direction way[RING_DIRECTIONS]);
/* A second ring: six ways, 60 degrees apart, in the plane across the way that the first one went. */
void ring_directions_across(struct lab pot, const double along[3],
                            struct ring_direction way[RING_DIRECTIONS]);

#endif
