/* From what a channel of a photograph says to light: the tone curve that the neutrals of the card reveal.
 * Glare, which lies on everything alike, is part of it. */
#ifndef RUSSET_SURFACE_CAMERA_TONE_H
#define RUSSET_SURFACE_CAMERA_TONE_H

#include <stdbool.h>
#include <stddef.h>

enum { TONE_KNOTS_MOST = 40, TONE_FEWEST = 5 };

enum tone_kind {
    TONE_STRAIGHT, /* light = (value - offset) / gain */
    TONE_GREY      /* a smooth monotone curve through the neutrals */
};

struct camera_tone {
    enum tone_kind kind;
    double gain, offset; /* of the straight line */
    double black;        /* of the curve: about the value of no light */
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
bool tone_fit(const struct tone_knot knot[], size_t count, enum tone_kind kind, struct camera_tone *out);
/* Light of a value; may be below 0 a little. */
double tone_light(const struct camera_tone *tone, double value);

#endif
