/* A channel sees value = g(light F + veil): g is the camera's curve, F the uneven light, the veil is glare.
 * The neutrals give g and the veil, the grey ground gives F; each needs the other, so they take turns. */
#include "surface/camera_light.h"
#include <math.h>
#include <string.h>

enum { TURNS = 4 };

static const double trap_trust = .3; /* what a black trap returns is known worse than a neutral */

/* Reflectance of a patch as a display's red, green and blue see it. For a grey it is nearly Y in all three,
 * and a tint of the grey counts about as it should. */
static void as_channels(const struct lab *lab, double out[3]) {
    static const double to_rgb[3][3] = {/* IEC 61966-2-1 */
                                        {3.2406, -1.5372, -.4986},
                                        {-.9689, 1.8758, .0415},
                                        {.0557, -.2040, 1.0570}};
    static const double white[3] = {.9505, 1, 1.089};
    const struct weights *d65 = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const struct xyz xyz = xyz_of_lab(*lab, d65);
    const double v[3] = {xyz.x / d65->white.x * white[0], xyz.y / d65->white.y * white[1],
                         xyz.z / d65->white.z * white[2]};
    for (int c = 0; c < 3; c++) out[c] = to_rgb[c][0] * v[0] + to_rgb[c][1] * v[1] + to_rgb[c][2] * v[2];
}

static bool is_grey(const struct photo_card *card, const bool use[], int i) {
    return use[i] && card->patch[i].known != KNOWN_NOT && card->patch[i].role != PATCH_COLOUR;
}

/* Paper alone: it gives the gain; no light is value 0 but for a little veil; the curve is what cameras
 * usually do beyond sRGB. */
static void fit_paper(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                      struct camera_light *light) {
    for (int c = 0; c < 3; c++) {
        struct camera_tone *tone = &light->tone[c];
        double sum = 0, weight = 0;
        for (int i = 0; i < card->patches; i++) {
            double seen[3];
            if (!is_grey(card, use, i)) continue;
            as_channels(&card->patch[i].lab, seen);
            sum += shot->patch[i].mean[c], weight += seen[c] * flat_at(&light->flat, c, shot->patch[i].mm);
        }
        *tone = (struct camera_tone){.kind = TONE_USUAL,
                                     .gain = weight > 0 ? sum / weight : 1,
                                     .power = TONE_POWER,
                                     .contrast = TONE_CONTRAST};
        tone->offset = TONE_VEIL * tone->gain;
        tone->curved = !shot->raw;
    }
}

static void fit_tones(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                      const struct tone_form *form, int without, struct camera_light *light) {
    if (form->kind == TONE_USUAL) {
        fit_paper(shot, card, use, light);
        return;
    }
    for (int c = 0; c < 3; c++) {
        struct tone_knot knot[TONE_KNOTS_MOST];
        size_t n = 0;
        for (int i = 0; i < card->patches && n < TONE_KNOTS_MOST; i++) {
            if (!is_grey(card, use, i) || i == without) continue;
            const struct photo_patch *patch = &card->patch[i];
            double seen[3];
            as_channels(&patch->lab, seen);
            const double trust =
                (patch->role == PATCH_BLACK_TRAP ? trap_trust : 1) / (1 + pow(patch->lab_sd / .3, 2));
            knot[n++] =
                (struct tone_knot){shot->patch[i].mean[c],
                                   fmax(seen[c], 0) * flat_at(&light->flat, c, shot->patch[i].mm), trust};
        }
        if (tone_fit(knot, n, form, &light->tone[c])) continue;
        /* No greys to learn from: white is the brightest patch. */
        double top = 1e-3;
        for (int i = 0; i < shot->patches; i++) top = fmax(top, shot->patch[i].mean[c]);
        light->tone[c].gain = top;
    }
}

