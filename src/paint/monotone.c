#include "paint/monotone.h"
#include <assert.h>
#include <math.h>

static double secant(const double x[], const double y[], size_t i) {
    return (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
}

/* m limited to the side and three times the size of a secant */
static double limited(double m, double by) {
    if (m * by <= 0) return 0;
    return fabs(m) > 3 * fabs(by) ? 3 * by : m;
}

static double inner_slope(const double x[], const double y[], size_t i) {
    const double left = secant(x, y, i - 1), right = secant(x, y, i);
    if (left * right <= 0) return 0;
    const double hl = x[i] - x[i - 1], hr = x[i + 1] - x[i];
    const double m = (left * hr + right * hl) / (hl + hr);
    return limited(limited(m, left), right);
}

/* near: the secant at the end, far: the next one inwards */
static double end_slope(double near, double h_near, double far, double h_far) {
    return limited(near + (near - far) * h_near / (h_near + h_far), near);
}

void monotone_slopes(const double x[], const double y[], size_t n, double slope[]) {
    assert(n >= 2);
    if (n == 2) {
        slope[0] = slope[1] = secant(x, y, 0);
        return;
    }
    for (size_t i = 1; i + 1 < n; i++) slope[i] = inner_slope(x, y, i);
    slope[0] = end_slope(secant(x, y, 0), x[1] - x[0], secant(x, y, 1), x[2] - x[1]);
    slope[n - 1] =
        end_slope(secant(x, y, n - 2), x[n - 1] - x[n - 2], secant(x, y, n - 3), x[n - 2] - x[n - 3]);
}

double monotone_at(const double x[], const double y[], const double slope[], size_t n, double at) {
    if (!(at > x[0])) return y[0];
    if (at >= x[n - 1]) return y[n - 1];
    size_t i = 0;
    while (at >= x[i + 1]) i++;
    const double h = x[i + 1] - x[i], t = (at - x[i]) / h, u = 1 - t;
    const double value = y[i] * (1 + 2 * t) * u * u + y[i + 1] * (1 + 2 * u) * t * t +
                         h * (slope[i] * t * u * u - slope[i + 1] * u * t * t);
    /* The last digits of the sum may leave the piece's range; the curve does not. */
    return fmin(fmax(value, fmin(y[i], y[i + 1])), fmax(y[i], y[i + 1]));
}

void monotone_pool_falling(double y[], size_t n) {
    double mean[64];
    size_t size[64], blocks = 0;
    assert(n <= 64);
    for (size_t i = 0; i < n; i++) {
        mean[blocks] = y[i];
        size[blocks++] = 1;
        for (; blocks > 1 && mean[blocks - 2] < mean[blocks - 1]; blocks--) {
            const size_t a = size[blocks - 2], b = size[blocks - 1];
            mean[blocks - 2] =
                (mean[blocks - 2] * (double)a + mean[blocks - 1] * (double)b) / (double)(a + b);
            size[blocks - 2] = a + b;
        }
    }
    for (size_t b = 0, i = 0; b < blocks; b++)
        for (size_t k = 0; k < size[b]; k++) y[i++] = mean[b];
}
