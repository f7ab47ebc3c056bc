/* Grey-scale ratings by instrument: change in colour (ISO 105-A05) and staining (ISO 105-A04), from CIELAB
 * D65/10. The real value is the formula's, 1..5; the class is the step of the scale it falls into: "5",
 * "4-5", ... "1". */
#ifndef RUSSET_COLOUR_GREY_SCALE_H
#define RUSSET_COLOUR_GREY_SCALE_H

#include "colour/lab.h"

struct grey_rating {
    double difference; /* dEF of A05, dEGS of A04 */
    double grade;      /* 1..5, 5 is no change */
    const char *class_name;
};

struct grey_rating grey_scale_change(struct lab reference, struct lab sample);
struct grey_rating grey_scale_staining(struct lab unstained, struct lab stained);

#endif
