/* Where lost colour ends. Smoothing (and the lens) carries a sharp edge outwards: what is left of a strong
 * difference still passes a threshold that was made for weak ones, so that small places measured too large.
 *
 *     kept: |light - sound| >= half of the largest within `reach` cells,   linear light, R G B
 *
 * A blurred step has half its height where the step is; wear that fades over more than the reach keeps its
 * whole area, for nothing near it is twice as strong. */
#ifndef RUSSET_SURFACE_LOSS_EDGE_H
#define RUSSET_SURFACE_LOSS_EDGE_H

#include "base/work.h"
#include <stdint.h>

/* rgb: three planes of width x height; mask: cleared beyond the edge. */
void loss_edge(float *const rgb[3], const double sound[3], int width, int height, int reach,
               struct work *work, uint8_t *mask);

#endif
