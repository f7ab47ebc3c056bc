/* Each side of the black square is crossed at many places by a short profile of the linear green channel,
 * from black to the white around it. Where the profile passes the middle between its two ends lies the edge:
 * a symmetric blur does not move it. A line through those places (total least squares, outliers dropped), and
 * the corners are where the lines cross. */
#include "surface/locate_edge.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PLACES_MOST = 96, PROFILE_MOST = 65 };

static const double along_from = .08,
                    along_to = .92;       /* of a side: the corners themselves are rounded by blur */
static const double contrast_least = .02; /* of full scale: less is no edge */

struct crossing {
    struct point at;
    double width_px;
};

/* Green at a point, linear between pixel centres. */
static double green_at(const struct picture *picture, struct point p) {
    const double x = p.x - .5, y = p.y - .5;
    const int ix = (int)floor(x), iy = (int)floor(y);
    if (ix < 0 || iy < 0 || ix + 1 >= picture->width || iy + 1 >= picture->height) return NAN;
    const double fx = x - ix, fy = y - iy;
    const size_t row = 3 * (size_t)picture->width;
    const uint16_t *g = picture->rgb + (size_t)iy * row + 3 * (size_t)ix + 1;
    return (1 - fy) * ((1 - fx) * g[0] + fx * g[3]) + fy * ((1 - fx) * g[row] + fx * g[row + 3]);
}

/* Where the profile passes level, from inside out; NAN when it does not. */
static double passes(const double profile[], int n, double level) {
    for (int i = 1; i < n; i++)
        if (profile[i - 1] < level && profile[i] >= level)
            return i - 1 + (level - profile[i - 1]) / (profile[i] - profile[i - 1]);
    return NAN;
}

static double mean_of(const double value[], int n) {
    double sum = 0;
    for (int i = 0; i < n; i++) sum += value[i];
    return sum / n;
}

/* One profile across the edge at `at`, along the outward normal. */
static bool cross(const struct picture *picture, struct point at, struct point normal, double reach,
                  struct crossing *out) {
    double profile[PROFILE_MOST];
    int half = (int)ceil(2 * reach);
    if (half > PROFILE_MOST / 2) half = PROFILE_MOST / 2;
    const double pitch = reach / half;
    const int n = 2 * half + 1;
    for (int i = 0; i < n; i++) {
        const double t = pitch * (i - half);
        profile[i] = green_at(picture, (struct point){at.x + t * normal.x, at.y + t * normal.y});
        if (isnan(profile[i])) return false;
    }
    const int end = n / 5 > 0 ? n / 5 : 1;
    const double black = mean_of(profile, end), white = mean_of(profile + n - end, end);
    if (!(white - black > contrast_least * 65535)) return false;
    const double middle = passes(profile, n, black + .5 * (white - black));
    if (isnan(middle)) return false;
    const double low = passes(profile, n, black + .1 * (white - black)),
                 high = passes(profile, n, black + .9 * (white - black));
    const double t = pitch * (middle - half);
    out->at = (struct point){at.x + t * normal.x, at.y + t * normal.y};
    out->width_px = (high - low) * pitch;
    return true;
}

struct line {
    struct point at, along; /* along has length 1 */
};

static struct line line_through(const struct crossing c[], const bool keep[], int n) {
    double x = 0, y = 0, xx = 0, xy = 0, yy = 0, count = 0;
    for (int i = 0; i < n; i++)
        if (keep[i]) x += c[i].at.x, y += c[i].at.y, count++;
    x /= count, y /= count;
    for (int i = 0; i < n; i++) {
        if (!keep[i]) continue;
        const double dx = c[i].at.x - x, dy = c[i].at.y - y;
        xx += dx * dx, xy += dx * dy, yy += dy * dy;
    }
    const double angle = .5 * atan2(2 * xy, xx - yy);
    return (struct line){{x, y}, {cos(angle), sin(angle)}};
}

