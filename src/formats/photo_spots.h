/* The places of a photographed sheet, as `russet photo colour` answers them: kind `reading`, "spots": [{"id",
 * "dab", "over", "parts_g", "lab", "lab_cov"}]. */
#ifndef RUSSET_FORMATS_PHOTO_SPOTS_H
#define RUSSET_FORMATS_PHOTO_SPOTS_H

#include "formats/card_json.h"

struct photo_spot {
    struct photo_place place; /* id, dab, over and parts; its geometry is not known here */
    struct lab lab;           /* D65, 10 degrees */
    double cov[3][3];
};

/* Is it JSON of kind reading with spots? */
bool photo_spots_are_here(const struct bytes *bytes);
/* *out is the arena's. INPUT with the path of every wrong field; a dab over a place that is not among them.
 */
enum status photo_spots_read(const struct bytes *bytes, struct arena *arena, struct photo_spot **out,
                             size_t *count, struct fault *fault) MUST_USE;

#endif
