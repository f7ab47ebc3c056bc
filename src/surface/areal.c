#include "surface/areal.h"
#include "base/memory.h"
#include "surface/areal_spectral.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const double slope_part[4][7] = {{-147, 360, -450, 400, -225, 72, -10},
                                        {-10, -77, 150, -100, 50, -15, 2},
                                        {2, -24, -35, 80, -30, 8, -1},
                                        {-1, 9, -45, 0, 45, -9, 1}};

/* The slope at node i of a line of n heights, stride apart: six heights around it, fewer on one side at the
 * ends. */
static double slope_at(const double *line, size_t stride, int n, int i) {
    int node = i < 3 ? i : i >= n - 3 ? i - (n - 7) : 3;
    const bool mirrored = node > 3;
    const double *part = slope_part[mirrored ? 6 - node : node];
    const double *from = line + stride * (size_t)(i - node);
    double sum = 0;
    for (int k = 0; k < 7; k++)
        sum += mirrored ? -part[6 - k] * from[stride * (size_t)k] : part[k] * from[stride * (size_t)k];
    return sum / 60;
}

/* ---- sums over rows, in chunks that are added in their order ---- */

enum { ROWS = 32, SUMS = 9 };
enum { SUM_Z, SUM_ABS, SUM_2, SUM_3, SUM_4, SUM_SLOPES, SUM_AREA, LOWEST, HIGHEST };

struct summing {
    const struct relief *relief;
    double mean;
    double (*sums)[SUMS];
};

static int last_row(const struct relief *relief, size_t chunk) {
    const int end = (int)(chunk + 1) * ROWS;
    return end < relief->height ? end : relief->height;
}

static void sum_heights(void *context, size_t chunk) {
    const struct summing *job = context;
    const size_t w = (size_t)job->relief->width, end = (size_t)last_row(job->relief, chunk) * w;
    double sum = 0;
    for (size_t i = chunk * ROWS * w; i < end; i++) sum += job->relief->z_mm[i];
    job->sums[chunk][SUM_Z] = sum;
}

static void sum_slopes(const struct summing *job, int y, double *sums) {
    const struct relief *relief = job->relief;
    const size_t w = (size_t)relief->width;
    const double per_mm = 1 / relief->step_mm;
    for (int x = 0; x < relief->width; x++) {
        const double p = per_mm * slope_at(relief->z_mm + w * (size_t)y, 1, relief->width, x);
        const double q = per_mm * slope_at(relief->z_mm + x, w, relief->height, y);
        const double g = p * p + q * q;
        sums[SUM_SLOPES] += g;
        sums[SUM_AREA] += g / (1 + sqrt(1 + g)); /* sqrt(1 + g) - 1 without losing digits */
    }
}

static void sum_powers(void *context, size_t chunk) {
    const struct summing *job = context;
    const size_t w = (size_t)job->relief->width;
    double *sums = job->sums[chunk];
    sums[LOWEST] = (double)INFINITY, sums[HIGHEST] = -(double)INFINITY;
    for (int y = (int)chunk * ROWS; y < last_row(job->relief, chunk); y++) {
        const double *row = job->relief->z_mm + (size_t)y * w;
        for (size_t x = 0; x < w; x++) {
            const double z = row[x] - job->mean, z2 = z * z;
            sums[SUM_ABS] += fabs(z), sums[SUM_2] += z2, sums[SUM_3] += z2 * z, sums[SUM_4] += z2 * z2;
            sums[LOWEST] = fmin(sums[LOWEST], z), sums[HIGHEST] = fmax(sums[HIGHEST], z);
        }
        sum_slopes(job, y, sums);
    }
}

static void tell_sums(const double s[SUMS], double n, struct areal *out) {
    const double sq = sqrt(s[SUM_2] / n);
    out->value[AREAL_SA] = s[SUM_ABS] / n;
    out->value[AREAL_SQ] = sq;
    out->value[AREAL_SZ] = s[HIGHEST] - s[LOWEST];
    out->value[AREAL_SSK] = sq > 0 ? s[SUM_3] / n / (sq * sq * sq) : 0;
    out->value[AREAL_SKU] = sq > 0 ? s[SUM_4] / n / (sq * sq * sq * sq) : 0;
    out->value[AREAL_SDQ] = sqrt(s[SUM_SLOPES] / n);
    out->value[AREAL_SDR] = s[SUM_AREA] / n;
}

