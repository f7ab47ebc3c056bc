/* Did the camera move, is a picture blurred? Each picture is held against what the others say it should look
 * like (four lights or more), by the peak of the cross-correlation over the middle of the field. */
#include "base/memory.h"
#include "surface/stereo.h"
#include <assert.h>
#include <complex.h>
#include <fftw3.h>
#include <math.h>

enum { BLOCK_MOST = 384 };

struct block {
    int side, x0, y0;
};

static struct block block_of(int width, int height) {
    const int least = width < height ? width : height;
    const int side = least < BLOCK_MOST ? least : BLOCK_MOST;
    return (struct block){side, (width - side) / 2, (height - side) / 2};
}

static double window(int i, int n) {
    const double s = sin(3.14159265358979323846 * (i + .5) / n);
    return s * s;
}

/* The plane about its mean, under a window. */
static void prepare(double *a, int n) {
    double mean = 0;
    for (int i = 0; i < n * n; i++) mean += a[i] / ((double)n * n);
    for (int i = 0; i < n * n; i++) a[i] = (a[i] - mean) * window(i % n, n) * window(i / n, n);
}

static double energy(const double *a, int n) {
    double sum = 0;
    for (int i = 0; i < n * n; i++) sum += a[i] * a[i];
    return sum;
}

static void expect(const struct stereo_task *task, int which, struct block b, double *got, double *want) {
    struct stereo_lanes lane;
    for (int y = 0; y < b.side; y++)
        for (int x = 0; x < b.side; x += STEREO_LANES) {
            const int px = b.x0 + x, py = b.y0 + y;
            stereo_solve(task, px, py, which, &lane);
            for (int k = 0; k < STEREO_LANES && x + k < b.side; k++) {
                const double m[2] = {stereo_lean_x(&task->lean[which], px + k),
                                     stereo_lean_y(&task->lean[which], py)};
                const double say =
                    (double)lane.a[k] * (1 - (double)lane.p[k] * m[0] - (double)lane.q[k] * m[1]);
                const double see =
                    (double)task->shade[which][(size_t)py * (size_t)task->width + (size_t)(px + k)];
                want[y * b.side + x + k] = fmin(2, fmax(0, say));
                got[y * b.side + x + k] = fmin(2, see);
            }
        }
}

/* got := the circular cross-correlation of got and want, not normalised. */
static void cross(double *got, double *want, int n) {
    const size_t half = (size_t)n * (size_t)(n / 2 + 1);
    fftw_complex *a = memory_need(half, sizeof *a), *b = memory_need(half, sizeof *b);
    fftw_plan first = fftw_plan_dft_r2c_2d(n, n, got, a, FFTW_ESTIMATE);
    fftw_plan second = fftw_plan_dft_r2c_2d(n, n, want, b, FFTW_ESTIMATE);
    fftw_plan back = fftw_plan_dft_c2r_2d(n, n, a, got, FFTW_ESTIMATE);
    assert(first && second && back);
    fftw_execute(first), fftw_execute(second);
    for (size_t i = 0; i < half; i++) a[i] *= conj(b[i]);
    fftw_execute(back);
    fftw_destroy_plan(first), fftw_destroy_plan(second), fftw_destroy_plan(back);
    memory_free(a), memory_free(b);
}

/* The top of the parabola through three values, -.5..0.5. */
static double between(double before, double here, double after) {
    const double bend = before - 2 * here + after;
    return bend < 0 ? fmax(-.5, fmin(.5, .5 * (before - after) / bend)) : 0;
}

void stereo_find_shift(const struct stereo_task *task, int which, struct stereo_shift *out) {
    const struct block b = block_of(task->width, task->height);
    const int n = b.side;
    double *got = memory_need((size_t)n * (size_t)n, sizeof *got),
           *want = memory_need((size_t)n * (size_t)n, sizeof *want);
    expect(task, which, b, got, want);
    prepare(got, n), prepare(want, n);
    const double scale = sqrt(energy(got, n) * energy(want, n)) * n * n;
    cross(got, want, n);
    int best = 0;
    for (int i = 0; i < n * n; i++)
        if (got[i] > got[best]) best = i;
    const int dx = best % n, dy = best / n;
    const double *row = got + dy * n;
    const double fx = between(row[(dx + n - 1) % n], row[dx], row[(dx + 1) % n]);
    const double fy = between(got[(dy + n - 1) % n * n + dx], row[dx], got[(dy + 1) % n * n + dx]);
    *out = (struct stereo_shift){fx + (dx > n / 2 ? dx - n : dx), fy + (dy > n / 2 ? dy - n : dy),
                                 scale > 0 ? got[best] / scale : 0, scale > 0 ? got[0] / scale : 0};
    memory_free(got), memory_free(want);
}

/* The mean of 3 x 3 pixels, which takes most of the sensor's noise. */
static double smooth_at(const float *shade, int width, int x, int y) {
    double sum = 0;
    for (int j = -1; j <= 1; j++)
        for (int i = -1; i <= 1; i++)
            sum += fmin(2, (double)shade[(size_t)(y + j) * (size_t)width + (size_t)(x + i)]);
    return sum / 9;
}

double stereo_sharpness(const float *shade, int width, int height) {
    enum { FINE = 2, COARSE = 8 };
    const struct block b = block_of(width, height);
    double fine = 0, coarse = 0;
    for (int y = b.y0 + 1; y < b.y0 + b.side - COARSE - 1; y += 2)
        for (int x = b.x0 + 1; x < b.x0 + b.side - COARSE - 1; x += 2) {
            const double here = smooth_at(shade, width, x, y);
            const double f = smooth_at(shade, width, x + FINE, y) - here,
                         g = smooth_at(shade, width, x, y + FINE) - here,
                         c = smooth_at(shade, width, x + COARSE, y) - here,
                         d = smooth_at(shade, width, x, y + COARSE) - here;
            fine += f * f + g * g, coarse += c * c + d * d;
        }
    return coarse > 0 ? fine / coarse : 0;
}
