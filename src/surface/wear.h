/* How bad a panel is: its photographs one after the other -> cracks, lost colour, and what they ask for.
 *
 *     wear = wear_new(&grid, inside, sound, arena)
 *     wear_add(wear, &picture, &view, work)      // each photograph; only one need be in memory
 *     wear_measure(wear, work, &result)
 *
 * Photographs under a moved lamp are fused by the mean of their flattened light (the ridge filters are
 * linear, so that is the mean of the responses): what stays dark under every lamp is a crack, what turns with
 * the lamp is grain. */
#ifndef RUSSET_SURFACE_WEAR_H
#define RUSSET_SURFACE_WEAR_H

#include "surface/cracks.h"
#include "surface/loss.h"

/* What is to be done, from the least to the most (surface knows no prices: the flow names the tasks). */
enum wear_class {
    WEAR_CLEAN,
    WEAR_RECOLOUR,
    WEAR_FILL,
    WEAR_GLUE,
    WEAR_SUB_PATCH,
    WEAR_NEW_PANEL,
    WEAR_CLASS_COUNT
};

struct wear_sum {
    double area_mm2, length_mm;
    int places;
};

/* Half of the interval that holds the true value 95 times in 100, as it was on rendered leather, vinyl and
 * plastic (docs/damage.md); NAN without a sound patch or under fewer than three lamps, where a line may be
 * grain and a measure of doubt would be a guess. The scale's own error is not in it. */
struct wear_u95 {
    double crack_mm, width_mm, loss_mm2;
};

struct wear_result {
    double panel_mm2;
    struct wear_u95 u95;
    int photos;
    struct crack_result cracks;
    struct loss_result loss;
    bool sound_given, sound_is_spotted, sound_is_cracked;
    struct wear_sum of[WEAR_CLASS_COUNT]; /* WEAR_NEW_PANEL: the whole panel, or nothing */
};

struct wear;
/* inside: cells of the panel (changed: what a photograph does not show is cleared); sound: of the patch, or
 * NULL. All are borrowed until the end of the arena. */
struct wear *wear_new(const struct panel_grid *grid, uint8_t *inside, uint8_t *sound, struct arena *arena);
void wear_add(struct wear *wear, const struct picture *picture, const struct plane_view *view,
              struct work *work);
/* False when nothing is left of the panel, or of the sound patch that was given. */
bool wear_measure(struct wear *wear, struct work *work, struct wear_result *out) MUST_USE;

/* After wear_measure: `after` holds the photographs that were taken when a test square of the panel (cells)
 * had been cleaned, on the same grid and with the same sound patch. What was dirt leaves *out. */
bool wear_take_dirt(struct wear *wear, struct wear *after, const uint8_t *square, struct work *work,
                    struct wear_result *out, struct loss_dirt *dirt) MUST_USE;

#endif
