/* Trimmed means of places in a photograph, see camera_sample.h.
 *
 * A patch: the pixels are ordered by their light and a tenth is left out at either end. Leather: first holes
 * (perforation, stitches: much darker than the rest and apart from it), then shadows of the grain and
 * highlights beyond what the rest scatters, then the same trim. */
#include "surface/camera_sample.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PIXELS_MOST = 6000, LEVELS = 64 };

static const double trim = .1;
static const double hole_ratio = .55;  /* a hole has less than this of the light of the rest */
static const double scatter_most = 3;  /* robust sd from the middle that grain may reach */
static const double grain_least = .06; /* of the middle: a sd is not taken smaller */

struct pixel {
    float key, c[3];
};

/* Gathers pixels row by row; when there are more than fit, every third, fifth ... of every third, fifth ...
 * row (odd, so that it does not keep time with the squares of a JPEG). */
struct gather {
    const struct picture *picture;
    int step;
    size_t count, clipped;
    struct pixel pixel[PIXELS_MOST];
};

static void add(struct gather *gather, int x, int y) {
    if (gather->count == PIXELS_MOST) return;
    const uint16_t *rgb = gather->picture->rgb + 3 * ((size_t)y * (size_t)gather->picture->width + (size_t)x);
    struct pixel *pixel = &gather->pixel[gather->count++];
    const unsigned clip = gather->picture->clip;
    gather->clipped += rgb[0] >= clip || rgb[1] >= clip || rgb[2] >= clip;
    for (int c = 0; c < 3; c++) pixel->c[c] = (float)rgb[c];
    pixel->key = (float)rgb[0] + 2 * (float)rgb[1] + (float)rgb[2];
}

static int by_key(const void *a, const void *b) {
    const struct pixel *x = a, *y = b;
    if (x->key != y->key) return x->key < y->key ? -1 : 1;
    return memcmp(x->c, y->c, sizeof x->c);
}

static int step_for(double pixels) {
    return 1 + 2 * (int)ceil((sqrt(fmax(1, pixels / PIXELS_MOST)) - 1) / 2);
}

static int clamped(double value, int most) {
    return value < 0 ? 0 : value > most ? most : (int)value;
}

/* Every pixel whose centre lies in the square (or, of_disc, in the disc of radius r about p in pixels). */
static void gather_square(struct gather *gather, const struct located *located, const double center[2],
                          double side) {
    const struct picture *picture = gather->picture;
    double x0 = HUGE_VAL, x1 = -HUGE_VAL, y0 = HUGE_VAL, y1 = -HUGE_VAL;
    for (int i = 0; i < 4; i++) {
        const struct point at = located_to_pixel(
            located, (struct point){center[0] + side * ((i & 1) - .5), center[1] + side * ((i >> 1) - .5)});
        x0 = fmin(x0, at.x), x1 = fmax(x1, at.x), y0 = fmin(y0, at.y), y1 = fmax(y1, at.y);
    }
    gather->step = step_for(fmax(0, x1 - x0) * fmax(0, y1 - y0));
    for (int y = clamped(y0, picture->height); y < clamped(y1 + 1, picture->height); y += gather->step)
        for (int x = clamped(x0, picture->width); x < clamped(x1 + 1, picture->width); x += gather->step) {
            const struct point mm = located_to_card(located, (struct point){x + .5, y + .5});
            if (fabs(mm.x - center[0]) <= side / 2 && fabs(mm.y - center[1]) <= side / 2) add(gather, x, y);
        }
}

static void gather_disc(struct gather *gather, double cx, double cy, double r) {
    const struct picture *picture = gather->picture;
    gather->step = step_for(4 * r * r);
    for (int y = clamped(cy - r, picture->height); y < clamped(cy + r + 1, picture->height);
         y += gather->step)
        for (int x = clamped(cx - r, picture->width); x < clamped(cx + r + 1, picture->width);
             x += gather->step)
            if (hypot(x + .5 - cx, y + .5 - cy) <= r) add(gather, x, y);
}

/* Means and sd of pixel[low..high). */
static void average(const struct pixel *pixel, size_t low, size_t high, struct camera_sample *out) {
    const double n = (double)(high - low);
    for (int c = 0; c < 3; c++) {
        double sum = 0, square = 0;
        for (size_t i = low; i < high; i++) sum += (double)pixel[i].c[c];
        for (size_t i = low; i < high; i++) square += pow((double)pixel[i].c[c] - sum / n, 2);
        out->mean[c] = sum / n / 65535;
        out->sd[c] = sqrt(square / n) / 65535;
    }
}

