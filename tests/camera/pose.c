/* A camera that looks at the card's middle. The card's plane leans by tilt about an axis in the plane; the
 * camera rolls. Focal length 1.1 picture widths (a phone's usual angle, 49 degrees across).
 *
 *     point on the card P = (x, y, 0) about the middle, in millimetres
 *     in front of the camera C = R P + (sx, sy, D); ideal picture point = f C.xy / C.z + centre
 *     distortion: an ideal point at radius r (1 + k r^2) is seen at radius r, r in half diagonals */
#include "camera/pose.h"
#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846, FOCAL_WIDTHS = 1.1;

static void multiply(const double a[9], const double b[9], double out[9]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = 0;
            for (int k = 0; k < 3; k++) sum += a[3 * i + k] * b[3 * k + j];
            out[3 * i + j] = sum;
        }
}

static void invert(const double m[9], double out[9]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) { /* adjugate; a homography needs no determinant */
            const int r = (j + 1) % 3, s = (j + 2) % 3, c = (i + 1) % 3, d = (i + 2) % 3;
            out[3 * i + j] = m[3 * r + c] * m[3 * s + d] - m[3 * r + d] * m[3 * s + c];
        }
}

/* roll . lean: first the plane leans, then the camera rolls. */
static void rotation(const struct scene *scene, double out[9]) {
    const double t = scene->tilt_deg * PI / 180, u = scene->towards_deg * PI / 180,
                 w = scene->turn_deg * PI / 180;
    const double axis[3] = {-sin(u), cos(u), 0}, c = cos(t), s = sin(t);
    const double lean[9] = {c + axis[0] * axis[0] * (1 - c),
                            axis[0] * axis[1] * (1 - c),
                            axis[1] * s,
                            axis[0] * axis[1] * (1 - c),
                            c + axis[1] * axis[1] * (1 - c),
                            -axis[0] * s,
                            -axis[1] * s,
                            axis[0] * s,
                            c};
    const double roll[9] = {cos(w), -sin(w), 0, sin(w), cos(w), 0, 0, 0, 1};
    multiply(roll, lean, out);
}

void pose_make(struct pose *out, const struct scene *scene) {
    double r[9];
    const double focal_px = FOCAL_WIDTHS * scene->width;
    const double away = focal_px * scene->card->size_mm[0] / (scene->filled * scene->width);
    rotation(scene, r);
    const double shift[3] = {scene->shift_x * away / FOCAL_WIDTHS, scene->shift_y * away / FOCAL_WIDTHS,
                             away};
    const double mx = scene->card->size_mm[0] / 2, my = scene->card->size_mm[1] / 2;
    double plane[9]; /* columns: the card's x, y, and the place of its origin */
    for (int i = 0; i < 3; i++) {
        plane[3 * i] = r[3 * i], plane[3 * i + 1] = r[3 * i + 1];
        plane[3 * i + 2] = shift[i] - r[3 * i] * mx - r[3 * i + 1] * my;
    }
    const double lens[9] = {focal_px, 0, scene->width / 2., 0, focal_px, scene->height / 2., 0, 0, 1};
    multiply(lens, plane, out->to_picture);
    invert(out->to_picture, out->to_card);
    out->centre[0] = scene->width / 2., out->centre[1] = scene->height / 2.;
    out->corner_px = hypot(out->centre[0], out->centre[1]);
    out->distortion = scene->distortion;
}

static void apply(const double m[9], const double at[2], double out[2]) {
    const double w = m[6] * at[0] + m[7] * at[1] + m[8];
    const double x = (m[0] * at[0] + m[1] * at[1] + m[2]) / w, y = (m[3] * at[0] + m[4] * at[1] + m[5]) / w;
    out[0] = x, out[1] = y;
}

void pose_card(const struct pose *pose, double x, double y, double mm[2]) {
    const double dx = x - pose->centre[0], dy = y - pose->centre[1];
    const double f = 1 + pose->distortion * (dx * dx + dy * dy) / (pose->corner_px * pose->corner_px);
    const double ideal[2] = {pose->centre[0] + dx * f, pose->centre[1] + dy * f};
    apply(pose->to_card, ideal, mm);
}

void pose_picture(const struct pose *pose, const double mm[2], double px[2]) {
    double ideal[2];
    apply(pose->to_picture, mm, ideal);
    const double wx = ideal[0] - pose->centre[0], wy = ideal[1] - pose->centre[1];
    double f = 1;
    for (int i = 0; i < 20; i++) {
        const double r2 = (wx * wx + wy * wy) / (f * f * pose->corner_px * pose->corner_px);
        f = 1 + pose->distortion * r2;
    }
    px[0] = pose->centre[0] + wx / f, px[1] = pose->centre[1] + wy / f;
}
