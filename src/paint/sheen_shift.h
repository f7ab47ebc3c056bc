/* What a new sheen does to a colour: the same film under two sheens, through the shop's own surface constants
 * (paint/surface.h). A dark colour read sce or 45/0 changes most: a matt surface gives part of its outer
 * reflection back to the reading, and the matting clouds it. */
#ifndef RUSSET_PAINT_SHEEN_SHIFT_H
#define RUSSET_PAINT_SHEEN_SHIFT_H

#include "paint/predict.h"

struct sheen_shift {
    struct lab from, to; /* D65/10 */
    double de00;
    struct spectrum reflectance; /* under the new sheen */
};

/* Of a mix in this film case (its sheen_gu is not looked at); gu at 60 degrees. */
struct sheen_shift sheen_shift_of_mix(const struct shelf *shelf, const double part[],
                                      const struct film_case *film, double from_gu, double to_gu);
/* Of a surface that was read under from_gu. */
struct sheen_shift sheen_shift_of_reading(const struct shelf *shelf, const struct spectrum *reflectance,
                                          enum geometry geometry, double from_gu, double to_gu);

#endif
