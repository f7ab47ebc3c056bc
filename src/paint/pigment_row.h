/* A row of the table of measured pigments, as make_pigments writes it. */
#ifndef RUSSET_PAINT_PIGMENT_ROW_H
#define RUSSET_PAINT_PIGMENT_ROW_H

#include "colour/spectrum.h"

struct pigment_row {
    const char *name, *index;  /* of the table; Colour Index name */
    double k[BANDS], s[BANDS]; /* relative: white's S is 1 */
};
extern const struct pigment_row pigment_rows[];
extern const int pigment_row_count;

#endif
