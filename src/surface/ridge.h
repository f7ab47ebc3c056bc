/* Lines in a picture: slopes on both flanks, long Gaussians along.
 *
 *     slope(theta) = sigma_u * G_v(sigma_v) * d/du G(sigma_u) * I,   u across, v along, sigma_v = 4 sigma_u
 *     dark line: min(slope(u + a), -slope(u - a)), light line: min(-slope(u + a), slope(u - a)), a = 4/3
 * sigma_u
 *
 * the largest of 16 directions; sigma_u of 1.5, 2.5 and 4.5 cells. The flank that rises less counts (Koller,
 * Gerig, Szekely & Dettwiler 1995, ICCV, 864): the edge of a patch of another colour has one flank only, and
 * gives nothing, however strong it is; so do the sides of a line, and the inner edges of a wide one.
 *
 * The long Gaussian is split in a round one of sigma_u (separable, once for all directions) and one along v
 * of sqrt(15) sigma_u, which is read at points 4/3 sigma_u apart: the round one has left nothing there that
 * could alias (under 1 %).
 */
#ifndef RUSSET_SURFACE_RIDGE_H
#define RUSSET_SURFACE_RIDGE_H

#include "base/work.h"
#include <stdint.h>

enum { RIDGE_SCALES = 3, RIDGE_DIRECTIONS = 16, RIDGE_FLAT_RADIUS = 24 };
extern const double ridge_sigma[RIDGE_SCALES];

/* (v - local mean) / local sd over a square of 2 radius + 1 cells, of the cells inside; 0 elsewhere. The sd
 * is held over half its median, so that a flawless place is not blown up into noise. */
void ridge_flatten(const float *v, const uint8_t *inside, int width, int height, int radius,
                   struct work *work, float *out);
/* The mean alone; where nothing is inside it is 0. */
void ridge_local_mean(const float *v, const uint8_t *inside, int width, int height, int radius,
                      struct work *work, float *out);

struct ridge_planes {
    bool mean; /* the mean of both flanks instead of the lesser: for ground that is all edges */
    float *dark[RIDGE_SCALES], *light[RIDGE_SCALES]; /* largest response over the directions, 0 or more */
    uint8_t *along_dark, *along_light; /* direction of the larger scale's best: the line runs at k pi / 16 */
};
/* The picture is continued by its border. */
void ridge_filter(const float *plane, int width, int height, struct work *work, struct ridge_planes *out);
/* The same without AVX2: bit for bit, as a test shows. */
void ridge_filter_plainly(const float *plane, int width, int height, struct work *work,
                          struct ridge_planes *out);

#endif