static double off(const struct line *line, struct point p) {
    return (p.x - line->at.x) * line->along.y - (p.y - line->at.y) * line->along.x;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_of(double value[], int n) {
    if (n == 0) return NAN;
    qsort(value, (size_t)n, sizeof *value, by_size);
    return n % 2 ? value[n / 2] : .5 * (value[n / 2 - 1] + value[n / 2]);
}

/* Line through the crossings, twice: those farther off than 3 robust sd (at least .3 px) are left out. */
static struct line robust_line(const struct crossing c[], int n, int *kept, double *off_square) {
    bool keep[PLACES_MOST];
    double distance[PLACES_MOST];
    for (int i = 0; i < n; i++) keep[i] = true;
    struct line line = line_through(c, keep, n);
    for (int round = 0; round < 3; round++) {
        for (int i = 0; i < n; i++) distance[i] = fabs(off(&line, c[i].at));
        const double limit = fmax(.3, 3 * 1.4826 * median_of(distance, n));
        int count = 0;
        for (int i = 0; i < n; i++) count += keep[i] = fabs(off(&line, c[i].at)) <= limit;
        if (count >= 4) line = line_through(c, keep, n);
    }
    *kept = 0, *off_square = 0;
    for (int i = 0; i < n; i++) {
        if (!keep[i]) continue;
        ++*kept;
        *off_square += pow(off(&line, c[i].at), 2);
    }
    return line;
}

static bool meet(const struct line *a, const struct line *b, struct point *out) {
    const double det = a->along.x * b->along.y - a->along.y * b->along.x;
    if (fabs(det) < .1) return false;
    const double dx = b->at.x - a->at.x, dy = b->at.y - a->at.y;
    const double t = (dx * b->along.y - dy * b->along.x) / det;
    *out = (struct point){a->at.x + t * a->along.x, a->at.y + t * a->along.y};
    return true;
}

struct side {
    struct line line;
    int tried, found, kept;
    double off_square;
};

/* Sides run clockwise in the picture, so the outside lies to their left: (dy, -dx). */
static bool measure_side(const struct picture *picture, struct point from, struct point to, double reach,
                         struct side *out, double width[], int *widths) {
    struct crossing found[PLACES_MOST];
    const double dx = to.x - from.x, dy = to.y - from.y, length = hypot(dx, dy);
    const struct point normal = {dy / length, -dx / length};
    *out = (struct side){.tried = (int)fmin(PLACES_MOST, fmax(12, length))};
    for (int i = 0; i < out->tried; i++) {
        const double t = along_from + (along_to - along_from) * (i + .5) / out->tried;
        const struct point at = {from.x + t * dx, from.y + t * dy};
        if (cross(picture, at, normal, reach, &found[out->found])) out->found++;
    }
    if (out->found < 6) return false;
    out->line = robust_line(found, out->found, &out->kept, &out->off_square);
    for (int i = 0; i < out->found; i++)
        if (!isnan(found[i].width_px)) width[(*widths)++] = found[i].width_px;
    return out->kept >= 6;
}

static bool refine_once(const struct picture *picture, struct point corner[4], double reach,
                        struct edge_quality *quality) {
    struct side side[4];
    struct point moved[4];
    double width[4 * PLACES_MOST], off_square = 0;
    int widths = 0, tried = 0, kept = 0;
    for (int i = 0; i < 4; i++) {
        if (!measure_side(picture, corner[i], corner[(i + 1) % 4], reach, &side[i], width, &widths))
            return false;
        tried += side[i].tried, kept += side[i].kept, off_square += side[i].off_square;
    }
    for (int i = 0; i < 4; i++)
        if (!meet(&side[(i + 3) % 4].line, &side[i].line, &moved[i])) return false;
    memcpy(corner, moved, sizeof moved);
    *quality = (struct edge_quality){(double)kept / tried, sqrt(off_square / kept), median_of(width, widths)};
    return true;
}

bool edge_refine(const struct picture *picture, struct point corner[4], double reach,
                 struct edge_quality *quality) {
    struct point rough[4];
    memcpy(rough, corner, sizeof rough);
    /* Black and white are a module wide; the profile must not see past them. */
    const double module = hypot(corner[1].x - corner[0].x, corner[1].y - corner[0].y) / 8;
    const double first = fmax(1.5, fmin(reach, .8 * module));
    if (!refine_once(picture, corner, first, quality)) return false;
    const double second = fmax(1.5, fmin(.7 * module, fmax(4, 2 * quality->edge_px)));
    if (!refine_once(picture, corner, fmin(second, 16), quality)) return false;
    for (int i = 0; i < 4; i++)
        if (!(hypot(corner[i].x - rough[i].x, corner[i].y - rough[i].y) < 1.5 * reach + 2)) return false;
    return true;
}
