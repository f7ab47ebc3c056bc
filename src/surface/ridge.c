/* Tiles of 192 x 64 cells keep what one thread holds within its cache. Sums run in a fixed order for every
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

/* The body of a tile is compiled twice, plainly and for AVX2; neither fuses nor reorders anything, so both
 * give the same numbers. */

enum { TILE_WIDTH = 192, TILE_HEIGHT = 64, LANES = 8, TAPS_EACH_WAY = 7, REACH = 44, ROUND_MOST = 16 };
enum { MARGIN = REACH + ROUND_MOST, PADDED_W = TILE_WIDTH + 2 * MARGIN, PADDED_H = TILE_HEIGHT + 2 * MARGIN };
enum { LONG_W = TILE_WIDTH + 2 * REACH, LONG_H = TILE_HEIGHT + 2 * REACH };

struct kernel {
    int radius;
    float g[3][2 * ROUND_MOST + 1]; /* a Gaussian and its two derivatives, for correlation */
};

struct filtering {
    const float *plane;
    int width, height, columns;
    struct ridge_planes *out;
    struct kernel kernel[RIDGE_SCALES];
    bool wide;
    float tap[TAPS_EACH_WAY + 1]; /* along the line, alike at both scales in units of sigma_u */
};

struct tile {
    float source[PADDED_H][PADDED_W];
    float across[3][PADDED_H][LONG_W];
    float xx[LONG_H][LONG_W], xy[LONG_H][LONG_W], yy[LONG_H][LONG_W], uu[LONG_H][LONG_W];
    float sum[TILE_WIDTH];
    float dark[TILE_HEIGHT][TILE_WIDTH], light[TILE_HEIGHT][TILE_WIDTH];
    uint8_t along_dark[TILE_HEIGHT][TILE_WIDTH], along_light[TILE_HEIGHT][TILE_WIDTH];
};

static void kernel_make(double sigma, struct kernel *out) {
    out->radius = (int)ceil(3.5 * sigma);
    double total = 0, second = 0;
    for (int i = -out->radius; i <= out->radius; i++) total += exp(-i * i / (2 * sigma * sigma));
    for (int i = -out->radius; i <= out->radius; i++)
        second += (i * i / (sigma * sigma) - 1) / (sigma * sigma) * exp(-i * i / (2 * sigma * sigma)) / total;
    for (int i = -out->radius; i <= out->radius; i++) {
        const double g = exp(-i * i / (2 * sigma * sigma)) / total, s2 = sigma * sigma;
        out->g[0][i + out->radius] = (float)g;
        out->g[1][i + out->radius] = (float)(i / s2 * g); /* correlation: d/dx of what is seen */
        out->g[2][i + out->radius] =
            (float)((i * i / s2 - 1) / s2 * g - second * g); /* flat ground gives 0 */
    }
}

/* to[i] (+)= weight * from[i]; eight at a time, which compilers turn into vectors. */
INLINE void add_scaled(float *restrict to, const float *restrict from, float weight, int n) {
    int i = 0;
    for (; i + LANES <= n; i += LANES)
        for (int k = 0; k < LANES; k++) to[i + k] += weight * from[i + k];
    for (; i < n; i++) to[i] += weight * from[i];
}

static void tile_load(const struct filtering *job, int left, int top, struct tile *tile) {
    for (int y = 0; y < PADDED_H; y++) {
        int from = top + y - MARGIN;
        from = from < 0 ? 0 : from >= job->height ? job->height - 1 : from;
        const float *row = job->plane + (size_t)from * (size_t)job->width;
        for (int x = 0; x < PADDED_W; x++) {
            const int at = left + x - MARGIN;
            tile->source[y][x] = row[at < 0 ? 0 : at >= job->width ? job->width - 1 : at];
        }
    }
}

INLINE void pass_down(const struct kernel *kernel, int order, float (*from)[LONG_W], float (*to)[LONG_W]) {
    for (int y = 0; y < LONG_H; y++) {
        memset(to[y], 0, sizeof to[y]);
        for (int i = -kernel->radius; i <= kernel->radius; i++)
            add_scaled(to[y], from[y + ROUND_MOST + i], kernel->g[order][i + kernel->radius], LONG_W);
    }
}

INLINE void tile_derive(const struct kernel *kernel, struct tile *tile) {
    for (int order = 0; order < 3; order++)
        for (int y = 0; y < PADDED_H; y++) {
            memset(tile->across[order][y], 0, sizeof tile->across[order][y]);
            for (int i = -kernel->radius; i <= kernel->radius; i++)
                add_scaled(tile->across[order][y], tile->source[y] + ROUND_MOST + i,
                           kernel->g[order][i + kernel->radius], LONG_W);
        }
    pass_down(kernel, 0, tile->across[2], tile->xx);
    pass_down(kernel, 1, tile->across[1], tile->xy);
    pass_down(kernel, 2, tile->across[0], tile->yy);
}

