/* Lights and observers at 1 nm, 360..830 nm: what the weights are folded from, and what a measured lamp is
 * held against. */
#ifndef RUSSET_COLOUR_ONE_NM_H
#define RUSSET_COLOUR_ONE_NM_H

#include "colour/lab.h"

enum { ONE_NM_FIRST = 360, ONE_NM_LAST = 830, ONE_NM_COUNT = ONE_NM_LAST - ONE_NM_FIRST + 1 };

struct one_nm {
    double value[ONE_NM_COUNT];
};

struct one_nm_observer {
    struct one_nm x, y, z;
};

/* Relative power of a built-in light. A by its formula (CIE 15:2018: 2848 K, c2 = .01435), the others linear
 * between the published 5 nm values, the end values held where a table ends inside 360..830 (CIE 15:2018:
 * what was not measured may be taken as the nearest measured value). */
void one_nm_light(enum light light, struct one_nm *out);
/* A measured lamp: likewise linear between its points with its ends held. The grid must be valid
 * (weights_of_lamp checks). */
void one_nm_lamp(const struct sampled *lamp, struct one_nm *out);
/* The CIE's 1 nm colour-matching functions as published. */
void one_nm_observer(enum observer observer, struct one_nm_observer *out);

/* Folds a light, an observer and the Sprague interpolation of 31 bands into 3 x 31 weights; Y of the perfect
 * diffuser is 100. */
void one_nm_fold(const struct one_nm *light, struct view view, struct weights *out);

#endif
