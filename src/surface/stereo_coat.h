/* What all torches are off in common, from the coat itself; see stereo_coat.c. */
#ifndef RUSSET_SURFACE_STEREO_COAT_H
#define RUSSET_SURFACE_STEREO_COAT_H

#include "surface/stereo.h"

/* By how much the slopes that task->lean gives are to be multiplied (ln), and its standard error. False when
 * the pictures do not tell: fewer than six lights, no slope, colour that goes with the slope. */
bool stereo_coat_scale(const struct stereo_task *task, struct work *work, double *ln_scale, double *sd);

#endif
