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

/* ---- what lies where: things in the order in which they cover each other ---- */

static void add_thing(struct look *look, double x0, double y0, double x1, double y1, int label, int tag) {
    assert(look->things < LOOK_THINGS);
    look->thing[look->things++] = (struct look_thing){{x0, y0}, {x1, y1}, label, tag};
}

static void add_square(struct look *look, const double center[2], double size, int label) {
    const double half = size / 2;
    add_thing(look, center[0] - half, center[1] - half, center[0] + half, center[1] + half, label, -1);
}

/* The tag with its ring of a module. */
static void add_tag(struct look *look, int t) {
    double low[2] = {HUGE_VAL, HUGE_VAL}, high[2] = {-HUGE_VAL, -HUGE_VAL};
    for (int k = 0; k < 4; k++)
        for (int i = 0; i < 2; i++) {
            low[i] = fmin(low[i], look->scene->card->tag[t].corner_mm[k][i]);
            high[i] = fmax(high[i], look->scene->card->tag[t].corner_mm[k][i]);
        }
    const double ring = fmax(high[0] - low[0], high[1] - low[1]) / MODULES;
    add_thing(look, low[0] - ring, low[1] - ring, high[0] + ring, high[1] + ring, -1, t);
}

static void list_things(struct look *look) {
    const struct scene *scene = look->scene;
    const struct photo_card *card = scene->card;
    for (int i = 0; i < scene->covers; i++) {
        const struct cover *c = &scene->cover[i];
        add_thing(look, c->x_mm, c->y_mm, c->x_mm + c->w_mm, c->y_mm + c->h_mm, LOOK_COVER + i, -1);
    }
    if (card->has_window) add_square(look, card->window_center_mm, card->window_mm, LOOK_WINDOW);
    for (int t = 0; t < card->tags; t++) add_tag(look, t);
    for (int i = 0; i < card->patches; i++)
        add_square(look, card->patch[i].center_mm, card->patch[i].size_mm + scene->patch_more_mm,
                   LOOK_PATCH + i);
    for (int i = 0; i < card->places; i++)
        add_square(look, card->place[i].center_mm, card->place[i].size_mm, LOOK_PLACE + i);
    const double *hole = scene->hole_mm;
    if (hole[2] > 0) add_thing(look, hole[0], hole[1], hole[0] + hole[2], hole[1] + hole[3], LOOK_BLACK, -1);
}

static int in_thing(const struct look *look, int i, const double mm[2]) {
    const struct look_thing *thing = &look->thing[i];
    if (!(mm[0] >= thing->low[0] && mm[1] >= thing->low[1] && mm[0] < thing->high[0] &&
          mm[1] < thing->high[1]))
        return -1;
    return thing->tag < 0 ? thing->label : tag_at(look, thing->tag, mm);
}

/* Of the things of a list, or of all. */
static int look_among(const struct look *look, const short list[], int count, const double mm[2]) {
    const double *size = look->scene->card->size_mm;
    const bool out = !(mm[0] >= 0 && mm[1] >= 0 && mm[0] < size[0] && mm[1] < size[1]);
    for (int k = 0; k < count; k++) {
        const int i = list ? list[k] : k;
        if (out && i >= look->scene->covers) break; /* only a cover hangs over */
        const int label = in_thing(look, i, mm);
        if (label >= 0) return label;
    }
    return out ? LOOK_GROUND : LOOK_GREY;
}

/* ---- cells of LOOK_CELL_MM, and blocks of them that know what is near ---- */

/* Cells go ten millimetres beyond the card, for covers that hang over. */
static const int beyond = 40;

static const struct look_block *block_at(const struct look *look, int column, int row) {
    return &look->block[row / LOOK_BLOCK * look->blocks_across + column / LOOK_BLOCK];
}

static bool cell_of(const struct look *look, const double mm[2], int *column, int *row) {
    const double x = mm[0] / LOOK_CELL_MM + beyond, y = mm[1] / LOOK_CELL_MM + beyond;
    if (!(x >= 0 && y >= 0 && x < look->columns && y < look->rows)) return false;
    *column = (int)x, *row = (int)y;
    return true;
}

int look_at(const struct look *look, const double mm[2]) {
    int column, row;
    if (!cell_of(look, mm, &column, &row)) return look_among(look, NULL, look->things, mm);
    const struct look_block *block = block_at(look, column, row);
    return block->near > LOOK_NEAR ? look_among(look, NULL, look->things, mm)
                                   : look_among(look, block->thing, block->near, mm);
}

int look_cell(const struct look *look, const double mm[2]) {
    int column, row;
    if (!cell_of(look, mm, &column, &row)) return LOOK_GROUND;
    return look->cell[(size_t)row * (size_t)look->columns + (size_t)column];
}

