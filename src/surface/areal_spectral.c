#include "surface/areal_spectral.h"
#include "base/memory.h"
#include "surface/transform.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>

static const double pi = 3.14159265358979323846;
static const double fall = .2; /* ISO 25178-2: the ACF's value that Sal and Str go by */
enum { RAYS = 360, ANGLES = 180 };

/* ---- filters ---- */

double areal_transmission(double lambda_over_cutoff) {
    if (!(lambda_over_cutoff > 0)) return 0;
    return exp(-log(2) / (lambda_over_cutoff * lambda_over_cutoff));
}

static double gain_of(double frequency_per_mm, double s_mm, double l_mm) {
    const double lambda = frequency_per_mm > 0 ? 1 / frequency_per_mm : (double)INFINITY;
    const double s = s_mm > 0 ? areal_transmission(lambda / s_mm) : 1;
    return l_mm > 0 ? s * (1 - areal_transmission(lambda / l_mm)) : s;
}

static void transform(struct relief *relief, fftw_r2r_kind kind) {
    fftw_plan plan = fftw_plan_r2r_2d(relief->height, relief->width, relief->z_mm, relief->z_mm, kind, kind,
                                      FFTW_ESTIMATE);
    assert(plan);
    fftw_execute(plan);
    fftw_destroy_plan(plan);
}

void areal_filter(struct relief *relief, double s_mm, double l_mm) {
    const int w = relief->width, h = relief->height;
    transform(relief, FFTW_REDFT10);
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            const double f = hypot(x / (2. * w), y / (2. * h)) / relief->step_mm;
            relief->z_mm[(size_t)y * (size_t)w + (size_t)x] *= gain_of(f, s_mm, l_mm) / (4. * w * h);
        }
    transform(relief, FFTW_REDFT01);
}

/* ---- the autocorrelation ---- */

/* 2^a 3^b 5^c, at least n: sizes that transform quickly. */
static int quick_size(int n) {
    for (;; n++) {
        int m = n;
        for (int p = 2; p <= 5; p += p == 2 ? 1 : 2)
            while (m % p == 0) m /= p;
        if (m == 1) return n;
    }
}

struct correlation {
    int width, height; /* padded */
    int lag_x, lag_y;  /* the longest that are used */
    float *value;      /* of lag (x, y), negative lags wrapped */
};

static void power_in_place(fftwf_complex *spectrum, size_t n) {
    for (size_t i = 0; i < n; i++) {
        const float re = crealf(spectrum[i]), im = cimagf(spectrum[i]);
        spectrum[i] = re * re + im * im;
    }
}

/* Heights over their root mean square: single precision then holds the sums of any unit. */
static void correlate(const struct relief *relief, double mean, double sq, struct work *work,
                      struct correlation *out) {
    const int w = relief->width, h = relief->height;
    out->lag_x = w / 2, out->lag_y = h / 2;
    out->width = quick_size(w + out->lag_x + 3), out->height = quick_size(h + out->lag_y + 3);
    const size_t pw = (size_t)out->width, ph = (size_t)out->height, half = ph * (pw / 2 + 1);
    out->value = memory_need(pw * ph, sizeof *out->value);
    fftwf_complex *spectrum = memory_need(half, sizeof *spectrum);
    for (size_t y = 0; y < (size_t)h; y++)
        for (size_t x = 0; x < (size_t)w; x++)
            out->value[y * pw + x] = (float)((relief->z_mm[y * (size_t)w + x] - mean) / sq);
    transform_forward(out->value, (int)pw, (int)ph, spectrum, work);
    power_in_place(spectrum, half);
    transform_back(spectrum, (int)pw, (int)ph, out->value, work);
    memory_free(spectrum);
}

static double lag_value(const struct correlation *c, const struct relief *relief, int x, int y) {
    const size_t at =
        (size_t)(y < 0 ? y + c->height : y) * (size_t)c->width + (size_t)(x < 0 ? x + c->width : x);
    const double overlap = (double)(relief->width - abs(x)) * (relief->height - abs(y));
    const double all = (double)relief->width * relief->height;
    return (double)c->value[at] / (double)c->value[0] * all / overlap;
}

/* The weights of a cubic through four neighbours (Catmull and Rom). */
static void cubic(double t, double weight[4]) {
    weight[0] = t * (t * (2 - t) - 1) / 2;
    weight[1] = (t * t * (3 * t - 5) + 2) / 2;
    weight[2] = t * (t * (4 - 3 * t) + 1) / 2;
    weight[3] = t * t * (t - 1) / 2;
}

