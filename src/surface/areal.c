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

static void measure_slopes(const struct relief *relief, struct areal *out) {
    const size_t w = (size_t)relief->width;
    double squares = 0, area = 0;
    for (int y = 0; y < relief->height; y++)
        for (int x = 0; x < relief->width; x++) {
            const double p = slope_at(relief->z_mm + w * (size_t)y, 1, relief->width, x) / relief->step_mm;
            const double q = slope_at(relief->z_mm + x, w, relief->height, y) / relief->step_mm;
            const double g = p * p + q * q;
            squares += g;
            area += g / (1 + sqrt(1 + g)); /* sqrt(1 + g) - 1 without losing digits */
        }
    const double n = (double)relief->width * relief->height;
    out->value[AREAL_SDQ] = sqrt(squares / n);
    out->value[AREAL_SDR] = area / n;
}

static double mean_of(const struct relief *relief) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += relief->z_mm[i];
    return sum / (double)n;
}

static void measure_heights(const struct relief *relief, double mean, struct areal *out) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    double sum1 = 0, sum2 = 0, sum3 = 0, sum4 = 0, low = 0, high = 0;
    for (size_t i = 0; i < n; i++) {
        const double z = relief->z_mm[i] - mean, z2 = z * z;
        sum1 += fabs(z), sum2 += z2, sum3 += z2 * z, sum4 += z2 * z2;
        low = fmin(low, z), high = fmax(high, z);
    }
    const double m = (double)n, sq = sqrt(sum2 / m);
    out->value[AREAL_SA] = sum1 / m;
    out->value[AREAL_SQ] = sq;
    out->value[AREAL_SZ] = high - low;
    out->value[AREAL_SSK] = sq > 0 ? sum3 / m / (sq * sq * sq) : 0;
    out->value[AREAL_SKU] = sq > 0 ? sum4 / m / (sq * sq * sq * sq) : 0;
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

static double spread_of(const struct areal piece[9], int parameter) {
    double mean = 0, squares = 0;
    for (int i = 0; i < 9; i++) mean += piece[i].value[parameter] / 9;
    for (int i = 0; i < 9; i++) {
        const double d = parameter == AREAL_STD
                             ? areal_turn(piece[i].value[parameter], piece[0].value[parameter])
                             : piece[i].value[parameter] - mean;
        squares += d * d;
    }
    return sqrt(squares / 8);
}

void areal_chance(const struct relief *relief, struct work *work, struct areal *u95) {
    static const double t95 = 2.306; /* Student, 8 degrees of freedom */
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
    for (int k = 0; k < AREAL_COUNT; k++) u95->value[k] = t95 * spread_of(each, k) / 3;
}

void areal_measure(const struct relief *relief, struct work *work, struct areal *out) {
    assert(relief->width >= AREAL_LEAST_SIDE && relief->height >= AREAL_LEAST_SIDE);
    memset(out, 0, sizeof *out);
    const double mean = mean_of(relief);
    measure_heights(relief, mean, out);
    measure_slopes(relief, out);
    if (out->value[AREAL_SQ] > 0) areal_spectral(relief, mean, work, out);
}
