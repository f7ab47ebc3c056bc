/* One place of a thin line of cells: which way the line runs there, whether both its flanks rise, how wide it
 * is, and what of its length is the place's. Profiles are read across, as means over five cells along. */
#ifndef RUSSET_SURFACE_CRACK_LINE_H
#define RUSSET_SURFACE_CRACK_LINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { CRACK_REACH = 12, CRACK_PROFILE = 2 * CRACK_REACH + 1 };

struct crack_ground {
    const float *light;   /* linear */
    const uint8_t *taken; /* cells of lines that are known; they are no flank. NULL: none */
    int width, height;
    bool lighter; /* the line is sought in -light */
};

/* NAN where the picture ends, or taken. */
void crack_profile(const struct crack_ground *ground, double x, double y, double angle,
                   double profile[CRACK_PROFILE]);

/* What the lower flank rises over the line, as a share of the flanks' light. A flank is the mean of the
 * brighter half of its side, so that a step of colour has one flank only, and a crack before the edge of a
 * worn place still has two. rise is 0 when a side shows fewer than four cells. */
struct crack_valley {
    double rise, middle, flank; /* light of the line itself and of the lower flank, with the profile's sign */
};
struct crack_valley crack_valley_of(const double profile[CRACK_PROFILE]);

/* Width, in cells, of a dark line in a profile (odd n, the line about the middle): between the places, near
 * where half of its depth is reached, at which light rises fastest, so that shading beside it does not count;
 * NAN when there is none. Exact for what is wider than its blur. *step: one side is hardly higher than the
 * line itself, as at the edge of a patch of another colour. */
double crack_profile_width(const double profile[], int n, bool *step);

/* The angle at which the cells of one label run about a place, from x to y. */
double crack_way(const int32_t *label, int width, int height, int x, int y);

/* What a cell adds to the length of its line: half of each step to its neighbours. A straight step counts
 * .980, a diagonal one 1.406, a corner -.091 (Vossepoel & Smeulders 1982, Computer Graphics and Image
 * Processing 20:347; h + v + sqrt2 d is 5 % long on average over the angles). */
double crack_steps(const uint8_t *thin, int width, int height, int x, int y);

#endif
