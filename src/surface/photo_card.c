/* Built-in cards. The layouts are ours. What they must give:
 *
 *     tags        the black square with a white border of one module around it (the family needs it)
 *     patches     grey of at least 3 mm on every side: the surround is the flat field of the photograph
 *     neutrals    spread over the card, so that a gradient of light is not taken for a tone curve
 *     window      in the middle, where the lens is best and the gradient smallest */
#include "surface/photo_card.h"
#include "surface/chart24.h"
#include <stdio.h>
#include <string.h>

static const char *const role_name[PATCH_ROLE_COUNT] = {"neutral", "colour", "black-trap"};

const char *patch_role_name(enum patch_role role) {
    return role_name[role];
}

bool patch_role_from_name(const char *name, enum patch_role *out) {
    for (int i = 0; i < PATCH_ROLE_COUNT; i++) {
        if (strcmp(name, role_name[i]) != 0) continue;
        *out = (enum patch_role)i;
        return true;
    }
    return false;
}

int photo_card_patch(const struct photo_card *card, const char *id) {
    for (int i = 0; i < card->patches; i++)
        if (strcmp(card->patch[i].id, id) == 0) return i;
    return -1;
}

int photo_card_place(const struct photo_card *card, const char *id) {
    for (int i = 0; i < card->places; i++)
        if (strcmp(card->place[i].id, id) == 0) return i;
    return -1;
}

