/* How sure a colour from a solved shot is (part of surface/camera; nobody else needs it). */
#ifndef RUSSET_SURFACE_CAMERA_DOUBT_H
#define RUSSET_SURFACE_CAMERA_DOUBT_H

#include "surface/camera_solve.h"

/* Covariance of one colour: what the map misses near it (k^2 loo^2, alike in all directions of CIEDE2000),
 * what the patches leave open, what shine may add. */
void doubt_colour(const struct camera_task *task, const struct camera_solved *solved, const double light[],
                  struct lab lab, double cov[3][3]);
/* Adds what the spot's own grain may have darkened it by. */
void doubt_grain(const struct camera_sample *spot, struct lab lab, double cov[3][3]);
/* What is the colour's own beside the common errors, where the camera's eye is fitted with the films. */
void doubt_own(const struct camera_task *task, const struct camera_solved *solved, const double light[],
               struct lab lab, double own[3][3]);
/* What all colours of this shot are off by alike, see struct camera_colour. */
void doubt_common(const struct camera_solved *solved, const double light[], double common[CAMERA_COMMON][3]);
/* Of b minus a in one photograph: the misses are common when both are of the same pigments. */
void doubt_difference(const struct camera_task *task, const struct camera_solved *solved, const double a[],
                      const double b[], bool same_pigments, double cov[3][3]);
/* Half width that holds 95 % of |dE00| about the colour. */
double doubt_u95(struct lab lab, double cov[3][3]);

#endif
