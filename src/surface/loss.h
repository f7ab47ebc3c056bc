/* Lost colour: where a panel's colour is off that of its sound patch.
 *
 *     linear light, smoothed by a Gaussian of .1 mm -> Lab (sRGB primaries, white made D65/10's)
 *     dE = CIEDE2000 to the median of the sound patch; lost where dE > max(2.5, 99 % quantile of the patch)
 *
 * then a majority of 5 x 5 cells, without specks and pinholes. Without a sound patch the panel's own median
 * stands in, and the threshold is its median dE plus four robust deviations.
 *
 * Light that falls off over the panel is taken out first: ln Y = quadratic in x and y, fitted robustly
 * (Tukey) to places whose chromaticity is the sound patch's. Exposure is the photograph's: nothing here knows
 * what white is. Dirt differs from the sound colour just as loss does: loss_take_dirt. */
#ifndef RUSSET_SURFACE_LOSS_H
#define RUSSET_SURFACE_LOSS_H

#include "base/memory.h"
#include "colour/lab.h"
#include "surface/rectify.h"

struct loss_task {
    const struct panel_grid *grid;
    const uint8_t *inside, *sound; /* sound may be NULL */
    float *const *rgb;             /* linear light, three planes; they are smoothed in place */
    const uint8_t *crack; /* 1 on cracks: a thin dark part that is mostly crack is no loss; or NULL */
    struct work *work;
};

enum loss_kind { LOSS_WORN, LOSS_SCUFF, LOSS_GOUGE, LOSS_HOLE, LOSS_KIND_COUNT };

struct loss {
    enum loss_kind kind;
    double area_mm2, length_mm, width_mm; /* along and across its axes */
    double de00, dl;                      /* mean, to the sound colour */
    double x, y;                          /* its middle, in cells */
};

struct loss_result {
    uint8_t *mask; /* lives in the arena, as do the losses */
    size_t losses;
    struct loss *loss;
    double area_mm2, threshold_de00;
    struct lab sound;
    double sound_de00_p99, sound_patches_de00; /* cell to cell; and of the patch's sixteen parts, the worst */
    double gradient;                           /* of loss_level; whoever called it puts it here */
    uint8_t *dirt; /* 1: taken for dirt and out of the mask; NULL: nobody cleaned */
};

/* Takes the fall-off of the light out of the three planes, in place; to be called once, before loss_find.
 * Returns how much the light changed over the panel, as a share; 0 without a sound patch: left as it is. */
double loss_level(const struct loss_task *task);

void loss_find(const struct loss_task *task, struct arena *arena, struct loss_result *out);

/* The panel was photographed again after a test square had been cleaned. What differed in the square and no
 * longer does was dirt. Less and more of the same dirt lies on a line from the sound colour through its mean
 * (mixed as a cover, or dimmed as a film); what lies there outside the square, and not on the line of what
 * stayed, is taken for dirt as well. task and found: as loss_find left them; still_lost: the mask after the
 * cleaning. */
struct loss_dirt {
    double square_mm2, before_mm2, off_mm2; /* of the square; of it lost before; of that, came off */
    double dirt_mm2;                        /* of the whole panel */
};
void loss_take_dirt(const struct loss_task *task, const uint8_t *square, const uint8_t *still_lost,
                    struct arena *arena, struct loss_result *found, struct loss_dirt *out);

#endif
