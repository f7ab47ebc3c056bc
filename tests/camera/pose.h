/* From the card to the picture and back: a pinhole with radial distortion. */
#ifndef RUSSET_TESTS_CAMERA_POSE_H
#define RUSSET_TESTS_CAMERA_POSE_H

#include "camera/render.h"

struct pose {
    double to_card[9]; /* ideal picture point to millimetres, homogeneous */
    double to_picture[9];
    double centre[2], corner_px; /* of the distortion; half of the picture's diagonal */
    double distortion;
};
void pose_make(struct pose *out, const struct scene *scene);
void pose_card(const struct pose *pose, double x_px, double y_px, double mm[2]);
void pose_picture(const struct pose *pose, const double mm[2], double px[2]);

#endif
