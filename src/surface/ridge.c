/* Tiles of 256 x 64 cells keep what one thread holds within its cache. Sums run in a fixed order for every
 * cell, whatever the number of threads. Single precision: responses are compared with thresholds that are
 * quantiles, not with each other's last digit. */
#include "surface/ridge.h"
#include "base/memory.h"
#include "base/wide.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

const double ridge_sigma[RIDGE_SCALES] = {1.5, 2.5, 4.5};

/* ---- local mean and sd ---- */

enum { CHUNK_ROWS = 32 };

struct flattening {
    const float *v;
    const uint8_t *inside;
    int width, height, radius;
    double *n, *s, *q; /* per column sums of a chunk's rows are made anew in each chunk */
    float *mean, *sd;  /* sd NULL: only the mean is wanted */
};

static void add_row(const struct flattening *job, int y, double sign, double *n, double *s, double *q) {
    if (y < 0 || y >= job->height) return;
    const size_t row = (size_t)y * (size_t)job->width;
    for (int x = 0; x < job->width; x++)
        if (job->inside[row + (size_t)x]) {
            const double v = (double)job->v[row + (size_t)x];
            n[x] += sign, s[x] += sign * v, q[x] += sign * v * v;
        }
}

static void slide(const struct flattening *job, int y, const double *n, const double *s, const double *q) {
    const size_t row = (size_t)y * (size_t)job->width;
    double count = 0, sum = 0, square = 0;
    for (int x = -job->radius; x < job->width; x++) {
        const int in = x + job->radius, gone = x - job->radius - 1;
        if (in < job->width) count += n[in], sum += s[in], square += q[in];
        if (gone >= 0) count -= n[gone], sum -= s[gone], square -= q[gone];
        if (x < 0) continue;
        const double mean = count > .5 ? sum / count : 0;
        job->mean[row + (size_t)x] = (float)mean;
        if (job->sd)
            job->sd[row + (size_t)x] = (float)(count > .5 ? sqrt(fmax(0, square / count - mean * mean)) : 0);
    }
}

static void flatten_rows(void *context, size_t chunk) {
    const struct flattening *job = context;
    const size_t width = (size_t)job->width;
    double *n = memory_need(3 * width, sizeof *n), *s = n + width, *q = s + width;
    const int first = (int)chunk * CHUNK_ROWS;
    for (int y = first - job->radius; y < first + job->radius; y++) add_row(job, y, 1, n, s, q);
    for (int y = first; y < first + CHUNK_ROWS && y < job->height; y++) {
        add_row(job, y + job->radius, 1, n, s, q);
        slide(job, y, n, s, q);
        add_row(job, y - job->radius, -1, n, s, q);
    }
    memory_free(n);
}

static void flatten_run(struct flattening *job, struct work *work) {
    work_run(work, ((size_t)job->height + CHUNK_ROWS - 1) / CHUNK_ROWS, flatten_rows, job);
}

