/* The curve: a smoothing spline (Reinsch 1967) in coordinates that are nearly straight for a camera's
 * picture, cube roots of value and light (as in L*, with a little added so that black has a finite slope):
 *
 *     minimise  sum trust ((y - f(x)) / sd)^2 + integral (f''/bend)^2
 *
 * sd is what a neutral's own value is uncertain by, bend what a camera's curve bends by. When the result
 * falls anywhere it is made stiffer. Beyond its ends it goes on straight. */
#include "surface/camera_tone.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const double toe = .004;      /* added to light before the cube root */
static const double knot_sd = .0015; /* in those coordinates: about .1 of L* */
static const double bend_sd = 2;

static double bent(double light) {
    return cbrt(light + toe) - cbrt(toe); /* odd about -toe: a little less than no light is fine */
}

static double unbent(double y) {
    const double z = y + cbrt(toe);
    return z * z * z - toe;
}

/* Knots that lie together tell no line: two blacks of a sheet of dabs, its one white left out, made one that
 * called all colours black. */
static const double line_span = .1;

static bool spans_a_line(const struct tone_knot knot[], size_t count) {
    double low = HUGE_VAL, high = -HUGE_VAL;
    for (size_t i = 0; i < count; i++) low = fmin(low, knot[i].light), high = fmax(high, knot[i].light);
    return high - low >= line_span;
}

/* value = gain light + offset, relative errors: sum ((gain e + offset - v) / (e + .03))^2. */
static bool fit_line(const struct tone_knot knot[], size_t count, struct camera_tone *out) {
    double ww = 0, we = 0, wee = 0, wv = 0, wev = 0;
    if (!spans_a_line(knot, count)) return false;
    for (size_t i = 0; i < count; i++) {
        const double e = knot[i].light, v = knot[i].value, w = knot[i].trust / pow(e + .03, 2);
        ww += w, we += w * e, wee += w * e * e, wv += w * v, wev += w * e * v;
    }
    const double det = ww * wee - we * we;
    out->gain = (ww * wev - we * wv) / det;
    out->offset = (wee * wv - we * wev) / det;
    return det > 0 && out->gain > 0 && isfinite(out->gain) && isfinite(out->offset);
}

/* The value of no light: straight on through the two darkest knots. There the curve is nearly straight in the
 * coordinates, glare or not. */
static double black_of(const struct tone_knot knot[], size_t count) {
    size_t dark = 0, next = 0;
    for (size_t i = 1; i < count; i++)
        if (knot[i].light < knot[dark].light) dark = i;
    for (size_t i = 0; i < count; i++)
        if (knot[i].light > knot[dark].light + .005 &&
            (next == dark || knot[next].light <= knot[dark].light + .005 || knot[i].light < knot[next].light))
            next = i;
    const double rise = knot[next].light - knot[dark].light;
    if (!(rise > .005)) return 0;
    const double slope = fmax(0, (knot[next].value - knot[dark].value) / rise);
    return fmax(0, knot[dark].value - slope * knot[dark].light);
}

/* Knots by value; equal ones are merged. */
static size_t ordered(const struct tone_knot knot[], size_t count, const struct camera_tone *line, double x[],
                      double y[], double trust[]) {
    size_t n = 0;
    for (size_t i = 0; i < count && n < TONE_KNOTS_MOST; i++) {
        const double at = bent((knot[i].value - line->black) / line->gain), to = bent(fmax(knot[i].light, 0));
        size_t k = n;
        while (k > 0 && x[k - 1] > at) k--;
        if (k > 0 && at - x[k - 1] < 1e-3) {
            y[k - 1] = (trust[k - 1] * y[k - 1] + knot[i].trust * to) / (trust[k - 1] + knot[i].trust);
            trust[k - 1] += knot[i].trust;
            continue;
        }
        for (size_t m = n; m > k; m--) x[m] = x[m - 1], y[m] = y[m - 1], trust[m] = trust[m - 1];
        x[k] = at, y[k] = to, trust[k] = knot[i].trust;
        n++;
    }
    return n;
}

/* Reinsch: (R + (sd/bend)^2 Q' W^-1 Q) g = Q' y, f = y - (sd/bend)^2 W^-1 Q g; g are the second
 * derivatives at the inner knots. */
static void smooth(const double x[], const double y[], const double trust[], size_t n, double ratio,
                   struct camera_tone *out) {
    double a[TONE_KNOTS_MOST * TONE_KNOTS_MOST] = {0}, g[TONE_KNOTS_MOST], q[TONE_KNOTS_MOST][3];
    const size_t m = n - 2;
    for (size_t i = 0; i < m; i++) {
        const double h0 = x[i + 1] - x[i], h1 = x[i + 2] - x[i + 1];
        q[i][0] = 1 / h0, q[i][1] = -1 / h0 - 1 / h1, q[i][2] = 1 / h1;
        g[i] = q[i][0] * y[i] + q[i][1] * y[i + 1] + q[i][2] * y[i + 2];
        a[i * m + i] = (h0 + h1) / 3;
        if (i > 0) a[i * m + i - 1] = h0 / 6;
    }
    for (size_t i = 0; i < m; i++)
        for (size_t k = 0; k <= i; k++)
            for (size_t j = i; j < i + 3; j++)
                if (j >= k && j < k + 3) a[i * m + k] += ratio * q[i][j - i] * q[k][j - k] / trust[j];
    const bool solved = dense_cholesky(a, m);
    assert(solved);
    (void)solved;
    dense_cholesky_solve(a, m, g);
    out->knots = n;
    for (size_t i = 0; i < n; i++) out->x[i] = x[i], out->y[i] = y[i], out->bend[i] = 0;
    for (size_t i = 0; i < m; i++) {
        out->bend[i + 1] = g[i];
        for (size_t j = 0; j < 3; j++) out->y[i + j] -= ratio * q[i][j] * g[i] / trust[i + j];
    }
}

