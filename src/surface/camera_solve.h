/* One shot solved: which curve and which map, its leave-one-out errors, and the spots as Lab (part of
 * surface/camera; nobody else needs it). */
#ifndef RUSSET_SURFACE_CAMERA_SOLVE_H
#define RUSSET_SURFACE_CAMERA_SOLVE_H

#include "surface/camera_light.h"

struct camera_solved {
    struct camera_light light;
    struct tone_form tone;
    struct camera_map map;
    int channels;
    bool use[CARD_PATCHES_MOST]; /* leant on */
    struct fit_sample sample[CARD_PATCHES_MOST];
    struct camera_map without[CARD_PATCHES_MOST];               /* the map had that patch not been there */
    double light_without[CARD_PATCHES_MOST][FIT_CHANNELS_MOST]; /* and its light then */
    double loo[CARD_PATCHES_MOST]; /* dE00; NAN for a patch that is not used or the trap */
    double loo_mean, loo_max;
    double spot[CAMERA_SPOTS_MOST][FIT_CHANNELS_MOST], place[CARD_PLACES_MOST][FIT_CHANNELS_MOST];
    bool few_colours;
    bool raw; /* no display curve lies in front of it */
};

/* second: light of the same patches, spots and places under another lamp, already averaged; NULL: none. use[]
 * says which patches may be leant on. False when nothing fits at all. */
bool solve_shot(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                const struct camera_light *second, struct camera_solved *out);
/* Mean square leave-one-out error (dE00^2) of patches about that colour. */
double solved_miss(const struct camera_solved *solved, const struct photo_card *card, struct lab about);

#endif
