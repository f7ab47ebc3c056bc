/* What the patches of an own card are sprayed from: seven neutrals, and the seventeen mixes of the shelf that
 * cover leather best. */
#ifndef RUSSET_FLOW_CARD_RECIPES_H
#define RUSSET_FLOW_CARD_RECIPES_H

#include "flow/operation.h"
#include "paint/match.h"
#include "surface/photo_card.h"

struct card_recipes {
    int count;
    struct {
        const char *patch; /* id on the card */
        struct match_recipe mix;
    } of[CARD_PATCHES_MOST];
    double rms_de00; /* of the leather colours to the nearest colour patch */
};

/* Patches of the card that no mix was found for leave it. */
enum status card_recipes_find(const struct surroundings *around, const struct shelf *shelf, double batch_g,
                              double scale_step_g, struct photo_card *card, struct card_recipes *out,
                              struct fault *fault) MUST_USE;

#endif
