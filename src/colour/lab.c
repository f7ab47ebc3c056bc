/* XYZ and CIELAB (CIE 15:2018, section 8.2.1; ISO/CIE 11664-4):
 *     L* = 116 f(Y/Yn) - 16, a* = 500 (f(X/Xn) - f(Y/Yn)), b* = 200 (f(Y/Yn) - f(Z/Zn)),
 *     f(t) = cbrt(t) for t > (24/116)^3, else (841/108) t + 16/116.
 * Both branches meet with equal value and slope at (24/116)^3. Valid for every finite XYZ: the straight
 * branch also carries the slightly negative values that noise can give a very dark reading. Hue of a grey (C*
 * = 0) is 0. */
#include "colour/lab.h"
#include "base/text.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const double knee = 24.0 / 116;
static const double slope = 841.0 / 108;

static double f_of(double t) {
    return t > knee * knee * knee ? cbrt(t) : slope * t + 16.0 / 116;
}

static double f_inverse(double f) {
    return f > knee ? f * f * f : (f - 16.0 / 116) / slope;
}

struct xyz xyz_of(const struct spectrum *reflectance, const struct weights *weights) {
    struct xyz sum = {0};
    for (int i = 0; i < BANDS; i++) {
        sum.x += weights->x[i] * reflectance->band[i];
        sum.y += weights->y[i] * reflectance->band[i];
        sum.z += weights->z[i] * reflectance->band[i];
    }
    return sum;
}

struct lab lab_of(struct xyz xyz, const struct weights *weights) {
    const struct xyz *white = &weights->white;
    const double fx = f_of(xyz.x / white->x), fy = f_of(xyz.y / white->y), fz = f_of(xyz.z / white->z);
    return (struct lab){116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz), weights->view};
}

struct lab lab_of_spectrum(const struct spectrum *reflectance, const struct weights *weights) {
    return lab_of(xyz_of(reflectance, weights), weights);
}

struct xyz xyz_of_lab(struct lab lab, const struct weights *weights) {
    assert(lab.view.light == weights->view.light && lab.view.observer == weights->view.observer);
    const double fy = (lab.l + 16) / 116, fx = fy + lab.a / 500, fz = fy - lab.b / 200;
    const struct xyz *white = &weights->white;
    return (struct xyz){white->x * f_inverse(fx), white->y * f_inverse(fy), white->z * f_inverse(fz)};
}

struct lch lch_of(struct lab lab) {
    double h = atan2(lab.b, lab.a) * (180 / M_PI);
    if (h < 0) h += 360;
    if (h >= 360) h = 0; /* a hue a hair under 0 rounds to 360 */
    return (struct lch){lab.l, hypot(lab.a, lab.b), lab.a == 0 && lab.b == 0 ? 0 : h, lab.view};
}

#define NAME(symbol, name, table, words) name,
#define WORDS(symbol, name, table, words) words,
static const char *const names[LIGHT_COUNT] = {LIGHT_TABLE(NAME, NAME) "lamp"};
static const char *const in_words[LIGHT_COUNT] = {LIGHT_TABLE(WORDS, WORDS) "your lamp"};
#undef NAME
#undef WORDS

const char *light_name(enum light light) {
    assert(light < LIGHT_COUNT);
    return names[light];
}

const char *light_in_words(enum light light) {
    assert(light < LIGHT_COUNT);
    return in_words[light];
}

bool light_from_name(const char *name, enum light *out) {
    if (text_same_ignoring_case(name, "F2")) name = "FL2";
    if (text_same_ignoring_case(name, "F11")) name = "FL11";
    for (int i = 0; i < LIGHT_MEASURED; i++)
        if (text_same_ignoring_case(name, names[i])) return *out = (enum light)i, true;
    return false;
}
