/* A rendered panel with known damage: pebbled leather (valleys between random cells), cracks as walks that
 * taper, patches of lost colour; Lambert, gloss and cast shadow under a lamp, noise, 8 bits. Invented. */
#ifndef RUSSET_TESTS_WEAR_PANEL_H
#define RUSSET_TESTS_WEAR_PANEL_H

#include "surface/picture.h"

struct panel {
    int side; /* pixels */
    double px_mm;
    float *height; /* mm */
    float *albedo[3];
    uint8_t *crack, *loss;
    double crack_mm;        /* length of the walks, less what runs where one has been */
    double width_median_mm; /* over the length */
    unsigned long long state;
};

/* Vinyl: an even emboss, dark grey, shinier; hard plastic: fine spark-eroded grain, grey, narrow cracks. */
enum panel_material { PANEL_LEATHER, PANEL_VINYL, PANEL_PLASTIC, PANEL_MATERIALS };

struct panel_plan {
    enum panel_material material;
    unsigned long long seed;
    int side;
    double px_mm, pebble_mm, depth_mm;
    int cracks, losses;
};

struct panel *panel_new(const struct panel_plan *plan);
void panel_free(struct panel *panel);

struct panel_lamp {
    double azimuth_deg, elevation_deg, gloss, noise, fall_off; /* fall_off: of light over the panel */
};
/* rgb of the picture is to be given back by free. */
struct picture panel_shoot(struct panel *panel, const struct panel_lamp *lamp);

struct panel_score {
    double precision, recall, f;
};
/* Within `near` pixels. */
struct panel_score panel_score(const uint8_t *found, const uint8_t *truth, int width, int height, int near);

/* Wobbly spots of dirt over the finish (and over its losses); where[] gets 1 there. clean gets the albedo as
 * it was, three planes, for panel_wipe. */
void panel_soil(struct panel *panel, int spots, uint8_t *where, float *clean);
/* Cleans a square of it. */
void panel_wipe(struct panel *panel, const float *clean, int left, int top, int side);

#endif
