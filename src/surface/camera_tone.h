/* From what a channel of a photograph says to light: the tone curve that the neutrals of the card reveal.
 * Glare, which lies on everything alike, is part of it. */
#ifndef RUSSET_SURFACE_CAMERA_TONE_H
#define RUSSET_SURFACE_CAMERA_TONE_H

#include <stdbool.h>
#include <stddef.h>

enum { TONE_KNOTS_MOST = 40, TONE_FEWEST = 5 };

enum tone_kind {
    TONE_STRAIGHT, /* light = (value - offset) / gain */
    TONE_GREY,     /* a smooth monotone curve through the neutrals */
    TONE_USUAL,    /* no greys to tell it: the straight line, less the contrast that cameras usually add */
    TONE_BENT      /* few greys: the same form, its two numbers told by all patches together */
};

/* A kind of curve; the numbers are of TONE_BENT. */
struct tone_form {
    enum tone_kind kind;
    double power, contrast;
};

/* What cameras do beyond sRGB's curve and what glare adds, where nothing on the card tells them: v, about a
 * display's code of light relative to white, falls by (POWER + CONTRAST (1 - 2 v)) v (1 - v); sd beside each.
 * It is what makes darks 3 to 9 L* too dark when the curve is taken as sRGB's. Set on shops 11 to 18 of the
 * photo room, whose cameras bend by POWER .06 to .25 with CONTRAST .07 to .33; a camera that bends by more is
 * read too dark. */
#define TONE_POWER .15
#define TONE_POWER_SD .05
#define TONE_CONTRAST .25
#define TONE_CONTRAST_SD .10
#define TONE_VEIL .003 /* light of nothing, of white's; veiling glare is .5 to 3 % of a picture's mean */
#define TONE_VEIL_SD .003
/* d light of those two: mode 0 power, 1 contrast. */
double tone_bend(double light, int mode);

struct camera_tone {
    enum tone_kind kind;
    double gain, offset; /* of the straight line */
    bool curved;         /* a curve of that form is to be taken back */
    double power, contrast;
    double black; /* of the curve: about the value of no light */
    size_t knots;
    double x[TONE_KNOTS_MOST], y[TONE_KNOTS_MOST], bend[TONE_KNOTS_MOST]; /* natural cubic spline */
};

struct tone_knot {
    double value,
        light;    /* light: reflectance times the light that falls there, 1 for a white in the middle */
    double trust; /* 1; less for a knot that is known worse */
};

/* A straight line when there are fewer than TONE_FEWEST knots of different light. False when not even a
 * rising line fits: then value = light. */
bool tone_fit(const struct tone_knot knot[], size_t count, const struct tone_form *form,
              struct camera_tone *out);
/* Light of a value; may be below 0 a little. */
double tone_light(const struct camera_tone *tone, double value);

#endif