static int float_order(const void *a, const void *b) {
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Median of every so-many-th value inside. */
static double rough_median(const float *v, const uint8_t *inside, size_t cells) {
    const size_t step = cells / 50000 + 1;
    float *some = memory_need(cells / step + 1, sizeof *some);
    size_t n = 0;
    for (size_t i = 0; i < cells; i += step)
        if (inside[i]) some[n++] = v[i];
    qsort(some, n, sizeof *some, float_order);
    const double median = n ? (double)some[n / 2] : 0;
    memory_free(some);
    return median;
}

void ridge_local_mean(const float *v, const uint8_t *inside, int width, int height, int radius,
                      struct work *work, float *out) {
    struct flattening job = {
        .v = v, .inside = inside, .width = width, .height = height, .radius = radius, .mean = out};
    flatten_run(&job, work);
}

void ridge_flatten(const float *v, const uint8_t *inside, int width, int height, int radius,
                   struct work *work, float *out) {
    const size_t cells = (size_t)width * (size_t)height;
    float *mean = memory_need(cells, sizeof *mean), *sd = memory_need(cells, sizeof *sd);
    struct flattening job = {
        .v = v, .inside = inside, .width = width, .height = height, .radius = radius, .mean = mean, .sd = sd};
    flatten_run(&job, work);
    const float least = (float)fmax(1e-6, .5 * rough_median(sd, inside, cells));
    for (size_t i = 0; i < cells; i++)
        out[i] = inside[i] ? (v[i] - mean[i]) / (sd[i] > least ? sd[i] : least) : 0;
    memory_free(mean), memory_free(sd);
}

/* ---- the filters ---- */

/* The bodies are compiled twice, plainly and for AVX2; neither fuses nor reorders anything, so both give the
 * same numbers. Kernels are even or odd, so that two samples share a product. */

enum { TILE_WIDTH = 256, TILE_HEIGHT = 64, LANES = 8, TAPS = 7, FLANK = 8, REACH = 56, ROUND_MOST = 16 };
enum { LONG_W = TILE_WIDTH + 2 * REACH, LONG_H = TILE_HEIGHT + 2 * REACH };
enum { PADDED_W = LONG_W + 2 * ROUND_MOST + LANES, PADDED_H = LONG_H + 2 * ROUND_MOST };
enum { FLANKS_W = TILE_WIDTH + 2 * FLANK, FLANKS_H = TILE_HEIGHT + 2 * FLANK };
_Static_assert(LONG_W % LANES == 0 && TILE_WIDTH % LANES == 0 && FLANKS_W % (2 * LANES) == 0,
               "whole vectors");

typedef float lanes __attribute__((vector_size(4 * LANES)));
typedef int32_t lane_bits __attribute__((vector_size(4 * LANES)));

struct kernel {
    int radius, reach;
    float g[2][ROUND_MOST + 1]; /* a Gaussian and its derivative, for correlation, from the middle */
    float scale;                /* of the derivative */
    float tap[TAPS + 1];        /* along the line, from the middle */
    int off[RIDGE_DIRECTIONS / 2 + 1][TAPS + 1][2];
    int flank[RIDGE_DIRECTIONS / 2 + 1][2]; /* from the line to its flank, in x and y */
};

struct source {
    const float *plane;
    int width, height;
};

struct filtering {
    struct source full;
    struct kernel kernel[RIDGE_SCALES];
    struct ridge_planes *out;
    bool wide;
};

struct tile {
    float source[PADDED_H][PADDED_W];
    float part[2][LONG_H][LONG_W]; /* slope in x, in y */
    union {
        float across[2][PADDED_H][LONG_W];
        float u[2][LONG_H][LONG_W]; /* slope across a direction, and across its mirror image */
    } now;
    float slope[FLANKS_H][FLANKS_W]; /* the same, smoothed along */
    float dark[TILE_HEIGHT][TILE_WIDTH], light[TILE_HEIGHT][TILE_WIDTH];
    int32_t along_dark[TILE_HEIGHT][TILE_WIDTH], along_light[TILE_HEIGHT][TILE_WIDTH];
};

static void kernel_make(double sigma, struct kernel *out) {
    const double s2 = sigma * sigma;
    double total = 0;
    out->radius = (int)ceil(3.5 * sigma), out->scale = (float)sigma;
    for (int i = -out->radius; i <= out->radius; i++) total += exp(-i * i / (2 * s2));
    for (int i = 0; i <= out->radius; i++) {
        const double g = exp(-i * i / (2 * s2)) / total;
        out->g[0][i] = (float)g, out->g[1][i] = (float)(i / s2 * g);
    }
    out->reach = ((int)ceil(TAPS * sigma * 4 / 3) + LANES - 1) / LANES * LANES + FLANK;
    total = 0;
    for (int i = -TAPS; i <= TAPS; i++) total += exp(-i * i * (16. / 9) / 30);
    for (int i = 0; i <= TAPS; i++) out->tap[i] = (float)(exp(-i * i * (16. / 9) / 30) / total);
    for (int k = 0; k <= RIDGE_DIRECTIONS / 2; k++) {
        const double angle = M_PI * k / RIDGE_DIRECTIONS, x = cos(angle), y = sin(angle);
        for (int i = 0; i <= TAPS; i++) {
            const double far = i * sigma * 4 / 3;
            out->off[k][i][0] = (int)lround(far * x), out->off[k][i][1] = (int)lround(far * y);
        }
        out->flank[k][0] = (int)lround(-sigma * 4 / 3 * y), out->flank[k][1] = (int)lround(sigma * 4 / 3 * x);
    }
}

INLINE void get(lanes *to, const float *from) {
    memcpy(to, from, sizeof *to);
}

INLINE void put(float *to, const lanes *from) {
    memcpy(to, from, sizeof *from);
}

static int held(int at, int n) {
    return at < 0 ? 0 : at >= n ? n - 1 : at;
}

/* The border goes on. */
static void tile_load(const struct source *from, int left, int top, struct tile *tile) {
    enum { MARGIN = REACH + ROUND_MOST };
    for (int y = 0; y < PADDED_H; y++) {
        const float *row = from->plane + (size_t)held(top + y - MARGIN, from->height) * (size_t)from->width;
        const int first = left - MARGIN, end = first + PADDED_W;
        const int a = held(-first, PADDED_W + 1),
                  b = end > from->width ? held(from->width - first, PADDED_W) : PADDED_W;
        for (int x = 0; x < a; x++) tile->source[y][x] = row[0];
        if (b > a) memcpy(tile->source[y] + a, row + first + a, (size_t)(b - a) * sizeof *row);
        for (int x = b > a ? b : a; x < PADDED_W; x++) tile->source[y][x] = row[from->width - 1];
    }
}

/* Less `spare` cells at each side. */
INLINE void pass_across(const struct kernel *kernel, int spare, struct tile *tile) {
    for (int y = spare; y < PADDED_H - spare; y++)
        for (int x = spare; x < LONG_W - spare; x += LANES) {
            const float *at = tile->source[y] + ROUND_MOST + x;
            lanes here, a, b;
            get(&here, at);
            lanes smooth = here * kernel->g[0][0], first = here * 0;
            for (int i = 1; i <= kernel->radius; i++) {
                get(&a, at + i), get(&b, at - i);
                smooth += (a + b) * kernel->g[0][i], first += (a - b) * kernel->g[1][i];
            }
            put(tile->now.across[0][y] + x, &smooth), put(tile->now.across[1][y] + x, &first);
        }
}

INLINE void pass_down(const struct kernel *kernel, int spare, struct tile *tile) {
    for (int y = spare; y < LONG_H - spare; y++)
        for (int x = spare; x < LONG_W - spare; x += LANES) {
            const float *at[2];
            lanes here, a, b;
            for (int k = 0; k < 2; k++) at[k] = tile->now.across[k][y + ROUND_MOST] + x;
            get(&here, at[1]);
            lanes in_x = here * kernel->g[0][0], in_y = here * 0;
            for (int i = 1; i <= kernel->radius; i++) {
                get(&a, at[1] + i * LONG_W), get(&b, at[1] - i * LONG_W);
                in_x += (a + b) * kernel->g[0][i];
                get(&a, at[0] + i * LONG_W), get(&b, at[0] - i * LONG_W);
                in_y += (a - b) * kernel->g[1][i];
            }
            in_x *= kernel->scale, in_y *= kernel->scale;
            put(tile->part[0][y] + x, &in_x), put(tile->part[1][y] + x, &in_y);
        }
}

/* Slope across direction k, and across its mirror image 16 - k. */
INLINE void turn(int k, int spare, struct tile *tile) {
    const double angle = M_PI * k / RIDGE_DIRECTIONS;
    const float a = (float)-sin(angle), b = (float)cos(angle);
    for (int y = spare; y < LONG_H - spare; y++)
        for (int x = spare; x < LONG_W - spare; x += LANES) {
            lanes in_x, in_y;
            get(&in_x, tile->part[0][y] + x), get(&in_y, tile->part[1][y] + x);
            const lanes even = in_x * a, odd = in_y * b, one = even + odd, other = even - odd;
            put(tile->now.u[0][y] + x, &one), put(tile->now.u[1][y] + x, &other);
        }
}

INLINE void smooth_along(const struct kernel *kernel, int k, bool mirrored, struct tile *tile) {
    int step[TAPS + 1];
    for (int i = 0; i <= TAPS; i++)
        step[i] = kernel->off[k][i][1] * LONG_W + (mirrored ? -1 : 1) * kernel->off[k][i][0];
    const int more = abs(kernel->flank[k][1]);
    for (int y = FLANK - more; y < FLANK + TILE_HEIGHT + more; y++)
        for (int x = 0; x < FLANKS_W; x += 2 * LANES) {
            const float *at = tile->now.u[mirrored][y + REACH - FLANK] + REACH - FLANK + x;
            lanes a, b, c, d, one, two;
            get(&one, at), get(&two, at + LANES);
            one *= kernel->tap[0], two *= kernel->tap[0];
            for (int i = 1; i <= TAPS; i++) {
                get(&a, at + step[i]), get(&b, at - step[i]);
                get(&c, at + step[i] + LANES), get(&d, at - step[i] + LANES);
                one += (a + b) * kernel->tap[i], two += (c + d) * kernel->tap[i];
            }
            put(tile->slope[y] + x, &one), put(tile->slope[y] + x + LANES, &two);
        }
}

/* best := the larger; along := the direction where it was. */
INLINE void keep(float *best, int32_t *along, const lanes *sum, int direction) {
    lanes old;
    lane_bits way, was, is;
    get(&old, best);
    const lane_bits over = *sum > old;
    memcpy(&was, &old, sizeof was), memcpy(&is, sum, sizeof is), memcpy(&way, along, sizeof way);
    was = (over & is) | (~over & was), way = (over & direction) | (~over & way);
    memcpy(best, &was, sizeof was), memcpy(along, &way, sizeof way);
}

INLINE void lesser(const lanes *a, const lanes *b, lanes *out) {
    const lane_bits under = *a < *b;
    lane_bits x, y;
    memcpy(&x, a, sizeof x), memcpy(&y, b, sizeof y);
    x = (under & x) | (~under & y);
    memcpy(out, &x, sizeof *out);
}

/* Both flanks of a dark line rise, so what the lesser rises counts; both of a light one fall. */
INLINE void tile_direction(const struct kernel *kernel, int k, bool mirrored, bool mean, struct tile *tile) {
    const int direction = mirrored ? RIDGE_DIRECTIONS - k : k;
    /* across the mirror image: (-sin, -cos) */
    const int step = (mirrored ? -1 : 1) * kernel->flank[k][1] * FLANKS_W + kernel->flank[k][0];
    smooth_along(kernel, k, mirrored, tile);
    for (int y = 0; y < TILE_HEIGHT; y++)
        for (int x = 0; x < TILE_WIDTH; x += LANES) {
            const float *at = tile->slope[y + FLANK] + FLANK + x;
            lanes near, far, dark, light;
            get(&far, at + step), get(&near, at - step);
            const lanes rise = -near, fall = -far;
            if (mean)
                dark = (far + rise) * .5F, light = -dark;
            else
                lesser(&far, &rise, &dark), lesser(&near, &fall, &light);
            keep(tile->dark[y] + x, tile->along_dark[y] + x, &dark, direction);
            keep(tile->light[y] + x, tile->along_light[y] + x, &light, direction);
        }
}

INLINE void all_directions(const struct kernel *kernel, bool mean, struct tile *tile) {
    for (int k = 0; k <= RIDGE_DIRECTIONS / 2; k++) {
        turn(k, REACH - kernel->reach, tile);
        tile_direction(kernel, k, false, mean, tile);
        if (k > 0 && k < RIDGE_DIRECTIONS / 2) tile_direction(kernel, k, true, mean, tile);
    }
}

INLINE void search(const struct kernel *kernel, bool mean, struct tile *tile) {
    pass_across(kernel, REACH - kernel->reach, tile), pass_down(kernel, REACH - kernel->reach, tile);
    memset(tile->dark, 0, sizeof tile->dark), memset(tile->light, 0, sizeof tile->light);
    if (mean)
        all_directions(kernel, true, tile);
    else
        all_directions(kernel, false, tile);
}

static void search_plain(const struct kernel *kernel, bool mean, struct tile *tile) {
    search(kernel, mean, tile);
}

WIDE static void search_wide(const struct kernel *kernel, bool mean, struct tile *tile) {
    search(kernel, mean, tile);
}

static void tile_store(const struct filtering *job, int left, int top, int scale, const struct tile *tile) {
    const int width = job->full.width, w = width - left < TILE_WIDTH ? width - left : TILE_WIDTH;
    for (int y = 0; y < TILE_HEIGHT && top + y < job->full.height; y++) {
        const size_t at = (size_t)(top + y) * (size_t)width + (size_t)left;
        memcpy(job->out->dark[scale] + at, tile->dark[y], (size_t)w * sizeof(float));
        memcpy(job->out->light[scale] + at, tile->light[y], (size_t)w * sizeof(float));
        if (scale != RIDGE_SCALES - 1) continue;
        for (int x = 0; x < w; x++) {
            job->out->along_dark[at + (size_t)x] = (uint8_t)tile->along_dark[y][x];
            job->out->along_light[at + (size_t)x] = (uint8_t)tile->along_light[y][x];
        }
    }
}

static void filter_tile(void *context, size_t chunk) {
    const struct filtering *job = context;
    const int columns = (job->full.width + TILE_WIDTH - 1) / TILE_WIDTH;
    const int left = (int)chunk % columns * TILE_WIDTH, top = (int)chunk / columns * TILE_HEIGHT;
    struct tile *tile = memory_need(1, sizeof *tile);
    tile_load(&job->full, left, top, tile);
    for (int scale = 0; scale < RIDGE_SCALES; scale++) {
        (job->wide ? search_wide : search_plain)(&job->kernel[scale], job->out->mean, tile);
        tile_store(job, left, top, scale, tile);
    }
    memory_free(tile);
}

static void filter(const float *plane, int width, int height, struct work *work, bool wide,
                   struct ridge_planes *out) {
    struct filtering job = {.full = {plane, width, height}, .out = out, .wide = wide};
    for (int i = 0; i < RIDGE_SCALES; i++) kernel_make(ridge_sigma[i], &job.kernel[i]);
    const int columns = (width + TILE_WIDTH - 1) / TILE_WIDTH,
              rows = (height + TILE_HEIGHT - 1) / TILE_HEIGHT;
    work_run(work, (size_t)columns * (size_t)rows, filter_tile, &job);
}

void ridge_filter(const float *plane, int width, int height, struct work *work, struct ridge_planes *out) {
    bool wide = false;
#if defined(__x86_64__)
    wide = __builtin_cpu_supports("avx2");
#endif
    filter(plane, width, height, work, wide, out);
}

void ridge_filter_plainly(const float *plane, int width, int height, struct work *work,
                          struct ridge_planes *out) {
    filter(plane, width, height, work, false, out);
}
