/* The inside of a plate. */
#ifndef RUSSET_TESTS_CAMERA_PLATE_H
#define RUSSET_TESTS_CAMERA_PLATE_H

#include "camera/look.h"
#include "camera/pose.h"

struct plate {
    struct scene scene;
    struct pose pose;
    struct look look; /* of scene */
    float *light;     /* white-balanced raw, the perfect diffuser 1 */
    double veil[3];
    int window_box[4]; /* x0, y0, x1, y1 of what plate_refill made anew */
};

/* Lamp and lens: how bright a perfect diffuser is at pixel x, y, which sees the card at mm. */
double plate_level(const struct scene *scene, const struct pose *pose, double x, double y,
                   const double mm[2]);

#endif