/* Where the dark cluster of the sorted keys ends: Otsu's threshold on the logarithm (Otsu 1979), taken only
 * when what lies below it is a minority and much darker than what lies above. */
static size_t holes_end(const struct pixel *pixel, size_t n) {
    const double low = log(1 + (double)pixel[n / 200].key),
                 high = log(1 + (double)pixel[n - 1 - n / 200].key);
    size_t count[LEVELS] = {0}, below = 0, best = 0;
    double sum = 0, total = 0, best_between = 0;
    if (!(high - low > .4)) return 0;
    for (size_t i = 0; i < n; i++)
        count[clamped((log(1 + (double)pixel[i].key) - low) / (high - low) * LEVELS, LEVELS - 1)]++;
    for (int i = 0; i < LEVELS; i++) total += i * (double)count[i];
    for (int i = 0; i < LEVELS - 1; i++) {
        below += count[i], sum += i * (double)count[i];
        if (below == 0 || below == n) continue;
        const double a = (double)below, b = (double)(n - below);
        const double between = a * b * pow(sum / a - (total - sum) / b, 2);
        if (between > best_between) best_between = between, best = below;
    }
    if (best < n / 100 || best > n * 45 / 100) return 0;
    const double dark = (double)pixel[best / 2].key, rest = (double)pixel[(best + n) / 2].key;
    return dark < hole_ratio * rest ? best : 0;
}

/* Leaves out holes, shadows and highlights of leather: the part [*low, *high) of the sorted pixels. */
static void leather(const struct pixel *pixel, size_t n, size_t *low, size_t *high) {
    *low = holes_end(pixel, n), *high = n;
    for (int round = 0; round < 2; round++) {
        const size_t m = *high - *low;
        const double middle = (double)pixel[*low + m / 2].key;
        const double down = middle - (double)pixel[*low + m / 4].key,
                     up = (double)pixel[*low + m * 3 / 4].key - middle;
        const double least = grain_least * middle;
        const double floor_key = middle - scatter_most * fmax(least, down / .6745),
                     top_key = middle + scatter_most * fmax(least, fmin(up, down) / .6745);
        while (*low < *high && (double)pixel[*low].key < floor_key) ++*low;
        while (*high > *low && (double)pixel[*high - 1].key > top_key) --*high;
    }
}

static void finish(struct gather *gather, bool of_leather, struct camera_sample *out) {
    const size_t n = gather->count;
    out->pixels = n;
    if (n == 0) return;
    qsort(gather->pixel, n, sizeof *gather->pixel, by_key);
    size_t low = 0, high = n;
    if (of_leather && n > 40) leather(gather->pixel, n, &low, &high);
    out->dark = (double)low / (double)n;
    out->light = (double)(n - high) / (double)n;
    out->clipped = (double)gather->clipped / (double)n;
    const size_t cut = (size_t)(trim * (double)(high - low));
    average(gather->pixel, low + cut, high - cut, out);
}

static void sample_mm(const struct picture *picture, const struct located *located, const double center_mm[2],
                      double side_mm, bool of_leather, struct camera_sample *out) {
    struct gather gather = {.picture = picture};
    *out = (struct camera_sample){.mm = {center_mm[0], center_mm[1]}};
    gather_square(&gather, located, center_mm, side_mm);
    finish(&gather, of_leather, out);
}

void sample_square(const struct picture *picture, const struct located *located, const double center_mm[2],
                   double side_mm, struct camera_sample *out) {
    sample_mm(picture, located, center_mm, side_mm, false, out);
}

void sample_window(const struct picture *picture, const struct located *located, const double center_mm[2],
                   double side_mm, struct camera_sample *out) {
    sample_mm(picture, located, center_mm, side_mm, true, out);
}

void sample_disc(const struct picture *picture, const struct located *located, double x, double y, double r,
                 struct camera_sample *out) {
    struct gather gather = {.picture = picture};
    const struct point mm = located_to_card(located, (struct point){x, y});
    *out = (struct camera_sample){.mm = {mm.x, mm.y}};
    gather_disc(&gather, x, y, r);
    finish(&gather, true, out);
}
