#include "surface/crack_line.h"
#include "base/memory.h"
#include <math.h>
#include <stdlib.h>

static const double step_share = .7; /* of half the depth: what the lower side must rise over the line */
static const double straight = .980, diagonal = 1.406, corner = .091;
enum { ALONG = 2, WAY_REACH = 6, FLANK_NEAR = 2, FLANK_LEAST = 4 };

static double light_at(const struct crack_ground *ground, double x, double y) {
    const int x0 = (int)floor(x), y0 = (int)floor(y);
    if (x0 < 0 || y0 < 0 || x0 + 1 >= ground->width || y0 + 1 >= ground->height) return NAN;
    const size_t at = (size_t)y0 * (size_t)ground->width + (size_t)x0;
    if (ground->taken && ground->taken[at]) return NAN;
    const float *p = ground->light + at;
    const double fx = x - x0, fy = y - y0;
    return (1 - fy) * ((1 - fx) * (double)p[0] + fx * (double)p[1]) +
           fy * ((1 - fx) * (double)p[ground->width] + fx * (double)p[ground->width + 1]);
}

void crack_profile(const struct crack_ground *ground, double x, double y, double angle,
                   double profile[CRACK_PROFILE]) {
    const double c = cos(angle), s = sin(angle), sign = ground->lighter ? -1 : 1;
    for (int i = 0; i < CRACK_PROFILE; i++) {
        double sum = 0;
        for (int k = -ALONG; k <= ALONG; k++)
            sum += light_at(ground, x + c * k - s * (i - CRACK_REACH), y + s * k + c * (i - CRACK_REACH));
        profile[i] = sign * sum / (2 * ALONG + 1);
    }
}

static int deepest(const double profile[], int middle) {
    int deep = middle;
    for (int i = middle - 2; i <= middle + 2; i++)
        if (profile[i] < profile[deep]) deep = i;
    return deep;
}

static int double_order(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double flank(const double profile[], int deep, int step) {
    double some[CRACK_PROFILE], sum = 0;
    size_t n = 0;
    for (int i = deep + FLANK_NEAR * step; i >= 0 && i < CRACK_PROFILE; i += step)
        if (!isnan(profile[i])) some[n++] = profile[i];
    if (n < FLANK_LEAST) return NAN;
    qsort(some, n, sizeof *some, double_order);
    for (size_t i = n / 2; i < n; i++) sum += some[i];
    return sum / (double)(n - n / 2);
}

struct crack_valley crack_valley_of(const double profile[CRACK_PROFILE]) {
    const int deep = deepest(profile, CRACK_REACH);
    const double a = flank(profile, deep, -1), b = flank(profile, deep, 1);
    struct crack_valley valley = {.middle = (profile[deep - 1] + profile[deep] + profile[deep + 1]) / 3,
                                  .flank = fmin(a, b)};
    if (!isnan(a + b) && !isnan(valley.middle))
        valley.rise = (valley.flank - valley.middle) / fmax(1e-9, fabs(a + b) / 2);
    return valley;
}

/* Where the light rises fastest within two cells of place i, on the way out from the deepest one: in cells
 * from there, to parts of a cell by the middle of that rise and those beside it. */
static double steepest(const double profile[], int n, int deep, int i, int step) {
    int best = i;
    double most = -1;
    for (int k = i - 2 * step; (k - i) * step <= 2; k += step) {
        if ((k - deep) * step < 0 || k + step < 0 || k + step >= n) continue;
        if (profile[k + step] - profile[k] > most) most = profile[k + step] - profile[k], best = k;
    }
    double sum = 0, at = 0;
    for (int k = -1; k <= 1; k++) {
        const int here = best + k * step;
        if ((here - deep) * step < 0 || here + step < 0 || here + step >= n) continue;
        const double rise = fmax(0, profile[here + step] - profile[here]);
        sum += rise, at += k * rise;
    }
    return fabs((double)(best - deep)) + .5 + (sum > 0 ? at / sum : 0);
}

double crack_profile_width(const double profile[], int n, bool *step_here) {
    const int deep = deepest(profile, n / 2);
    double level[2], edge[2];
    for (int side = 0; side < 2; side++) {
        const int step = side ? 1 : -1, end = side ? n - 1 : 0;
        level[side] = (profile[end] + profile[end - step] + profile[end - 2 * step]) / 3;
    }
    const double half = .5 * (profile[deep] + .5 * (level[0] + level[1]));
    *step_here = fmin(level[0], level[1]) - profile[deep] < step_share * (half - profile[deep]);
    if (!(half > profile[deep])) return NAN;
    for (int side = 0; side < 2; side++) {
        const int step = side ? 1 : -1;
        int i = deep;
        while (i + step >= 0 && i + step < n && profile[i + step] < half) i += step;
        if (i + step < 0 || i + step >= n) return NAN;
        edge[side] = steepest(profile, n, deep, i, step);
    }
    return edge[0] + edge[1];
}

double crack_way(const int32_t *label, int width, int height, int x, int y) {
    const int32_t own = label[(size_t)y * (size_t)width + (size_t)x];
    double n = 0, u = 0, v = 0, uu = 0, uv = 0, vv = 0;
    for (int j = -WAY_REACH; j <= WAY_REACH; j++)
        for (int i = -WAY_REACH; i <= WAY_REACH; i++) {
            if (x + i < 0 || y + j < 0 || x + i >= width || y + j >= height ||
                label[(size_t)(y + j) * (size_t)width + (size_t)(x + i)] != own)
                continue;
            n++, u += i, v += j, uu += i * i, uv += i * j, vv += j * j;
        }
    return .5 * atan2(2 * (uv - u * v / n), uu - u * u / n - vv + v * v / n);
}

double crack_steps(const uint8_t *thin, int width, int height, int x, int y) {
    bool on[3][3];
    for (int k = 0; k < 9; k++) {
        const int u = x + k % 3 - 1, v = y + k / 3 - 1;
        on[k / 3][k % 3] =
            u >= 0 && v >= 0 && u < width && v < height && thin[(size_t)v * (size_t)width + (size_t)u];
    }
    const int even = on[0][1] + on[1][0] + on[1][2] + on[2][1];
    int odd = 0;
    for (int k = 0; k < 4; k++) {
        const int j = k / 2 * 2, i = k % 2 * 2;
        odd += on[j][i] && !on[j][1] && !on[1][i];
    }
    return (straight * even + diagonal * odd) / 2 - (even == 1 && odd == 1 ? corner : 0);
}
