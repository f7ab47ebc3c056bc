/* Grain of leather, invented: pebbles between furrows, from the distances F1, F2 to the nearest two of
 * scattered points (Worley 1996): height = 1 - exp(-(F2 - F1) / w). A measured relief is not needed here: the
 * trials ask only that shading, furrows and glints stand around a colour that is known.
 *
 *     shade = max(0, n.l) / l_z with the furrows' own shadow; shine = residue + glints exp(-(n, h)^2 / 2 s^2)
 *
 * n the facet's normal, l the lamp, 42 degrees from the vertical, h the half way between lamp and camera. */
#include "camera/look.h"
#include <math.h>

enum { PEBBLES = 13, PIXELS = GRAIN_SIDE * GRAIN_SIDE };
#define GRAIN_MM .05 /* of one pixel of the tile */

static double hash(int a, int b, int c) {
    unsigned long long z = (unsigned long long)(a * 73856093) ^ (unsigned long long)(b * 19349663) ^
                           (unsigned long long)(c * 83492791);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

static double height_at(double x, double y) { /* in pebbles */
    double nearest = 9, second = 9;
    const int cx = (int)floor(x), cy = (int)floor(y);
    for (int j = -1; j <= 1; j++)
        for (int i = -1; i <= 1; i++) {
            const int u = (cx + i + PEBBLES) % PEBBLES, v = (cy + j + PEBBLES) % PEBBLES;
            const double dx = cx + i + .15 + .7 * hash(u, v, 1) - x,
                         dy = cy + j + .15 + .7 * hash(u, v, 2) - y;
            const double d = sqrt(dx * dx + dy * dy);
            if (d < nearest)
                second = nearest, nearest = d;
            else if (d < second)
                second = d;
        }
    return 1 - exp(-(second - nearest) / .25);
}

static void make_slopes(float slope[2 * PIXELS]) {
    float *height = memory_need(PIXELS, sizeof *height);
    for (int y = 0; y < GRAIN_SIDE; y++)
        for (int x = 0; x < GRAIN_SIDE; x++)
            height[y * GRAIN_SIDE + x] =
                (float)height_at(x * (double)PEBBLES / GRAIN_SIDE, y * (double)PEBBLES / GRAIN_SIDE);
    double sum = 0;
    for (int y = 0; y < GRAIN_SIDE; y++)
        for (int x = 0; x < GRAIN_SIDE; x++) {
            const int l = (x + GRAIN_SIDE - 1) % GRAIN_SIDE, r = (x + 1) % GRAIN_SIDE;
            const int u = (y + GRAIN_SIDE - 1) % GRAIN_SIDE, d = (y + 1) % GRAIN_SIDE;
            float *s = &slope[2 * (y * GRAIN_SIDE + x)];
            s[0] = height[y * GRAIN_SIDE + r] - height[y * GRAIN_SIDE + l];
            s[1] = height[d * GRAIN_SIDE + x] - height[u * GRAIN_SIDE + x];
            sum += (double)(s[0] * s[0] + s[1] * s[1]);
        }
    const float scale = (float)(1 / sqrt(sum / (2 * PIXELS)));
    for (int i = 0; i < 2 * PIXELS; i++) slope[i] *= scale;
    memory_free(height);
}

const float *grain_slopes(void) {
    static float slope[2 * PIXELS];
    static bool made;
    if (!made) make_slopes(slope), made = true;
    return slope;
}

void texture_make(struct texture *out, const float *slope, const struct leather *leather) {
    static const double lamp[3] = {.55, -.38, .743}, spread = .09;
    const double half[2] = {lamp[0] / (1 + lamp[2]), lamp[1] / (1 + lamp[2])};
    for (int i = 0; i < PIXELS; i++) {
        const double sx = leather->grain * (double)slope[2 * i],
                     sy = leather->grain * (double)slope[2 * i + 1];
        const double steep2 = sx * sx + sy * sy, long_ = sqrt(1 + steep2);
        const double facing = (lamp[2] - sx * lamp[0] - sy * lamp[1]) / (lamp[2] * long_);
        const double dx = -sx - half[0], dy = -sy - half[1];
        out->shade[i] = (float)(fmax(0, facing) * (1 - fmin(.6, 1.5 * steep2)));
        out->shine[i] =
            (float)(leather->shine + leather->glints * exp(-(dx * dx + dy * dy) / (2 * spread * spread)));
    }
}

double leather_marks(const struct leather *leather, const double mm[2], double *shine) {
    double left = 1;
    for (int i = 0; i < leather->creases; i++) {
        const double run = .35 * i + .2,
                     across = mm[1] - 38 - 6 * i - run * (mm[0] - 60) - 1.2 * sin(mm[0] / 4 + i);
        left *= 1 - .75 * exp(-across * across / (2 * .22 * .22));
        *shine += .04 * exp(-(across - .7) * (across - .7) / (2 * .25 * .25));
    }
    if (leather->pitch_mm > 0) {
        const double p = leather->pitch_mm, x = mm[0] - p * round(mm[0] / p),
                     y = mm[1] - p * round(mm[1] / p);
        if (x * x + y * y < .4 * .4) left *= .06;
    }
    return left;
}