INLINE void keep_row(float *best, uint8_t *along, const float *sum, float sign, int direction) {
    for (int x = 0; x < TILE_WIDTH; x++)
        if (sign * sum[x] > best[x]) best[x] = sign * sum[x], along[x] = (uint8_t)direction;
}

INLINE void tile_direction(const struct filtering *job, double sigma, int direction, struct tile *tile) {
    const double angle = M_PI * direction / RIDGE_DIRECTIONS, vx = cos(angle), vy = sin(angle);
    const float s2 = (float)(sigma * sigma), a = s2 * (float)(vy * vy), b = s2 * (float)(-2 * vx * vy),
                c = s2 * (float)(vx * vx);
    memset(tile->uu, 0, sizeof tile->uu);
    add_scaled(tile->uu[0], tile->xx[0], a, LONG_W * LONG_H);
    add_scaled(tile->uu[0], tile->xy[0], b, LONG_W * LONG_H);
    add_scaled(tile->uu[0], tile->yy[0], c, LONG_W * LONG_H);
    for (int y = 0; y < TILE_HEIGHT; y++) {
        memset(tile->sum, 0, sizeof tile->sum);
        for (int i = -TAPS_EACH_WAY; i <= TAPS_EACH_WAY; i++) {
            const double far = i * sigma * 4 / 3;
            const int dx = (int)lround(far * vx), dy = (int)lround(far * vy);
            add_scaled(tile->sum, tile->uu[y + REACH + dy] + REACH + dx, job->tap[abs(i)], TILE_WIDTH);
        }
        keep_row(tile->dark[y], tile->along_dark[y], tile->sum, 1, direction);
        keep_row(tile->light[y], tile->along_light[y], tile->sum, -1, direction);
    }
}

static void tile_store(const struct filtering *job, int left, int top, int scale, const struct tile *tile) {
    const int w = job->width - left < TILE_WIDTH ? job->width - left : TILE_WIDTH;
    for (int y = 0; y < TILE_HEIGHT && top + y < job->height; y++) {
        const size_t at = (size_t)(top + y) * (size_t)job->width + (size_t)left;
        memcpy(job->out->dark[scale] + at, tile->dark[y], (size_t)w * sizeof(float));
        memcpy(job->out->light[scale] + at, tile->light[y], (size_t)w * sizeof(float));
        if (scale != RIDGE_SCALES - 1) continue;
        memcpy(job->out->along_dark + at, tile->along_dark[y], (size_t)w);
        memcpy(job->out->along_light + at, tile->along_light[y], (size_t)w);
    }
}

INLINE void filter_scale(const struct filtering *job, int scale, struct tile *tile) {
    tile_derive(&job->kernel[scale], tile);
    memset(tile->dark, 0, sizeof tile->dark), memset(tile->light, 0, sizeof tile->light);
    for (int direction = 0; direction < RIDGE_DIRECTIONS; direction++)
        tile_direction(job, ridge_sigma[scale], direction, tile);
}

static void filter_plain(const struct filtering *job, int scale, struct tile *tile) {
    filter_scale(job, scale, tile);
}

WIDE static void filter_wide(const struct filtering *job, int scale, struct tile *tile) {
    filter_scale(job, scale, tile);
}

static void filter_tile(void *context, size_t chunk) {
    const struct filtering *job = context;
    const int left = (int)(chunk % (size_t)job->columns) * TILE_WIDTH,
              top = (int)(chunk / (size_t)job->columns) * TILE_HEIGHT;
    struct tile *tile = memory_need(1, sizeof *tile);
    tile_load(job, left, top, tile);
    for (int scale = 0; scale < RIDGE_SCALES; scale++) {
        (job->wide ? filter_wide : filter_plain)(job, scale, tile);
        tile_store(job, left, top, scale, tile);
    }
    memory_free(tile);
}

static void filter(const float *plane, int width, int height, struct work *work, bool wide,
                   struct ridge_planes *out) {
    struct filtering job = {.plane = plane, .width = width, .height = height, .out = out, .wide = wide};
    job.columns = (width + TILE_WIDTH - 1) / TILE_WIDTH;
    double total = 0;
    for (int i = -TAPS_EACH_WAY; i <= TAPS_EACH_WAY; i++) total += exp(-i * i * (16. / 9) / 30);
    for (int i = 0; i <= TAPS_EACH_WAY; i++) job.tap[i] = (float)(exp(-i * i * (16. / 9) / 30) / total);
    for (int i = 0; i < RIDGE_SCALES; i++) kernel_make(ridge_sigma[i], &job.kernel[i]);
    const size_t rows = ((size_t)height + TILE_HEIGHT - 1) / TILE_HEIGHT;
    work_run(work, rows * (size_t)job.columns, filter_tile, &job);
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
