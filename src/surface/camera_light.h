/* A shot with its tone curve and its uneven light undone (part of surface/camera; nobody else needs it). */
#ifndef RUSSET_SURFACE_CAMERA_LIGHT_H
#define RUSSET_SURFACE_CAMERA_LIGHT_H

#include "surface/camera.h"
#include "surface/camera_flat.h"

struct camera_light {
    struct camera_tone tone[3];
    struct camera_flat flat;
    bool has_flat;
    double gradient; /* brightest over darkest, less 1, over the patches */
    double glare;    /* of white */
    double patch[CARD_PATCHES_MOST][3], spot[CAMERA_SPOTS_MOST][3], place[CARD_PLACES_MOST][3];
    double hold[3][3]; /* the display's map for this light */
};

/* use[i]: the patch may be leant on. */
void light_of(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
              const struct tone_form *form, struct camera_light *out);
/* The patches' light under another curve of that form; the uneven light stays as it was found. */
void light_under(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                 const struct tone_form *form, struct camera_light *light);
/* The light of patch `without`, had it not been there: only a neutral moves the curve. */
void light_without(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                   const struct tone_form *form, const struct camera_light *whole, int without,
                   double light[3]);

#endif
