/* A plane seen by a camera without distortion: x' = (h0 x + h1 y + h2) / (h6 x + h7 y + h8), y' likewise with
 * h3, h4, h5 (Hartley & Zisserman, Multiple View Geometry, 2nd ed., 4.1). Points are in whatever units the
 * caller has: millimetres of the card on one side, pixels on the other, a pixel's origin being its corner. */
#ifndef RUSSET_SURFACE_HOMOGRAPHY_H
#define RUSSET_SURFACE_HOMOGRAPHY_H

#include "base/status.h"
#include <stdbool.h>
#include <stddef.h>

struct point {
    double x, y;
};

struct homography {
    double h[9];
};

enum { HOMOGRAPHY_POINTS_MOST = 128 };

/* Least squares of the distances on the `to` side: the linear solution of normalised points (4.4.4), then
 * Gauss-Newton. 4 <= count <= HOMOGRAPHY_POINTS_MOST. False when the points do not fix a plane (three on a
 * line, two the same). */
bool homography_fit(const struct point from[], const struct point to[], size_t count,
                    struct homography *out) MUST_USE;
struct point homography_apply(const struct homography *homography, struct point at);
/* d(to)/d(from) at a point: [0] is d x'/dx, d x'/dy; [1] the same of y'. */
void homography_slope(const struct homography *homography, struct point at, double slope[2][2]);
/* False when there is none. */
bool homography_inverse(const struct homography *homography, struct homography *out) MUST_USE;

#endif
