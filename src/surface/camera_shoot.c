/* One photograph into means: patches, the grey ground between them, spots, places. */
#include "surface/camera.h"
#include <math.h>
#include <string.h>

static const double patch_share = .6;  /* of a patch's side: its edges and the blur stay outside */
static const double window_share = .8; /* of the window's side */
static const double ground_step_mm = 4, ground_mm = 1.6; /* the grid that the grey is looked at on; a large
                                                             card has a wider one */
static const double around_tag = .3;                     /* of a tag's side: its white border */
static const double around_patch_mm = 1, around_window_mm = 2, card_edge_mm = 1.5;

static bool near_square(const double at[2], const double center[2], double half) {
    return fabs(at[0] - center[0]) < half && fabs(at[1] - center[1]) < half;
}

/* Is there grey around this place of the card, as far as the card tells? Print such as a rule is left to the
 * robust fit. */
static bool is_ground(const struct photo_card *card, const double at[2]) {
    const double half = ground_mm / 2;
    for (int i = 0; i < 2; i++)
        if (at[i] < card_edge_mm + half || at[i] > card->size_mm[i] - card_edge_mm - half) return false;
    for (int i = 0; i < card->tags; i++) {
        const double(*c)[2] = card->tag[i].corner_mm;
        const double side = hypot(c[1][0] - c[0][0], c[1][1] - c[0][1]);
        const double center[2] = {(c[0][0] + c[2][0]) / 2, (c[0][1] + c[2][1]) / 2};
        if (near_square(at, center, side * (.5 + around_tag) + half)) return false;
    }
    for (int i = 0; i < card->patches; i++)
        if (near_square(at, card->patch[i].center_mm, card->patch[i].size_mm / 2 + around_patch_mm + half))
            return false;
    for (int i = 0; i < card->places; i++)
        if (near_square(at, card->place[i].center_mm, card->place[i].size_mm + half)) return false;
    return !card->has_window ||
           !near_square(at, card->window_center_mm, card->window_mm / 2 + around_window_mm + half);
}

static bool inside(const struct picture *picture, const struct located *located, const double center[2],
                   double side) {
    for (int i = 0; i < 4; i++) {
        const struct point at = located_to_pixel(
            located, (struct point){center[0] + side * ((i & 1) - .5), center[1] + side * ((i >> 1) - .5)});
        if (!picture_inside(picture, at.x, at.y, 0)) return false;
    }
    return true;
}

static void shoot_ground(const struct picture *picture, const struct photo_card *card,
                         const struct located *located, struct camera_shot *out) {
    if (!(card->surround_y > 0)) return;
    const double step = fmax(ground_step_mm, sqrt(card->size_mm[0] * card->size_mm[1] / 700));
    for (double y = step / 2; y < card->size_mm[1]; y += step)
        for (double x = step / 2; x < card->size_mm[0]; x += step) {
            const double at[2] = {x, y};
            if (out->surrounds == CAMERA_SURROUND_MOST || !is_ground(card, at)) continue;
            if (!inside(picture, located, at, ground_mm)) continue;
            struct camera_sample *sample = &out->surround[out->surrounds];
            sample_square(picture, located, at, ground_mm, sample);
            if (sample->pixels >= 4 && sample->clipped == 0) out->surrounds++;
        }
}

static enum status shoot_patches(const struct picture *picture, const struct photo_card *card,
                                 const struct located *located, struct camera_shot *out,
                                 struct fault *fault) {
    out->patches = card->patches;
    for (int i = 0; i < card->patches; i++) {
        const struct photo_patch *patch = &card->patch[i];
        const double side = patch_share * patch->size_mm;
        if (!inside(picture, located, patch->center_mm, side))
            return FAULT(fault, CARD_PATCH_OUTSIDE, patch->id);
        sample_square(picture, located, patch->center_mm, side, &out->patch[i]);
        if (out->patch[i].pixels < 16)
            return FAULT(fault, CARD_PATCH_FEW, patch->id, COUNT_TEXT((long long)out->patch[i].pixels));
    }
    for (int i = 0; i < card->places; i++)
        if (inside(picture, located, card->place[i].center_mm, card->place[i].size_mm))
            sample_window(picture, located, card->place[i].center_mm, patch_share * card->place[i].size_mm,
                          &out->places[i]);
    return STATUS_OK;
}

static enum status shoot_spots(const struct picture *picture, const struct photo_card *card,
                               const struct located *located, const struct camera_spot spot[], int spots,
                               struct camera_shot *out, struct fault *fault) {
    for (int i = 0; i < spots; i++) {
        const struct camera_spot *one = &spot[i];
        struct camera_sample *sample = &out->spot[i];
        if (one->r == 0) { /* the window */
            if (!card->has_window) return FAULT0(fault, CARD_NO_WINDOW);
            if (!inside(picture, located, card->window_center_mm, window_share * card->window_mm))
                return FAULT0(fault, CARD_WINDOW_OUTSIDE);
            sample_window(picture, located, card->window_center_mm, window_share * card->window_mm, sample);
        } else {
            if (!picture_inside(picture, one->x, one->y, one->r))
                return FAULT(fault, SPOT_OUTSIDE, NUMBER_TEXT(one->x), NUMBER_TEXT(one->y),
                             NUMBER_TEXT(one->r), COUNT_TEXT(picture->width), COUNT_TEXT(picture->height));
            sample_disc(picture, located, one->x, one->y, one->r, sample);
        }
        if (sample->pixels < 12)
            return FAULT(fault, SPOT_SMALL, COUNT_TEXT(i + 1), COUNT_TEXT((long long)sample->pixels));
    }
    out->spots = spots;
    return STATUS_OK;
}

enum status camera_shoot(const struct picture *picture, const struct photo_card *card,
                         const struct located *located, const struct camera_spot spot[], int spots,
                         struct camera_shot *out, struct fault *fault) {
    static const struct camera_spot window = {0, 0, 0};
    memset(out, 0, sizeof *out);
    out->raw = picture->raw;
    out->clip = (double)picture->clip / 65535;
    memcpy(out->to_srgb, picture->to_srgb, sizeof out->to_srgb);
    enum status status = shoot_patches(picture, card, located, out, fault);
    if (status == STATUS_OK)
        status = shoot_spots(picture, card, located, spots ? spot : &window, spots ? spots : 1, out, fault);
    if (status == STATUS_OK) shoot_ground(picture, card, located, out);
    return status;
}
