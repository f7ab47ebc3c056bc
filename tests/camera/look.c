/* Tags are drawn from the family's own table of codes (libapriltag), modules 1/8 of the black square, with a
 * white ring of one module. */
#include "camera/look.h"
#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <assert.h>
#include <math.h>
#include <string.h>

enum { MODULES = 8 };
#define GRAIN_MM .05

void grey_ink(double y, struct spectrum *out) {
    for (int b = 0; b < BANDS; b++) out->band[b] = y * (1 + .03 * sin(b / 4.));
}

static bool in_square(const double at[2], const double center[2], double size) {
    return fabs(at[0] - center[0]) < size / 2 && fabs(at[1] - center[1]) < size / 2;
}

/* The family's places of the bits, as libapriltag draws them. */
static bool module_is_white(const apriltag_family_t *family, unsigned long long code, int u, int v) {
    for (unsigned i = 0; i < family->nbits; i++)
        if ((int)family->bit_x[i] == u && (int)family->bit_y[i] == v)
            return (code >> (family->nbits - 1 - i)) & 1;
    return false;
}

static void read_codes(struct look *look) {
    apriltag_family_t *family = tag36h11_create();
    const struct photo_card *card = look->scene->card;
    for (int t = 0; t < card->tags; t++) {
        assert(card->tag[t].id >= 0 && card->tag[t].id < (int)family->ncodes);
        look->code[t] = 0;
        for (int m = 0; m < MODULES * MODULES; m++)
            if (module_is_white(family, family->codes[card->tag[t].id], m % MODULES, m / MODULES))
                look->code[t] |= 1ULL << m;
    }
    tag36h11_destroy(family);
}

/* -1 outside of the tag and its ring. */
static int tag_at(const struct look *look, int t, const double mm[2]) {
    const struct photo_tag *tag = &look->scene->card->tag[t];
    const double *o = tag->corner_mm[0], *right = tag->corner_mm[1], *down = tag->corner_mm[3];
    const double ex = right[0] - o[0], ey = right[1] - o[1], fx = down[0] - o[0], fy = down[1] - o[1];
    const double dx = mm[0] - o[0], dy = mm[1] - o[1], det = ex * fy - ey * fx;
    const double u = MODULES * (dx * fy - dy * fx) / det, v = MODULES * (ex * dy - ey * dx) / det;
    if (!(u >= -1 && v >= -1 && u < MODULES + 1 && v < MODULES + 1)) return -1;
    if (u < 0 || v < 0 || u >= MODULES || v >= MODULES) return LOOK_WHITE;
    return (look->code[t] >> ((int)v * MODULES + (int)u)) & 1 ? LOOK_WHITE : LOOK_BLACK;
}

int look_at(const struct look *look, const double mm[2]) {
    const struct scene *scene = look->scene;
    const struct photo_card *card = scene->card;
    for (int i = 0; i < scene->covers; i++) {
        const struct cover *c = &scene->cover[i];
        if (mm[0] >= c->x_mm && mm[1] >= c->y_mm && mm[0] < c->x_mm + c->w_mm && mm[1] < c->y_mm + c->h_mm)
            return LOOK_COVER + i;
    }
    if (!(mm[0] >= 0 && mm[1] >= 0 && mm[0] < card->size_mm[0] && mm[1] < card->size_mm[1]))
        return LOOK_GROUND;
    if (card->has_window && in_square(mm, card->window_center_mm, card->window_mm)) return LOOK_WINDOW;
    for (int t = 0; t < card->tags; t++) {
        const int label = tag_at(look, t, mm);
        if (label >= 0) return label;
    }
    for (int i = 0; i < card->patches; i++)
        if (in_square(mm, card->patch[i].center_mm, card->patch[i].size_mm + scene->patch_more_mm))
            return LOOK_PATCH + i;
    for (int i = 0; i < card->places; i++)
        if (in_square(mm, card->place[i].center_mm, card->place[i].size_mm)) return LOOK_PLACE + i;
    const double *hole = scene->hole_mm;
    const bool in_hole =
        mm[0] >= hole[0] && mm[1] >= hole[1] && mm[0] < hole[0] + hole[2] && mm[1] < hole[1] + hole[3];
    return in_hole ? LOOK_BLACK : LOOK_GREY;
}

/* A cell is of one label when a net of points over it and just around it says so; what is finer than the net
 * (none of our cards) would be missed. */
static unsigned short cell_label(const struct look *look, int column, int row) {
    enum { NET = 3 };
    int first = -1;
    for (int j = 0; j < NET; j++)
        for (int i = 0; i < NET; i++) {
            const double mm[2] = {(column + (i * 1.02 / (NET - 1)) - .01) * LOOK_CELL_MM,
                                  (row + (j * 1.02 / (NET - 1)) - .01) * LOOK_CELL_MM};
            const int label = look_at(look, mm);
            if (first < 0) first = label;
            if (label != first) return LOOK_MIXED;
        }
    return (unsigned short)first;
}