/* The spline at x; straight beyond its ends. */
static double spline_at(const struct camera_tone *tone, double x) {
    const double *k = tone->x, *y = tone->y, *g = tone->bend;
    const size_t last = tone->knots - 1;
    size_t i = 0;
    while (i + 1 < last && x > k[i + 1]) i++;
    const double h = k[i + 1] - k[i];
    if (x < k[0]) return y[0] + (x - k[0]) * ((y[1] - y[0]) / h - h * (2 * g[0] + g[1]) / 6);
    if (x > k[last])
        return y[last] + (x - k[last]) * ((y[last] - y[last - 1]) / h + h * (g[last - 1] + 2 * g[last]) / 6);
    const double t = (x - k[i]) / h, s = 1 - t;
    return s * y[i] + t * y[i + 1] + h * h / 6 * ((s * s * s - s) * g[i] + (t * t * t - t) * g[i + 1]);
}

static bool rises(const struct camera_tone *tone) {
    const double low = tone->x[0] - .05, high = tone->x[tone->knots - 1] + .1;
    double before = spline_at(tone, low);
    for (int i = 1; i <= 200; i++) {
        const double here = spline_at(tone, low + (high - low) * i / 200);
        if (!(here > before)) return false;
        before = here;
    }
    return true;
}

/* What the curve makes of light. */
static double with_curve(double light, double power, double contrast) {
    if (!(light > 0 && light < 1)) return light;
    const double v = cbrt(light), seen = v - (power + contrast * (1 - 2 * v)) * v * (1 - v);
    return seen * seen * seen;
}

static bool fit_bent(const struct tone_knot knot[], size_t count, const struct tone_form *form,
                     struct camera_tone *out) {
    struct tone_knot bent_knot[TONE_KNOTS_MOST];
    const size_t n = count < TONE_KNOTS_MOST ? count : TONE_KNOTS_MOST;
    for (size_t i = 0; i < n; i++) {
        bent_knot[i] = knot[i];
        bent_knot[i].light = with_curve(knot[i].light, form->power, form->contrast);
    }
    *out = (struct camera_tone){
        .kind = TONE_BENT, .gain = 1, .curved = true, .power = form->power, .contrast = form->contrast};
    if (n >= 2 && fit_line(bent_knot, n, out)) return true;
    out->gain = 1, out->offset = 0;
    return false;
}

bool tone_fit(const struct tone_knot knot[], size_t count, const struct tone_form *form,
              struct camera_tone *out) {
    double x[TONE_KNOTS_MOST], y[TONE_KNOTS_MOST], trust[TONE_KNOTS_MOST];
    if (form->kind == TONE_BENT) return fit_bent(knot, count, form, out);
    *out = (struct camera_tone){.kind = TONE_STRAIGHT, .gain = 1};
    if (count < 2 || !fit_line(knot, count, out)) {
        out->gain = 1, out->offset = 0;
        return false;
    }
    if (form->kind == TONE_STRAIGHT) return true;
    out->black = black_of(knot, count);
    const size_t n = ordered(knot, count, out, x, y, trust);
    if (n < TONE_FEWEST) return true;
    double ratio = pow(knot_sd / bend_sd, 2);
    for (int round = 0; round < 12; round++, ratio *= 8) {
        smooth(x, y, trust, n, ratio, out);
        if (!rises(out)) continue;
        out->kind = TONE_GREY;
        return true;
    }
    return true; /* the line */
}

double tone_bend(double light, int mode) {
    const double v = cbrt(fmin(fmax(light, 1e-4), 1.2));
    return 3 * v * v * v * (1 - v) * (mode ? 1 - 2 * v : 1);
}

/* The curve taken back: v - (power + contrast (1 - 2 v)) v (1 - v) = seen, by Newton. */
static double without_curve(const struct camera_tone *tone, double value) {
    const double light = (value - tone->offset) / tone->gain;
    if (!tone->curved || !(light > 0 && light < 1)) return light;
    const double seen = cbrt(light), p = tone->power, c = tone->contrast;
    double v = seen;
    for (int i = 0; i < 20; i++) {
        const double f = v - (p + c * (1 - 2 * v)) * v * (1 - v) - seen;
        const double slope = 1 - p * (1 - 2 * v) - c * (1 - 6 * v + 6 * v * v);
        const double next = fmin(fmax(v - f / fmax(slope, .05), 0), 1);
        if (next == v) break;
        v = next;
    }
    return v * v * v;
}

double tone_light(const struct camera_tone *tone, double value) {
    if (tone->kind == TONE_USUAL || tone->kind == TONE_BENT) return without_curve(tone, value);
    if (tone->kind == TONE_STRAIGHT) return (value - tone->offset) / tone->gain;
    return unbent(spline_at(tone, bent((value - tone->black) / tone->gain)));
}