/* Returns the mean. */
static double measure_sums(const struct relief *relief, struct work *work, struct areal *out) {
    const size_t chunks = ((size_t)relief->height + ROWS - 1) / ROWS;
    const double n = (double)relief->width * relief->height;
    struct summing job = {relief, 0, memory_need(chunks, sizeof *job.sums)};
    double all[SUMS] = {0};
    work_run(work, chunks, sum_heights, &job);
    for (size_t i = 0; i < chunks; i++) job.mean += job.sums[i][SUM_Z];
    job.mean /= n;
    work_run(work, chunks, sum_powers, &job);
    for (size_t i = 0; i < chunks; i++) {
        for (int k = SUM_ABS; k <= SUM_AREA; k++) all[k] += job.sums[i][k];
        all[LOWEST] = fmin(all[LOWEST], job.sums[i][LOWEST]);
        all[HIGHEST] = fmax(all[HIGHEST], job.sums[i][HIGHEST]);
    }
    memory_free(job.sums);
    tell_sums(all, n, out);
    return job.mean;
}

static void add_terms(double terms[6], double x, double y) {
    const double value[6] = {1, x, y, x * x, x * y, y * y};
    memcpy(terms, value, sizeof value);
}

/* Solves the 6 x 6 system of the levelling by elimination; coordinates run -1..1, so it is well posed. */
static void solve6(double a[6][7]) {
    for (int k = 0; k < 6; k++)
        for (int i = 0; i < 6; i++) {
            if (i == k) continue;
            const double f = a[i][k] / a[k][k];
            for (int j = k; j < 7; j++) a[i][j] -= f * a[k][j];
        }
}

void areal_level(struct relief *relief) {
    const int w = relief->width, h = relief->height;
    double a[6][7] = {{0}}, terms[6];
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            add_terms(terms, (2 * x + 1.) / w - 1, (2 * y + 1.) / h - 1);
            const double z = relief->z_mm[(size_t)y * (size_t)w + (size_t)x];
            for (int i = 0; i < 6; i++) {
                for (int j = 0; j < 6; j++) a[i][j] += terms[i] * terms[j];
                a[i][6] += terms[i] * z;
            }
        }
    solve6(a);
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            add_terms(terms, (2 * x + 1.) / w - 1, (2 * y + 1.) / h - 1);
            for (int i = 0; i < 6; i++)
                relief->z_mm[(size_t)y * (size_t)w + (size_t)x] -= terms[i] * a[i][6] / a[i][i];
        }
}

double areal_turn(double a_deg, double b_deg) {
    const double d = fabs(fmod(a_deg - b_deg, 180));
    return fmin(d, 180 - d);
}

static void piece_of(const struct relief *relief, int i, int j, struct relief *piece) {
    const int x0 = relief->width * i / 3, y0 = relief->height * j / 3;
    for (int y = 0; y < piece->height; y++)
        memcpy(piece->z_mm + (size_t)y * (size_t)piece->width,
               relief->z_mm + (size_t)(y0 + y) * (size_t)relief->width + x0,
               (size_t)piece->width * sizeof *piece->z_mm);
}

static double mean_of(const struct areal piece[9], int parameter) {
    double mean = 0;
    for (int i = 0; i < 9; i++) mean += piece[i].value[parameter] / 9;
    return mean;
}

static double spread_of(const struct areal piece[9], const struct areal *whole, int parameter) {
    const double mean = mean_of(piece, parameter);
    double squares = 0;
    for (int i = 0; i < 9; i++) {
        const double d = parameter == AREAL_STD
                             ? areal_turn(piece[i].value[parameter], whole->value[parameter])
                             : piece[i].value[parameter] - mean;
        squares += d * d;
    }
    return sqrt(squares / 8);
}

void areal_chance(const struct relief *relief, const struct areal *whole, struct work *work,
                  struct areal *u95) {
    static const double t95 = 2.306; /* Student, 8 degrees of freedom */
    /* The shortest and the longest of all ways go with chance to one side, by about 1 / side of the field:
     * half of what the pieces, three times as small, read off the whole; Sal of fields without a lay more. */
    static const double aside[AREAL_COUNT] = {[AREAL_SAL] = .75, [AREAL_STR] = .5};
    struct relief piece = {relief->width / 3, relief->height / 3, relief->step_mm, NULL};
    struct areal each[9];
    memset(u95, 0, sizeof *u95);
    if (piece.width < AREAL_LEAST_SIDE || piece.height < AREAL_LEAST_SIDE) return;
    piece.z_mm = memory_need((size_t)piece.width * (size_t)piece.height, sizeof *piece.z_mm);
    for (int i = 0; i < 9; i++) {
        piece_of(relief, i % 3, i / 3, &piece);
        areal_measure(&piece, work, &each[i]);
    }
    memory_free(piece.z_mm);
    for (int k = 0; k < AREAL_COUNT; k++)
        u95->value[k] =
            t95 * spread_of(each, whole, k) / 3 + aside[k] * fabs(whole->value[k] - mean_of(each, k));
}

void areal_measure(const struct relief *relief, struct work *work, struct areal *out) {
    assert(relief->width >= AREAL_LEAST_SIDE && relief->height >= AREAL_LEAST_SIDE);
    memset(out, 0, sizeof *out);
    const double mean = measure_sums(relief, work, out);
    if (out->value[AREAL_SQ] > 0) areal_spectral(relief, mean, work, out);
}
