/* The places of a photographed sheet, as `russet photo colour` answers them: kind `reading`, "spots": [{"id",
 * "dab", "over", "parts_g", "lab", "lab_cov",
 * "common": [[x, y, z]], "own_cov"}]. "common" may be missing: what errors that all spots share (each of sd
 * 1) add to the XYZ; lab_cov holds them. "own_cov" too: what is the spot's own beside them when the camera's
 * eye is fitted with the films; missing: lab_cov less what is shared. */
#ifndef RUSSET_FORMATS_PHOTO_SPOTS_H
#define RUSSET_FORMATS_PHOTO_SPOTS_H

#include "formats/card_json.h"

enum { SPOT_COMMON = 12 };

struct photo_spot {
    struct photo_place place; /* id, dab, over and parts; its geometry is not known here */
    struct lab lab;           /* D65, 10 degrees */
    double cov[3][3];
    double common[SPOT_COMMON][3];
    bool eye; /* own is told */
    double own[3][3];
};

/* What a dab of this colour that the shelf misses by so much may be off by, as a patch of a card: strong
 * colours more, because no map of a camera's three channels shows them all. */
double photo_dab_sd(struct lab lab, double miss_de00);

/* The part of the covariance that is the spot's own. */
void photo_spot_own(const struct photo_spot *spot, double cov[3][3]);

/* Is it JSON of kind reading with spots? */
bool photo_spots_are_here(const struct bytes *bytes);
/* Is it JSON of kind toners whose fit tells the colour of each film? */
bool shelf_spots_are_here(const struct bytes *bytes);
/* Those films as spots: id, Lab, and as sd what the film misses the fit by (at least .8). */
enum status shelf_spots_read(const struct bytes *bytes, struct arena *arena, struct photo_spot **out,
                             size_t *count, struct fault *fault) MUST_USE;
/* *out is the arena's. INPUT with the path of every wrong field; a dab over a place that is not among them.
 */
enum status photo_spots_read(const struct bytes *bytes, struct arena *arena, struct photo_spot **out,
                             size_t *count, struct fault *fault) MUST_USE;

#endif
