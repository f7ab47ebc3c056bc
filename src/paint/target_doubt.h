/* How far off an estimated target may be under any light: a photograph gives Lab under D65/10 with a
 * covariance, and a reflectance with a band. */
#ifndef RUSSET_PAINT_TARGET_DOUBT_H
#define RUSSET_PAINT_TARGET_DOUBT_H

#include "colour/reading.h"

/* Covariance of the target's Lab under the light: lab_cov itself for D65/10, and for every light when the
 * reading has no band. False when the reading says nothing about it. */
bool target_doubt(const struct reading *target, const struct weights *light, double cov[3][3]);

#endif
