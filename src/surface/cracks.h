/* Cracks in a flattened picture of a panel: where they run, how long, how wide.
 *
 *     z = (response - median) / (1.4826 MAD) per scale, the largest of three scales (surface/ridge.h)
 *     kept: connected places with z over half the threshold that reach it somewhere and are long enough,
 *     thinned to lines; of those, where both flanks rise (surface/crack_line.h) twice as much as at the sound
 *     patch's own valleys, and where it is not the sound ground itself that lies between two worn places
 *
 * The threshold is 3 times what the sound patch reaches (its 99 % quantile), for dark and light lines each
 * and for each scale. Without a sound patch the texture itself is the measure: of the darkest twentieth of
 * all cells those are kept that lie on a path (surface/path.h) 3.4 times as long as that of nine in ten
 * parts; dark lines alone. */
#ifndef RUSSET_SURFACE_CRACKS_H
#define RUSSET_SURFACE_CRACKS_H

#include "base/memory.h"
#include "surface/rectify.h"

struct crack_task {
    const struct panel_grid *grid;
    const uint8_t *inside, *sound; /* cells of the panel; of the sound patch, or NULL */
    const float *flat;             /* ridge_flatten of cube-root light, mean over the photographs */
    const float *light;            /* mean over the photographs, its fall-off taken out (loss_level) */
    struct work *work;
};

struct crack {
    double length_mm, width_mm; /* width: median along it */
    double x, y;                /* its middle, in cells */
    bool light;                 /* lighter than the ground: broken finish; else dark: open or dirty */
};

struct crack_result {
    uint8_t *mask; /* 1 on cracks, as wide as they were measured; lives in the arena, as do the cracks */
    size_t cracks;
    struct crack *crack;
    double length_mm, width_median_mm, width_p95_mm; /* widths: over the length; 0 without a crack */
    double patch_tail; /* the sound patch's strongest hundredth over its median; 0 without a patch */
};

void cracks_find(const struct crack_task *task, struct arena *arena, struct crack_result *out);

#endif
