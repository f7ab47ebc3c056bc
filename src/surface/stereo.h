/* Photometric stereo with a hand-held torch: several photographs of one place, each lit from elsewhere,
 * become slopes, and slopes a relief.
 *
 *     v_i = A (1 - p m_ix - q m_iy),   m_i = l_xy / l_z of torch i,   A = a n_z   (Lambert)
 *
 * v_i: the picture divided by its own second-order fit, so the torch's power, its fall-off and the lens's
 * dark corners go in one step. For each pixel the brightest 40 % (gloss) of six lights or more and the
 * shadows are dropped; the rest gives A, A p, A q by least squares (Woodham 1980), weighted by how far each
 * lies off. A near torch has m_i linear in the place. A flash beside the lens has m = 0, so two raking
 * torches and a flash will do. Slopes become a relief by Frankot and Chellappa 1988 on the mirrored field: z
 * has cosines only, p sines across, q sines down.
 *
 * x to the right, y down, z towards the camera; azimuth counter-clockwise from the right as one looks at the
 * picture. Valid for matt to moderately glossy grain with slopes under about 1; cast shadows break it for
 * torches lower than 20 degrees. Absolute height of long waves (over a third of the field) is not to be
 * trusted. Single precision: pictures have 8 to 14 bits. */
#ifndef RUSSET_SURFACE_STEREO_H
#define RUSSET_SURFACE_STEREO_H

#include "base/work.h"
#include "surface/areal.h"

enum { STEREO_LEAST = 3, STEREO_MOST = 16, STEREO_TRIM_FROM = 6 };

struct stereo_light {
    double azimuth_deg, elevation_deg; /* elevation 90: a flash beside the lens */
    double distance_mm;                /* torch to the middle of the picture; 0: far away */
};

/* m of pixel (0, 0), and what it loses with each pixel to the right or down (0: the torch is far away). */
struct stereo_lean {
    double x, y, a_pixel;
};

struct stereo_task {
    int width, height, lights;
    double step_mm;
    double off_x, off_y; /* the middle of this field from what the torches stand around, in pixels */
    const float *shade[STEREO_MOST]; /* after stereo_normalise; INFINITY: burnt out */
    struct stereo_light light[STEREO_MOST];
    struct stereo_lean lean[STEREO_MOST]; /* of the lights: stereo_stand */
};

/* Reckons task->lean from task->light; to be called before all that follows whenever a light was changed. */
void stereo_stand(struct stereo_task *task);
/* m of a torch at pixel (x, y). */
static inline double stereo_lean_x(const struct stereo_lean *lean, double x) {
    return lean->x - lean->a_pixel * x;
}
static inline double stereo_lean_y(const struct stereo_lean *lean, double y) {
    return lean->y - lean->a_pixel * y;
}

/* Divides a picture by its own fit of second order (burnt pixels and the brightest are left out of the fit).
 * False when there is no light in it. */
bool stereo_normalise(float *shade, int width, int height, struct work *work)
    __attribute__((warn_unused_result));

/* What the pixels agree to: shares of all pixel values. */
struct stereo_quality {
    double dropped;  /* left out as gloss or shadow beyond the standing 40 % */
    double residual; /* root mean square of what the fit leaves, relative to the shade */
};
/* p and q of every pixel (width * height each). */
void stereo_slopes(const struct stereo_task *task, struct work *work, float *p, float *q,
                   struct stereo_quality *quality);
/* The relief of slopes p and q through the S and L filters of areal.h (0: left out); p and q are used up. The
 * second-order surface is taken out of the slopes first. */
void stereo_integrate(float *p, float *q, double s_mm, double l_mm, struct work *work, struct relief *out);

/* Mends the torches' directions, told with sd_deg (root mean square of the angle), from the pictures: up to a
 * linear map of all m_i the pictures of a Lambert surface fix them, and of these maps only a common scale
 * leaves the slopes those of a surface (Belhumeur, Kriegman, Yuille 1999: the bas-relief ambiguity). The
 * scale is what the told directions say in the mean, and, by its certainty, what a coat of one colour says
 * (surface/stereo_coat.h). Returns the root mean square of the change in degrees, or a negative number when
 * the pictures did not bear it (fewer than five lights, flat, or farther than three sd): then nothing is
 * changed. *common: the standard error of all slopes together that remains, relative. */
double stereo_aim(struct stereo_task *task, double sd_deg, struct work *work, double *common);

/* What the other pictures say about one (four lights or more), by cross-correlation over the middle of the
 * field: how far it lies off, in pixels (parts of them too), and how well it fits there and in place (-1..1).
 */
struct stereo_shift {
    double dx, dy, best, in_place;
};
void stereo_find_shift(const struct stereo_task *task, int which, struct stereo_shift *out);
/* How much fine detail a picture has against coarser detail; blur halves it and more. */
double stereo_sharpness(const float *shade, int width, int height);

/* Up to STEREO_LANES pixels of a row from (x, y) on: A, p, q, and how many lights each kept. leave_out -1:
 * none. For the checks. */
enum { STEREO_LANES = 8 };
struct stereo_lanes {
    float a[STEREO_LANES], p[STEREO_LANES], q[STEREO_LANES], squares[STEREO_LANES], kept[STEREO_LANES];
};
void stereo_solve(const struct stereo_task *task, int x, int y, int leave_out, struct stereo_lanes *out);
/* The same without AVX2: bit for bit, as a test shows. */
void stereo_solve_plainly(const struct stereo_task *task, int x, int y, int leave_out,
                          struct stereo_lanes *out);
#endif
