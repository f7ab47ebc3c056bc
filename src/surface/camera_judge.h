/* What makes a photograph useless (part of surface/camera; nobody else needs it). */
#ifndef RUSSET_SURFACE_CAMERA_JUDGE_H
#define RUSSET_SURFACE_CAMERA_JUDGE_H

#include "surface/camera_solve.h"

/* Before anything is solved: burnt out, crushed. number: of the photograph, from 1. */
enum status judge_shot(const struct camera_shot *shot, const struct photo_card *card, int number,
                       struct fault *fault) MUST_USE;
/* Which patches are covered or dirty, by their leave-one-out error: cleared in use[]. Returns how many. */
int judge_patches(const struct camera_solved *solved, const struct photo_card *card, bool use[]);
/* After: uneven light, the wrong card. */
enum status judge_solved(const struct camera_solved *solved, int number, struct fault *fault) MUST_USE;

#endif
