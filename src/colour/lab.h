/* CIE tristimulus values and CIELAB (CIE 15:2018), with the light and the observer they were seen under.
 * A difference between two Lab values of different views is a programmer's error and asserted. */
#ifndef RUSSET_COLOUR_LAB_H
#define RUSSET_COLOUR_LAB_H

#include "colour/light.h"
#include "colour/spectrum.h"

enum observer { OBSERVER_10, OBSERVER_2 };

struct view {
    enum light light;
    enum observer observer;
};

struct xyz {
    double x, y, z; /* Y of the perfect diffuser = 100 */
};

struct lab {
    double l, a, b;
    struct view view;
};

struct lch {
    double l, c, h_deg; /* hue 0..360 */
    struct view view;
};

/* What one view does to 31 bands: X = sum x[i] R[i] and so on. The tables are folded from the 1 nm observers
 * and lights once (E308 practice, Sprague between bands, everything beyond 400..700 to the end bands). */
struct weights {
    struct view view;
    double x[BANDS], y[BANDS], z[BANDS];
    struct xyz white;
};

/* The built-in lights; LIGHT_MEASURED is not among them. Constant, safe from any thread. */
const struct weights *weights_of(struct view view);
/* A measured lamp: relative spectral power on any regular grid that covers 400..700 nm. */
enum status weights_of_lamp(const struct sampled *lamp, enum observer observer, struct weights *out,
                            struct fault *fault) MUST_USE;

const char *light_name(enum light light);                /* as in light.h; "lamp" when measured */
const char *light_in_words(enum light light);            /* "daylight" ... */
bool light_from_name(const char *name, enum light *out); /* any case; F2/F11 are taken for FL2/FL11 */

struct xyz xyz_of(const struct spectrum *reflectance, const struct weights *weights);
struct lab lab_of(struct xyz xyz, const struct weights *weights);
struct lab lab_of_spectrum(const struct spectrum *reflectance, const struct weights *weights);
struct xyz xyz_of_lab(struct lab lab, const struct weights *weights);
struct lch lch_of(struct lab lab);

#endif
