/* How a colour is shown on a screen or a page: sRGB. */
#ifndef RUSSET_COLOUR_SCREEN_H
#define RUSSET_COLOUR_SCREEN_H

#include "colour/lab.h"

struct screen_colour {
    double r, g, b;    /* 0..1, sRGB encoded */
    bool out_of_reach; /* a screen cannot show it: it is shown paler, with its lightness and hue kept */
};

/* lab of any view: its L, a, b are shown as seen under D65 and the 2 degree observer that sRGB is made for
 * (the white is adapted by keeping Lab; the observers differ by more than that for single colours, so a
 * swatch is a likeness, never a standard). */
struct screen_colour screen_of_lab(struct lab lab);

#endif
