/* Photometric stereo with a hand-held torch: several photographs of one place, each lit from elsewhere,
 * become slopes, and slopes a relief.
 *
 *     shade_i = a n.l_i, each picture divided by its own second-order fit and multiplied by the l_z of its
 * torch: the torch's power, its fall-off and the lens's dark corners go in one step per pixel: the brightest
 * 40 % (gloss) of six lights or more and the shadows are dropped, then weighted least squares for a n
 * (Woodham 1980); slopes p = -n_x/n_z, q = -n_y/n_z relief by Frankot and Chellappa 1988 on the mirrored
 * field: z has cosines only, p sines across, q sines down
 *
 * x to the right, y down, z towards the camera; azimuth counter-clockwise from the right as one looks at the
 * picture. Valid for matt to moderately glossy grain with slopes under about 1; cast shadows break it for
 * torches lower than 20 degrees. Absolute height of long waves (over a third of the field) is not to be
 * trusted. */
#ifndef RUSSET_SURFACE_STEREO_H
#define RUSSET_SURFACE_STEREO_H

#include "base/work.h"
#include "surface/areal.h"

enum { STEREO_LEAST = 3, STEREO_MOST = 16, STEREO_TRIM_FROM = 6 };

struct stereo_light {
    double azimuth_deg, elevation_deg;
    double distance_mm; /* torch to the middle of the picture; 0: far away */
};

struct stereo_task {
    int width, height, lights;
    double step_mm;
    double off_x, off_y; /* the middle of this field from what the torches stand around, in pixels */
    const float *shade[STEREO_MOST]; /* after stereo_normalise; INFINITY: burnt out */
    struct stereo_light light[STEREO_MOST];
};

/* Divides a picture by its own fit of second order (burnt pixels and the brightest are left out of the fit).
 * False when there is no light in it. */
bool stereo_normalise(float *shade, int width, int height) __attribute__((warn_unused_result));

/* What the pixels agree to: shares of all pixel values. */
struct stereo_quality {
    double dropped;  /* left out as gloss or shadow beyond the standing 40 % */
    double residual; /* root mean square of what the fit leaves, relative to the shade */
};
/* p and q of every pixel (width * height each). */
void stereo_slopes(const struct stereo_task *task, struct work *work, double *p, double *q,
                   struct stereo_quality *quality);
/* The relief of slopes p and q, its mean 0; p and q are used up. */
void stereo_integrate(double *p, double *q, struct relief *out);

/* What the other pictures say about one (four lights or more), by cross-correlation over the middle of the
 * field: how far it lies off, in pixels, and how well it fits there and in place (-1..1). */
struct stereo_shift {
    double dx, dy, best, in_place;
};
void stereo_find_shift(const struct stereo_task *task, int which, struct stereo_shift *out);
/* How much fine detail a picture has against coarser detail; blur halves it and more. */
double stereo_sharpness(const float *shade, int width, int height);

/* One pixel: a n of the lights that are kept; leave_out -1: none. Returns how many were kept. For the checks.
 */
int stereo_pixel(const struct stereo_task *task, int x, int y, int leave_out, double an[3], double *residual);
/* The unit vector from pixel (x, y) to the torch. */
void stereo_direction(const struct stereo_task *task, int which, int x, int y, double out[3]);

#endif