/* A cell is of one label when a net of points over it and just around it says so; what is finer than the net
 * (none of our cards) would be missed. */
static unsigned short cell_label(const struct look *look, int column, int row) {
    enum { NET = 3 };
    const struct look_block *block = block_at(look, column, row);
    const bool listed = block->near <= LOOK_NEAR;
    int first = -1;
    for (int j = 0; j < NET; j++)
        for (int i = 0; i < NET; i++) {
            const double mm[2] = {(column - beyond + (i * 1.02 / (NET - 1)) - .01) * LOOK_CELL_MM,
                                  (row - beyond + (j * 1.02 / (NET - 1)) - .01) * LOOK_CELL_MM};
            const int label =
                look_among(look, listed ? block->thing : NULL, listed ? block->near : look->things, mm);
            if (first < 0) first = label;
            if (label != first) return LOOK_MIXED;
        }
    return (unsigned short)first;
}

/* Whether [low, high] is all in, all out (both false) or cut by an edge of the box. */
static void against_box(const double low[2], const double high[2], const double box_low[2],
                        const double box_high[2], bool *touches, bool *cut) {
    bool within = true;
    *touches = true;
    for (int i = 0; i < 2; i++) {
        *touches &= low[i] < box_high[i] && high[i] > box_low[i];
        within &= low[i] >= box_low[i] && high[i] <= box_high[i];
    }
    *cut = *touches && !within;
}

/* What is near a block; false when no edge passes through it. */
static bool make_block(const struct look *look, int bx, int by, struct look_block *out) {
    const double none[2] = {0, 0}, slack = .1;
    const double low[2] = {(bx * LOOK_BLOCK - beyond) * LOOK_CELL_MM - slack,
                           (by * LOOK_BLOCK - beyond) * LOOK_CELL_MM - slack};
    const double high[2] = {low[0] + LOOK_BLOCK * LOOK_CELL_MM + 2 * slack,
                            low[1] + LOOK_BLOCK * LOOK_CELL_MM + 2 * slack};
    bool touches, cut, edge;
    against_box(low, high, none, look->scene->card->size_mm, &touches, &edge);
    out->near = 0;
    for (int i = 0; i < look->things; i++) {
        const struct look_thing *thing = &look->thing[i];
        against_box(low, high, thing->low, thing->high, &touches, &cut);
        if (!touches) continue;
        if (out->near < LOOK_NEAR) out->thing[out->near] = (short)i;
        out->near++;
        edge |= cut || thing->tag >= 0;
    }
    return edge;
}

static void fill_block(struct look *look, int bx, int by, bool edge) {
    const double middle[2] = {((bx + .5) * LOOK_BLOCK - beyond) * LOOK_CELL_MM,
                              ((by + .5) * LOOK_BLOCK - beyond) * LOOK_CELL_MM};
    const unsigned short plain = (unsigned short)(edge ? 0 : look_at(look, middle));
    for (int r = by * LOOK_BLOCK; r < (by + 1) * LOOK_BLOCK && r < look->rows; r++)
        for (int c = bx * LOOK_BLOCK; c < (bx + 1) * LOOK_BLOCK && c < look->columns; c++)
            look->cell[r * look->columns + c] = edge ? cell_label(look, c, r) : plain;
}

static void make_cells(struct look *look) {
    look->columns = (int)ceil(look->scene->card->size_mm[0] / LOOK_CELL_MM) + 2 * beyond;
    look->rows = (int)ceil(look->scene->card->size_mm[1] / LOOK_CELL_MM) + 2 * beyond;
    look->cell = memory_need((size_t)look->columns * (size_t)look->rows, sizeof *look->cell);
    const int across = (look->columns + LOOK_BLOCK - 1) / LOOK_BLOCK,
              down = (look->rows + LOOK_BLOCK - 1) / LOOK_BLOCK;
    look->blocks_across = across;
    look->block = memory_need((size_t)across * (size_t)down, sizeof *look->block);
    for (int by = 0; by < down; by++)
        for (int bx = 0; bx < across; bx++)
            fill_block(look, bx, by, make_block(look, bx, by, &look->block[by * across + bx]));
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
    list_things(out);
    make_cells(out);
    put_colours(out);
    out->slope = grain_slopes();
    out->window = memory_need(1, sizeof *out->window), out->ground = memory_need(1, sizeof *out->ground);
    texture_make(out->window, out->slope, &scene->window);
    texture_make(out->ground, out->slope, &scene->ground);
}

void look_free(struct look *look) {
    memory_free(look->cell), memory_free(look->block);
    memory_free(look->window), memory_free(look->ground);
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