/* Cells go ten millimetres beyond the card, for covers that hang over. */
static const int beyond = 40;

int look_cell(const struct look *look, const double mm[2]) {
    const double x = mm[0] / LOOK_CELL_MM + beyond, y = mm[1] / LOOK_CELL_MM + beyond;
    if (!(x >= 0 && y >= 0 && x < look->columns && y < look->rows)) return LOOK_GROUND;
    return look->cell[(size_t)(int)y * (size_t)look->columns + (size_t)(int)x];
}

static void put_colour(struct look *look, int label, const struct spectrum *colour, double shine) {
    double rgb[3];
    response_of(&look->response, colour, rgb);
    for (int c = 0; c < 3; c++) look->colour[label][c] = (float)(rgb[c] + shine);
}

static void put_colours(struct look *look) {
    const struct scene *scene = look->scene;
    struct spectrum ink;
    const double inks[3] = {scene->grey_y, .86, .045};
    for (int i = 0; i < 3; i++)
        grey_ink(inks[i], &ink), put_colour(look, LOOK_GREY + i, &ink, scene->patch_shine);
    put_colour(look, LOOK_GROUND, &scene->ground.colour, 0);
    put_colour(look, LOOK_WINDOW, &scene->window.colour, 0);
    for (int i = 0; i < scene->covers; i++) {
        const struct cover *cover = &scene->cover[i];
        grey_ink(cover->reflectance, &ink);
        put_colour(look, LOOK_COVER + i, cover->leather ? cover->leather : &ink, 0);
    }
    for (int i = 0; i < scene->card->patches; i++) {
        const bool trap = scene->card->patch[i].role == PATCH_BLACK_TRAP;
        put_colour(look, LOOK_PATCH + i, &scene->patch[i], trap ? 0 : scene->patch_shine);
    }
    for (int i = 0; i < scene->card->places; i++)
        put_colour(look, LOOK_PLACE + i, &scene->place[i], scene->patch_shine);
}

void look_make(struct look *out, const struct scene *scene) {
    *out = (struct look){.scene = scene};
    response_make(&out->response, scene->camera, scene->lamp);
    read_codes(out);
    out->columns = (int)ceil(scene->card->size_mm[0] / LOOK_CELL_MM) + 2 * beyond;
    out->rows = (int)ceil(scene->card->size_mm[1] / LOOK_CELL_MM) + 2 * beyond;
    out->cell = memory_need((size_t)out->columns * (size_t)out->rows, sizeof *out->cell);
    for (int r = 0; r < out->rows; r++)
        for (int c = 0; c < out->columns; c++)
            out->cell[r * out->columns + c] = cell_label(out, c - beyond, r - beyond);
    put_colours(out);
    out->slope = grain_slopes();
    out->window = memory_need(1, sizeof *out->window), out->ground = memory_need(1, sizeof *out->ground);
    texture_make(out->window, out->slope, &scene->window);
    texture_make(out->ground, out->slope, &scene->ground);
}

void look_free(struct look *look) {
    memory_free(look->cell), memory_free(look->slope), memory_free(look->window), memory_free(look->ground);
}

void look_refill(struct look *look, const struct leather *leather) {
    put_colour(look, LOOK_WINDOW, &leather->colour, 0);
    texture_make(look->window, look->slope, leather);
}

static size_t tile_place(const double mm[2]) {
    const int x = (int)floor(mm[0] / GRAIN_MM) & (GRAIN_SIDE - 1),
              y = (int)floor(mm[1] / GRAIN_MM) & (GRAIN_SIDE - 1);
    return (size_t)(y * GRAIN_SIDE + x);
}

bool look_is_leather(const struct look *look, int label) {
    return label == LOOK_GROUND || label == LOOK_WINDOW ||
           (label >= LOOK_COVER && label < LOOK_PATCH && look->scene->cover[label - LOOK_COVER].leather);
}

void look_light(const struct look *look, const double mm[2], int label, float out[3]) {
    memcpy(out, look->colour[label], sizeof(float[3]));
    if (!look_is_leather(look, label)) return;
    const bool window = label != LOOK_GROUND;
    const struct texture *texture = window ? look->window : look->ground;
    const size_t at = tile_place(mm);
    double shine = (double)texture->shine[at], shade = (double)texture->shade[at];
    shade *= leather_marks(window ? &look->scene->window : &look->scene->ground, mm, &shine);
    for (int c = 0; c < 3; c++) out[c] = (float)((double)out[c] * shade + shine);
}