static double lag_between(const struct correlation *c, const struct relief *relief, double x, double y) {
    const int ix = (int)floor(x), iy = (int)floor(y);
    double wx[4], wy[4], sum = 0;
    cubic(x - ix, wx), cubic(y - iy, wy);
    for (int j = 0; j < 4; j++)
        for (int i = 0; i < 4; i++) sum += wx[i] * wy[j] * lag_value(c, relief, ix + i - 1, iy + j - 1);
    return sum;
}

/* How far (pixels) the ACF stays over .2 in a direction; not_closed when the field ends first. */
static double reach_of(const struct correlation *c, const struct relief *relief, double angle,
                       bool *not_closed) {
    static const double stride = .25;
    const double dx = cos(angle), dy = sin(angle);
    const double longest = fmin(fabs(dx) > 1e-12 ? c->lag_x / fabs(dx) : (double)INFINITY,
                                fabs(dy) > 1e-12 ? c->lag_y / fabs(dy) : (double)INFINITY);
    double before = 1;
    for (double r = stride; r <= longest; r += stride) {
        const double here = lag_between(c, relief, r * dx, r * dy);
        if (here <= fall) return r - stride * (fall - here) / (before - here);
        before = here;
    }
    *not_closed = true;
    return longest;
}

static void measure_reach(const struct relief *relief, double mean, struct work *work, struct areal *out) {
    struct correlation c;
    correlate(relief, mean, out->value[AREAL_SQ], work, &c);
    double least = (double)INFINITY, most = 0;
    for (int i = 0; i < RAYS; i++) { /* half a turn: the ACF is symmetric */
        const double reach = reach_of(&c, relief, pi * i / RAYS, &out->is_open);
        least = fmin(least, reach), most = fmax(most, reach);
    }
    memory_free(c.value);
    out->value[AREAL_SAL] = least * relief->step_mm;
    out->value[AREAL_STR] = least / most;
}

/* ---- the direction ---- */

static double hann(int i, int n) {
    const double s = sin(pi * (i + .5) / n);
    return s * s;
}

static void window(const struct relief *relief, double mean, double sq, float *z) {
    const int w = relief->width, h = relief->height;
    double *across = memory_need((size_t)w, sizeof *across);
    for (int x = 0; x < w; x++) across[x] = hann(x, w) / sq;
    for (int y = 0; y < h; y++) {
        const double down = hann(y, h);
        for (int x = 0; x < w; x++) {
            const size_t i = (size_t)y * (size_t)w + (size_t)x;
            z[i] = (float)((relief->z_mm[i] - mean) * across[x] * down);
        }
    }
    memory_free(across);
}

/* Power by angle, a degree each, of the heights under a Hann window (no cross from the edges). */
static void angular_power(const struct relief *relief, double mean, double sq, struct work *work,
                          double power[ANGLES]) {
    const int w = relief->width, h = relief->height;
    const size_t half = (size_t)(w / 2 + 1);
    float *z = memory_need((size_t)w * (size_t)h, sizeof *z);
    fftwf_complex *spectrum = memory_need((size_t)h * half, sizeof *spectrum);
    window(relief, mean, sq, z);
    transform_forward(z, w, h, spectrum, work);
    memory_free(z);
    for (int y = 0; y < h; y++)
        for (int x = 0; x < (int)half; x++) {
            const double fx = (double)x / w, fy = -(double)(y <= h / 2 ? y : y - h) / h; /* y points down */
            if ((x <= 1 && (y <= 1 || y == h - 1))) continue; /* what the window leaves of the mean */
            const fftwf_complex s = spectrum[(size_t)y * half + (size_t)x];
            const double here = (double)(crealf(s) * crealf(s) + cimagf(s) * cimagf(s));
            double angle = atan2(fy, fx) * 180 / pi;
            if (angle < 0) angle += 180;
            power[(int)(angle + .5) % ANGLES] += here;
        }
    memory_free(spectrum);
}

/* The peak of the smoothed angular power, then the middle of the power within 15 degrees of it. */
static double direction_of(const double power[ANGLES]) {
    int peak = 0;
    double most = -1, c = 0, s = 0;
    for (int i = 0; i < ANGLES; i++) {
        double sum = 0;
        for (int k = -5; k <= 5; k++) sum += power[(i + k + ANGLES) % ANGLES];
        if (sum > most) most = sum, peak = i;
    }
    for (int k = -15; k <= 15; k++) {
        const double p = power[(peak + k + ANGLES) % ANGLES];
        c += p * cos(pi * k / 90), s += p * sin(pi * k / 90);
    }
    const double angle = fmod(peak + 90 / pi * atan2(s, c) + 180, 180);
    return angle;
}

void areal_spectral(const struct relief *relief, double mean, struct work *work, struct areal *out) {
    double power[ANGLES] = {0};
    measure_reach(relief, mean, work, out);
    angular_power(relief, mean, out->value[AREAL_SQ], work, power);
    out->value[AREAL_STD] = direction_of(power);
}
