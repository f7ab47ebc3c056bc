/* Fit of a homography, see homography.h. The points are moved and scaled so that both clouds lie around the
 * origin at a distance of about sqrt 2 (Hartley 1997); there the last element is far from 0 and is set to 1,
 * which leaves eight unknowns. */
#include "surface/homography.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { UNKNOWNS = 8, STEPS = 10 };

struct frame {
    double x, y, scale; /* p -> (p - (x, y)) * scale */
};

static bool frame_of(const struct point p[], size_t count, struct frame *out) {
    double x = 0, y = 0, spread = 0;
    for (size_t i = 0; i < count; i++) x += p[i].x, y += p[i].y;
    x /= (double)count, y /= (double)count;
    for (size_t i = 0; i < count; i++) spread += hypot(p[i].x - x, p[i].y - y);
    *out = (struct frame){x, y, M_SQRT2 * (double)count / spread};
    return spread > 0 && isfinite(out->scale);
}

static struct point frame_in(const struct frame *frame, struct point p) {
    return (struct point){(p.x - frame->x) * frame->scale, (p.y - frame->y) * frame->scale};
}

/* One row of J'J and J'r: residual r with derivative j. */
static void gather(double normal[UNKNOWNS * UNKNOWNS], double right[UNKNOWNS], const double j[UNKNOWNS],
                   double r) {
    for (int a = 0; a < UNKNOWNS; a++) {
        right[a] += j[a] * r;
        for (int b = 0; b <= a; b++) normal[a * UNKNOWNS + b] += j[a] * j[b];
    }
}

/* w' of the linear equations; 1 / w'^2 of the true distances. weighted false: the linear solution. */
static bool step(const struct point from[], const struct point to[], size_t count, bool weighted,
                 double h[9]) {
    double normal[UNKNOWNS * UNKNOWNS] = {0}, right[UNKNOWNS] = {0};
    for (size_t i = 0; i < count; i++) {
        const double x = from[i].x, y = from[i].y;
        const double w = weighted ? h[6] * x + h[7] * y + 1 : 1;
        const double u = weighted ? (h[0] * x + h[1] * y + h[2]) / w : to[i].x;
        const double v = weighted ? (h[3] * x + h[4] * y + h[5]) / w : to[i].y;
        const double jx[UNKNOWNS] = {x / w, y / w, 1 / w, 0, 0, 0, -u * x / w, -u * y / w};
        const double jy[UNKNOWNS] = {0, 0, 0, x / w, y / w, 1 / w, -v * x / w, -v * y / w};
        gather(normal, right, jx, weighted ? to[i].x - u : to[i].x);
        gather(normal, right, jy, weighted ? to[i].y - v : to[i].y);
    }
    if (!dense_cholesky(normal, UNKNOWNS)) return false;
    for (int a = 0; a < UNKNOWNS; a++) /* a pivot that is noise: the points do not fix a plane */
        if (!(normal[a * UNKNOWNS + a] > 1e-6)) return false;
    dense_cholesky_solve(normal, UNKNOWNS, right);
    for (int a = 0; a < UNKNOWNS; a++) h[a] = weighted ? h[a] + right[a] : right[a];
    h[8] = 1;
    return true;
}

static void multiply(const double a[9], const double b[9], double out[9]) {
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[3 * i] * b[k] + a[3 * i + 1] * b[3 + k] + a[3 * i + 2] * b[6 + k];
}

/* Back from the frames: to^-1 h from. */
static void unframe(const struct frame *from, const struct frame *to, const double h[9],
                    struct homography *out) {
    const double in[9] = {from->scale, 0, -from->x * from->scale, 0, from->scale, -from->y * from->scale, 0,
                          0,           1};
    const double back[9] = {1 / to->scale, 0, to->x, 0, 1 / to->scale, to->y, 0, 0, 1};
    double half[9];
    multiply(h, in, half);
    multiply(back, half, out->h);
}

bool homography_fit(const struct point from[], const struct point to[], size_t count,
                    struct homography *out) {
    assert(count >= 4 && count <= HOMOGRAPHY_POINTS_MOST);
    struct frame a, b;
    struct point p[HOMOGRAPHY_POINTS_MOST], q[HOMOGRAPHY_POINTS_MOST];
    double h[9] = {0};
    if (!frame_of(from, count, &a) || !frame_of(to, count, &b)) return false;
    for (size_t i = 0; i < count; i++) p[i] = frame_in(&a, from[i]), q[i] = frame_in(&b, to[i]);
    bool good = step(p, q, count, false, h);
    for (int i = 0; i < STEPS && good; i++) good = step(p, q, count, true, h);
    for (int i = 0; i < 9 && good; i++) good = isfinite(h[i]);
    if (good) unframe(&a, &b, h, out);
    return good;
}

struct point homography_apply(const struct homography *homography, struct point at) {
    const double *h = homography->h;
    const double w = h[6] * at.x + h[7] * at.y + h[8];
    return (struct point){(h[0] * at.x + h[1] * at.y + h[2]) / w, (h[3] * at.x + h[4] * at.y + h[5]) / w};
}

void homography_slope(const struct homography *homography, struct point at, double slope[2][2]) {
    const double *h = homography->h;
    const double w = h[6] * at.x + h[7] * at.y + h[8];
    const struct point to = homography_apply(homography, at);
    slope[0][0] = (h[0] - to.x * h[6]) / w, slope[0][1] = (h[1] - to.x * h[7]) / w;
    slope[1][0] = (h[3] - to.y * h[6]) / w, slope[1][1] = (h[4] - to.y * h[7]) / w;
}

bool homography_inverse(const struct homography *homography, struct homography *out) {
    const double *h = homography->h;
    const double adjugate[9] = {
        h[4] * h[8] - h[5] * h[7], h[2] * h[7] - h[1] * h[8], h[1] * h[5] - h[2] * h[4],
        h[5] * h[6] - h[3] * h[8], h[0] * h[8] - h[2] * h[6], h[2] * h[3] - h[0] * h[5],
        h[3] * h[7] - h[4] * h[6], h[1] * h[6] - h[0] * h[7], h[0] * h[4] - h[1] * h[3]};
    const double det = h[0] * adjugate[0] + h[1] * adjugate[3] + h[2] * adjugate[6];
    if (det == 0 || !isfinite(det)) return false;
    for (int i = 0; i < 9; i++) out->h[i] = adjugate[i] / det;
    return true;
}
