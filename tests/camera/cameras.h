/* Twenty cameras and five lamps of the photo room. What is tested never sees these curves. See cameras.c for
 * where their shapes come from. */
#ifndef RUSSET_TESTS_CAMERA_CAMERAS_H
#define RUSSET_TESTS_CAMERA_CAMERAS_H

#include "colour/spectrum.h"

enum { CAMERAS = 20, CAMERA_FIRST_NM = 380, CAMERA_LAST_NM = 730, CAMERA_NMS = 351 };
enum lamp { LAMP_D65, LAMP_SHADE, LAMP_A, LAMP_FL11, LAMP_LED_B3, LAMPS };

struct sensitivities {
    double channel[3][CAMERA_NMS]; /* red, green, blue, each 1 at its peak; by 1 nm from CAMERA_FIRST_NM */
};
void sensitivities_make(struct sensitivities *out, int camera);

/* A camera under a lamp, folded to bands (linear between bands, what lies outside 400..700 nm to the end
 * bands). */
struct response {
    double band[3][BANDS]; /* white-balanced: each channel sums to 1 */
    double gain[3];        /* of the white balance, green 1: what a channel's signal was multiplied by */
    double matrix[3][3];   /* the camera's own, white-balanced raw to linear sRGB; rows sum to 1 */
    bool small;            /* a phone's sensor: few electrons */
};
void response_make(struct response *out, int camera, enum lamp lamp);
const char *lamp_name(enum lamp lamp);

/* White-balanced raw of a reflectance; the perfect diffuser is 1, 1, 1. */
void response_of(const struct response *response, const struct spectrum *reflectance, double out[3]);

#endif
