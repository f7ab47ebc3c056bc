/* The card that photographs are taken with: where its tags, patches, places and window are, and what is known
 * of their colour.
 *
 * Millimetres; origin at the card's top left, x to the right, y down. Tag corners are the outer corners of
 * the black square, from top left, clockwise. A card is data: the own card, a bought chart in a frame, the
 * sheet of the first day and any other chart are all this struct. It is large: keep it in an arena. */
#ifndef RUSSET_SURFACE_PHOTO_CARD_H
#define RUSSET_SURFACE_PHOTO_CARD_H

#include "colour/lab.h"

enum { CARD_TAGS_MOST = 16, CARD_PATCHES_MOST = 240, CARD_PLACES_MOST = 160, CARD_PARTS_MOST = 8 };
enum { CARD_ID_MAX = 64, CARD_SIDE_MOST_MM = 1200, CARD_TAG_LAST = 586 /* tag36h11 has ids 0..586 */ };

enum patch_role { PATCH_NEUTRAL, PATCH_COLOUR, PATCH_BLACK_TRAP, PATCH_ROLE_COUNT };
const char *patch_role_name(enum patch_role role); /* "neutral", "colour", "black-trap" */
bool patch_role_from_name(const char *name, enum patch_role *out);

/* KNOWN_NOT: a patch of an own card that nobody has measured yet; it cannot serve the fit of a camera. */
enum patch_known { KNOWN_NOT, KNOWN_LAB, KNOWN_SPECTRUM };

struct photo_tag {
    int id;                 /* of the family tag36h11 */
    double corner_mm[4][2]; /* outer corners of the black square, from top left, clockwise */
};

struct photo_patch {
    char id[CARD_ID_MAX];
    double center_mm[2], size_mm; /* a square */
    enum patch_role role;
    enum patch_known known;
    struct spectrum reflectance; /* when KNOWN_SPECTRUM */
    struct lab lab;              /* D65/10 of the spectrum, or as given; set unless KNOWN_NOT */
    double lab_sd;               /* how far off the value may be, dE; 0: as a measured one (about .3) */
};

/* Where a colour is to be read from one photograph, beside the window: a dab of the sheet of the first day.
 */
struct photo_place {
    char id[CARD_ID_MAX];
    double center_mm[2], size_mm;
    char dab[CARD_ID_MAX];  /* places of one dab share its film; "" for a bare place */
    char over[CARD_ID_MAX]; /* id of the bare place that it lies over; "" for a bare place */
    int parts;              /* what was mixed, by weight; 0 for a bare place */
    struct {
        char toner[48];
        double g;
    } part[CARD_PARTS_MOST];
};

struct photo_card {
    char name[CARD_ID_MAX]; /* "own", "frame", "start", or what the chart is called */
    double size_mm[2];
    int tags, patches, places;
    struct photo_tag tag[CARD_TAGS_MOST];
    struct photo_patch patch[CARD_PATCHES_MOST];
    struct photo_place place[CARD_PLACES_MOST];
    double surround_y; /* reflectance factor Y of the grey ground, 0..1; 0: there is none to lean on */
    bool has_window;
    double window_center_mm[2], window_mm; /* a square hole that the leather is seen through */
};

/* A square tag, upright, its top left corner at x, y. */
struct photo_tag photo_tag_at(int id, double x_mm, double y_mm, double side_mm);

/* The own card, 120 x 90 mm: tags of 16 mm in the corners (ids 0..3), a window of 26 mm in the middle, 24
 * patches of 9 mm (7 neutrals "n1".."n7", light to dark, spread over the card, and 17 colours "c1".."c17")
 * and a black trap "trap". Values are KNOWN_NOT. */
void photo_card_own(struct photo_card *out);

/* The classic chart of 24 patches (chart24.h), 6 x 4 by rows, their centres pitch_mm apart, ids
 * "1".."24", the last row neutral: no tags, its size_mm is what shows through a frame. */
void photo_card_chart24(double pitch_mm, struct photo_card *out);
/* A chart without tags in a frame: tags of 16 mm in the corners (ids 4..7), the chart through a hole in the
 * grey at PHOTO_FRAME_EDGE_MM from left and top, a window of 26 mm under it. */
#define PHOTO_FRAME_EDGE_MM 24.0
void photo_card_frame(const struct photo_card *chart, struct photo_card *out);

/* The sheet of the first day, 180 x 250 mm: tags of 20 mm (ids 8..11), a window of 26 mm in the middle, bare
 * paper (patches whose value is only roughly known, lab_sd), and for each toner two dabs
 * (as it is, and 1 part in 10 with white), each half over printed black, half over paper: places
 * "<toner>.black", "<toner>.white", "<toner>.10.black", "<toner>.10.white", and the bare places "bare-black"
 * and "bare-white". white: index of the toner that lets down, or -1: only the toners as they are. False when
 * there are more than START_TONERS_MOST. */
enum { START_TONERS_MOST = 16 };
bool photo_card_start(const char (*toner)[48], int toners, int white, struct photo_card *out);

/* Index of the patch or place, or -1. */
int photo_card_patch(const struct photo_card *card, const char *id);
int photo_card_place(const struct photo_card *card, const char *id);

#endif