static void fit_flat(const struct camera_shot *shot, const struct photo_card *card,
                     struct camera_light *light) {
    double mm[CAMERA_SURROUND_MOST][2], seen[CAMERA_SURROUND_MOST][3];
    size_t n = 0;
    for (int i = 0; i < shot->surrounds; i++) {
        bool good = true;
        for (int c = 0; c < 3; c++) {
            seen[n][c] = tone_light(&light->tone[c], shot->surround[i].mean[c]);
            good &= seen[n][c] > .002;
        }
        memcpy(mm[n], shot->surround[i].mm, sizeof mm[n]);
        n += good;
    }
    light->has_flat =
        flat_fit((const double(*)[2])mm, (const double(*)[3])seen, n, card->size_mm, &light->flat);
    /* 1 on the mean of the patches; what the ground's grey is does not matter. */
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        light->flat.term[c][0] = 0;
        for (int i = 0; i < shot->patches; i++) sum += log(flat_at(&light->flat, c, shot->patch[i].mm));
        if (shot->patches) light->flat.term[c][0] = -sum / shot->patches;
    }
}

static void undo(const struct camera_light *light, const struct camera_sample *sample, double out[3]) {
    for (int c = 0; c < 3; c++)
        out[c] = tone_light(&light->tone[c], sample->mean[c]) / flat_at(&light->flat, c, sample->mm);
}

/* XYZ of the light of white in each channel, by the picture's own primaries. */
static void hold_display(const struct camera_shot *shot, struct camera_light *light) {
    double display[3][3], sum[3] = {0};
    const struct xyz white = weights_of((struct view){LIGHT_D65, OBSERVER_10})->white;
    const double to[3] = {white.x, white.y, white.z};
    map_display(display);
    memcpy(light->hold, display, sizeof display);
    bool given = false;
    for (int i = 0; i < 9; i++) given |= shot->to_srgb[i] != 0;
    if (!given) return;
    for (int k = 0; k < 3; k++)
        for (int c = 0; c < 3; c++) {
            light->hold[k][c] = 0;
            for (int m = 0; m < 3; m++)
                light->hold[k][c] += display[k][m] * shot->to_srgb[3 * m + c] * light->tone[c].gain;
            sum[k] += light->hold[k][c];
        }
    for (int k = 0; k < 3; k++)
        for (int c = 0; c < 3; c++) light->hold[k][c] *= sum[k] > 0 ? to[k] / sum[k] : 0;
    for (int k = 0; k < 3; k++)
        if (!(sum[k] > 0)) memcpy(light->hold, display, sizeof display);
}

static void measure_gradient(const struct camera_shot *shot, struct camera_light *light) {
    double low = HUGE_VAL, high = 0;
    for (int i = 0; i < shot->patches; i++) {
        const double f = flat_at(&light->flat, 1, shot->patch[i].mm);
        low = fmin(low, f), high = fmax(high, f);
    }
    light->gradient = shot->patches ? high / low - 1 : 0;
}

void light_of(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
              const struct tone_form *form, struct camera_light *out) {
    memset(out, 0, sizeof *out);
    flat_none(card->size_mm, &out->flat);
    for (int turn = 0; turn < TURNS; turn++) {
        fit_tones(shot, card, use, form, -1, out);
        fit_flat(shot, card, out);
    }
    fit_tones(shot, card, use, form, -1, out);
    measure_gradient(shot, out);
    hold_display(shot, out);
    out->glare = out->tone[1].offset / out->tone[1].gain;
    for (int i = 0; i < shot->patches; i++) undo(out, &shot->patch[i], out->patch[i]);
    for (int i = 0; i < shot->spots; i++) undo(out, &shot->spot[i], out->spot[i]);
    for (int i = 0; i < card->places; i++)
        if (shot->places[i].pixels) undo(out, &shot->places[i], out->place[i]);
}

void light_under(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                 const struct tone_form *form, struct camera_light *light) {
    fit_tones(shot, card, use, form, -1, light);
    hold_display(shot, light);
    for (int i = 0; i < shot->patches; i++) undo(light, &shot->patch[i], light->patch[i]);
}

void light_without(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                   const struct tone_form *form, const struct camera_light *whole, int without,
                   double light[3]) {
    memcpy(light, whole->patch[without], 3 * sizeof *light);
    if (!is_grey(card, use, without)) return;
    struct camera_light part;
    part.flat = whole->flat;
    fit_tones(shot, card, use, form, without, &part);
    undo(&part, &shot->patch[without], light);
}
