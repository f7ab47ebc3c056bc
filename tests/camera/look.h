/* What lies where on and around the card, and how leather's surface looks. Inside the renderer only. */
#ifndef RUSSET_TESTS_CAMERA_LOOK_H
#define RUSSET_TESTS_CAMERA_LOOK_H

#include "camera/render.h"

enum {
    LOOK_GROUND,
    LOOK_WINDOW,
    LOOK_GREY,
    LOOK_WHITE,
    LOOK_BLACK,
    LOOK_COVER,
    LOOK_PATCH = LOOK_COVER + COVERS_MOST,
    LOOK_PLACE = LOOK_PATCH + CARD_PATCHES_MOST,
    LOOKS = LOOK_PLACE + CARD_PLACES_MOST,
    LOOK_MIXED = 0xffff,
    LOOK_THINGS = COVERS_MOST + 2 + CARD_TAGS_MOST + CARD_PATCHES_MOST + CARD_PLACES_MOST,
    LOOK_BLOCK = 8, /* cells along a side of a block */
    LOOK_NEAR = 8
};
#define LOOK_CELL_MM .25

struct look_thing {
    double low[2], high[2]; /* mm */
    int label, tag;         /* tag >= 0: the label is its module's */
};
struct look_block {
    int near; /* things; more than LOOK_NEAR: they are not listed */
    short thing[LOOK_NEAR];
};

struct texture { /* of one leather, a tile that repeats */
    float shade[GRAIN_SIDE * GRAIN_SIDE], shine[GRAIN_SIDE * GRAIN_SIDE];
};

struct look {
    const struct scene *scene;
    struct response response;
    int columns, rows; /* of cells over the card */
    unsigned short *cell;
    int blocks_across;
    struct look_block *block;
    int things;
    struct look_thing thing[LOOK_THINGS];
    unsigned long long code[CARD_TAGS_MOST];
    float colour[LOOKS][3];
    const float *slope; /* of the grain tile, x and y, root mean square 1 */
    struct texture *window, *ground;
};
void look_make(struct look *out, const struct scene *scene);
void look_free(struct look *look);
/* The window's leather changed. */
void look_refill(struct look *look, const struct leather *leather);

/* The label of a cell, LOOK_MIXED where an edge passes; of a point, exactly. */
int look_cell(const struct look *look, const double mm[2]);
int look_at(const struct look *look, const double mm[2]);
/* The ground, the window, or leather that covers something. */
bool look_is_leather(const struct look *look, int label);
/* White-balanced raw light from a point. */
void look_light(const struct look *look, const double mm[2], int label, float out[3]);

/* grain.c */
const float *grain_slopes(void); /* the same tile for all; made once, by one thread */
void texture_make(struct texture *out, const float *slope, const struct leather *leather);
/* What creases and perforation leave of the light, and the shine on a crease's flank. */
double leather_marks(const struct leather *leather, const double mm[2], double *shine);

#endif
