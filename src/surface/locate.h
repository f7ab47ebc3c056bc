/* Where the card lies in a photograph: tags (family 36h11) -> homography from the card's millimetres to
 * pixels, and the lens' radial distortion. A pixel's origin is its corner: pixel (0, 0) covers 0..1 and its
 * centre is (.5, .5).
 *
 * The tags are found on a reduced picture and their four edges are measured again on the whole one, on the
 * linear green channel: there the middle between black and white is where the edge is (on display values it
 * lies .9 px off). Two whole tags suffice; a tag that touches the border, is covered or does not lie where
 * the card says is left out and told. */
#ifndef RUSSET_SURFACE_LOCATE_H
#define RUSSET_SURFACE_LOCATE_H

#include "surface/homography.h"
#include "surface/photo_card.h"
#include "surface/picture.h"

enum tag_fate { TAG_USED, TAG_AT_BORDER, TAG_COVERED, TAG_MISPLACED, TAG_OF_NO_CARD };

struct located_tag {
    int id;
    struct point corner[4]; /* pixels, from the tag's top left, clockwise */
    enum tag_fate fate;
};

enum { LOCATED_MOST = 32 };

struct located {
    struct homography plane;        /* card mm -> pixels of a lens without distortion */
    struct homography plane_back;   /* and back */
    double bend;                    /* ideal radius = radius (1 + bend radius^2) about the picture's middle */
    double middle_px[2], radius_px; /* radius 1 is the picture's corner */
    bool by_hand;                   /* from --corners: no tag was used */
    int tags, tags_used;
    struct located_tag tag[LOCATED_MOST];
    double rms_px;    /* of the used tags' corners against the homography */
    double edge_mm;   /* width of a tag's edge from 10 to 90 %, median; NAN by hand */
    double share;     /* longer side of the card over the longer side of the photograph */
    double px_per_mm; /* at the middle of the card */
};

struct point located_to_pixel(const struct located *located, struct point mm);
struct point located_to_card(const struct located *located, struct point px);

/* INPUT: fewer than two whole tags, tags that disagree, blurred, a card under a third of the frame. */
enum status locate_card(const struct picture *picture, const struct photo_card *card, struct located *out,
                        struct fault *fault) MUST_USE;
/* The card's own corners by hand: from its top left, clockwise, in pixels. INPUT when they make no card. */
enum status locate_by_corners(const struct picture *picture, const struct photo_card *card,
                              const struct point corner[4], struct located *out,
                              struct fault *fault) MUST_USE;

#endif
