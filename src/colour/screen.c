/* Lab to sRGB.
 *
 *   Lab -> XYZ relative to the D65/2 white (.95047, 1, 1.08883)                       CIE 15:2018 inverse
 *   linear rgb = M XYZ, M of IEC 61966-2-1:1999 (7 digits as its amendment gives them)
 *   encoded = 12.92 v for v <= .0031308, 1.055 v^(1/2.4) - .055 above                IEC 61966-2-1
 *
 * Range: L is held to 0..100. A colour outside sRGB keeps L and hue and loses chroma (bisection, to 1e-4 of
 * it); at L 0 and 100 that ends in black and white. At the two seams (the cube-root law at t = 6/29, the
 * encoding at .0031308) both branches meet to 1e-7. */
#include "colour/screen.h"
#include <math.h>

static double cube_law(double t) {
    return t > 6.0 / 29 ? t * t * t : 3 * (6.0 / 29) * (6.0 / 29) * (t - 4.0 / 29);
}

struct rgb {
    double r, g, b;
};

static struct rgb linear_of(double l, double a, double b) {
    const double fy = (l + 16) / 116;
    const double x = .95047 * cube_law(fy + a / 500), y = cube_law(fy), z = 1.08883 * cube_law(fy - b / 200);
    return (struct rgb){3.2406255 * x - 1.5372080 * y - .4986286 * z,
                        -.9689307 * x + 1.8757561 * y + .0415175 * z,
                        .0557101 * x - .2040211 * y + 1.0569959 * z};
}

/* A thousandth of slack: the printed matrix and white put pure white at 1 within 3e-4. */
static bool is_inside(struct rgb c) {
    const double low = fmin(c.r, fmin(c.g, c.b)), high = fmax(c.r, fmax(c.g, c.b));
    return low >= -1e-3 && high <= 1 + 1e-3;
}

static double encoded(double v) {
    const double held = fmin(1, fmax(0, v));
    return held <= .0031308 ? 12.92 * held : 1.055 * pow(held, 1 / 2.4) - .055;
}

/* The largest part of the chroma that a screen can show. */
static double chroma_within(double l, double a, double b) {
    double inside = 0, outside = 1;
    for (int i = 0; i < 14; i++) {
        const double middle = .5 * (inside + outside);
        if (is_inside(linear_of(l, middle * a, middle * b)))
            inside = middle;
        else
            outside = middle;
    }
    return inside;
}

struct screen_colour screen_of_lab(struct lab lab) {
    const double l = fmin(100, fmax(0, lab.l));
    struct rgb c = linear_of(l, lab.a, lab.b);
    const bool out = !is_inside(c);
    if (out) {
        const double part = chroma_within(l, lab.a, lab.b);
        c = linear_of(l, part * lab.a, part * lab.b);
    }
    return (struct screen_colour){encoded(c.r), encoded(c.g), encoded(c.b), out};
}