struct photo_tag photo_tag_at(int id, double x, double y, double side) {
    return (struct photo_tag){.id = id,
                              .corner_mm = {{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}};
}

/* Four tags in the corners, their black squares edge_mm inside the card. */
static void add_corner_tags(struct photo_card *card, int first_id, double side, double edge) {
    const double right = card->size_mm[0] - edge - side, low = card->size_mm[1] - edge - side;
    card->tag[card->tags++] = photo_tag_at(first_id, edge, edge, side);
    card->tag[card->tags++] = photo_tag_at(first_id + 1, right, edge, side);
    card->tag[card->tags++] = photo_tag_at(first_id + 2, right, low, side);
    card->tag[card->tags++] = photo_tag_at(first_id + 3, edge, low, side);
}

static struct photo_patch *add_patch(struct photo_card *card, const char *id, double x, double y, double size,
                                     enum patch_role role) {
    struct photo_patch *patch = &card->patch[card->patches++];
    *patch = (struct photo_patch){.center_mm = {x, y}, .size_mm = size, .role = role};
    snprintf(patch->id, sizeof patch->id, "%s", id);
    return patch;
}

static void start_card(struct photo_card *card, const char *name, double width, double height) {
    memset(card, 0, sizeof *card);
    snprintf(card->name, sizeof card->name, "%s", name);
    card->size_mm[0] = width, card->size_mm[1] = height;
    card->surround_y = .18;
    card->has_window = true;
    card->window_mm = 26;
}

/* ---- the own card ---- */

/* Two rows of six over the window, two under it; the neutrals (n) stand apart from each other. */
static const char own_layout[4][6] = {{'n', 'c', 'c', 'n', 'c', 'c'},
                                      {'c', 'c', 'n', 'c', 'c', 'n'},
                                      {'n', 'c', 'c', 'c', 'n', 'c'},
                                      {'c', 'c', 'c', 'n', 'c', 'c'}};
/* Light and dark neutrals alternate from place to place. */
static const int own_neutral[7] = {1, 5, 3, 6, 4, 2, 7};

void photo_card_own(struct photo_card *card) {
    static const double x0 = 30, pitch = 12, row_mm[4] = {9, 21, 69, 81};
    start_card(card, "own", 120, 90);
    add_corner_tags(card, 0, 16, 3);
    card->window_center_mm[0] = 60, card->window_center_mm[1] = 45;
    int neutrals = 0, colours = 0;
    for (int r = 0; r < 4; r++)
        for (int c = 0; c < 6; c++) {
            char id[16];
            const bool neutral = own_layout[r][c] == 'n';
            snprintf(id, sizeof id, "%c%d", own_layout[r][c], neutral ? own_neutral[neutrals++] : ++colours);
            add_patch(card, id, x0 + pitch * c, row_mm[r], 9, neutral ? PATCH_NEUTRAL : PATCH_COLOUR);
        }
    add_patch(card, "trap", 30, 45, 9, PATCH_BLACK_TRAP);
}

/* ---- a chart and its frame ---- */

static const double chart_lip = 1.5;        /* beyond the outermost patches */
static const double chart_patch_share = .6; /* of a pitch: what is surely inside a patch's edges */

void photo_card_chart24(double pitch, struct photo_card *card) {
    start_card(card, "chart", 6 * pitch + 2 * chart_lip, 4 * pitch + 2 * chart_lip);
    card->has_window = false;
    card->surround_y = 0;
    for (int i = 0; i < CHART24_PATCHES; i++) {
        char id[16];
        snprintf(id, sizeof id, "%d", i + 1);
        struct photo_patch *patch =
            add_patch(card, id, chart_lip + pitch * (i % 6 + .5), chart_lip + pitch * (i / 6 + .5),
                      chart_patch_share * pitch, i >= 18 ? PATCH_NEUTRAL : PATCH_COLOUR);
        chart24_reflectance(i, &patch->reflectance);
        patch->known = KNOWN_SPECTRUM;
        patch->lab = lab_of_spectrum(&patch->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
        patch->lab_sd = CHART24_LAB_SD;
    }
}

void photo_card_frame(const struct photo_card *chart, struct photo_card *card) {
    const double edge = PHOTO_FRAME_EDGE_MM, window = 26, gap = 8;
    const double inner = chart->size_mm[0] > 30 ? chart->size_mm[0] : 30; /* the window needs its width too */
    start_card(card, "frame", inner + 2 * edge, chart->size_mm[1] + 2 * edge + window + gap);
    add_corner_tags(card, 4, 16, 3);
    card->window_center_mm[0] = card->size_mm[0] / 2;
    card->window_center_mm[1] = edge + chart->size_mm[1] + gap + window / 2;
    for (int i = 0; i < chart->patches; i++) {
        struct photo_patch *patch = &card->patch[card->patches++];
        *patch = chart->patch[i];
        for (int k = 0; k < 2; k++) patch->center_mm[k] += edge;
    }
}

/* ---- the sheet of the first day ---- */

/* Two toners a row, four rows over the window and four under it. A dab is 24 x 12 mm, its left half on
 * printed black, its right half on bare paper. */
static const double dab_half = 12, dab_read = 7, dab_gap = 4, row_pitch = 20;
static const double row_first[2] = {44, 152}, column_left[2] = {18, 110};
/* Paper, as far as anybody knows beforehand (common practice: office paper). Printed black may return 2 to 12
 * per cent: it tells nothing, but is read as what the dabs lie over. */
static const struct lab paper = {95.5, 0, -2, {LIGHT_D65, OBSERVER_10}};
static const double paper_sd = 3;

static struct photo_place *add_place(struct photo_card *card, const char *id, double x, double y) {
    struct photo_place *place = &card->place[card->places++];
    *place = (struct photo_place){.center_mm = {x, y}, .size_mm = dab_read};
    snprintf(place->id, sizeof place->id, "%s", id);
    return place;
}

static void add_part(struct photo_place *place, const char *toner, double g) {
    snprintf(place->part[place->parts].toner, sizeof place->part[0].toner, "%s", toner);
    place->part[place->parts++].g = g;
}

/* One dab: its place over black with its middle at x, y, the one over white to the right of it. */
static void add_dab(struct photo_card *card, const char *toner, const char *white, double x, double y) {
    static const char *const over[2] = {"black", "white"};
    for (int i = 0; i < 2; i++) {
        char id[CARD_ID_MAX];
        snprintf(id, sizeof id, "%s%s.%s", toner, white ? ".10" : "", over[i]);
        struct photo_place *place = add_place(card, id, x + dab_half * i, y);
        snprintf(place->dab, sizeof place->dab, "%s%s", toner, white ? ".10" : "");
        snprintf(place->over, sizeof place->over, "bare-%s", over[i]);
        add_part(place, toner, 1);
        if (white) add_part(place, white, 9);
    }
}

/* Bare paper is the one grey that is roughly known; bare paper and bare ink are what the dabs lie over. */
static void add_bare(struct photo_card *card) {
    static const double at_mm[4][2] = {{42, 14}, {138, 14}, {42, 236}, {138, 236}};
    for (int i = 0; i < 4; i++) {
        char id[CARD_ID_MAX];
        snprintf(id, sizeof id, "paper%d", i + 1);
        struct photo_patch *patch = add_patch(card, id, at_mm[i][0], at_mm[i][1], 8, PATCH_NEUTRAL);
        patch->known = KNOWN_LAB;
        patch->lab = paper;
        patch->lab_sd = paper_sd;
    }
    add_place(card, "bare-black", 54, 125);
    add_place(card, "bare-white", 126, 125);
}

bool photo_card_start(const char (*toner)[48], int toners, int white, struct photo_card *card) {
    if (toners > START_TONERS_MOST) return false;
    start_card(card, "start", 180, 250);
    add_corner_tags(card, 8, 20, 4);
    card->window_center_mm[0] = 90, card->window_center_mm[1] = 125;
    add_bare(card);
    for (int i = 0; i < toners; i++) {
        const int row = i / 2;
        const double x = column_left[i % 2], y = row_first[row / 4] + row_pitch * (row % 4);
        add_dab(card, toner[i], NULL, x, y);
        if (i != white && white >= 0) add_dab(card, toner[i], toner[white], x + 2 * dab_half + dab_gap, y);
    }
    return true;
}
