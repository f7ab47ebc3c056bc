/* The light over the card, from its grey ground: ln F = quadratic in x and y, one per channel. */
#ifndef RUSSET_SURFACE_CAMERA_FLAT_H
#define RUSSET_SURFACE_CAMERA_FLAT_H

#include <stdbool.h>
#include <stddef.h>

enum { FLAT_TERMS = 6, FLAT_FEWEST = 12 };

struct camera_flat {
    double origin_mm[2], scale_mm; /* x, y are told from the middle in halves of the longer side */
    double low[2], high[2];        /* the part of the card that it was seen on, in those units */
    double term[3][FLAT_TERMS];    /* of ln F: 1 x y xx xy yy; the constant is set by the caller */
    double sd[3];                  /* robust scatter of the ground about it */
};

/* No light falls off: F = 1 everywhere on a card of that size. */
void flat_none(const double size_mm[2], struct camera_flat *out);
/* light[i][c] > 0 of the ground at mm[i]. Robust (Tukey's biweight): print and dirt on the ground do not
 * count. False when there are fewer than FLAT_FEWEST places, then *out is flat_none. */
bool flat_fit(const double (*mm)[2], const double (*light)[3], size_t count, const double size_mm[2],
              struct camera_flat *out);
/* F of a channel at a place of the card; beyond the ground that was seen it is held. */
double flat_at(const struct camera_flat *flat, int channel, const double mm[2]);

#endif
