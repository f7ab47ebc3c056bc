/* How a camera's colours may differ from the eye's, as a function of what it looks at. A camera that is no
 * eye misses strong colours by much and in a way that the reflectance decides: where the reflectance is known
 * up to a few numbers (films of known pigments), the miss is too. */
#ifndef RUSSET_PAINT_PRIOR_EYE_H
#define RUSSET_PAINT_PRIOR_EYE_H

#include "colour/lab.h"

enum { EYE_WAVES = 6, EYE_UNKNOWNS = 3 * EYE_WAVES };

struct prior_eye {
    double usual[3][BANDS]; /* what a usual camera adds to the X, Y, Z (white 100) of a reflectance */
    double wave[3][EYE_WAVES][BANDS]; /* and how cameras differ, each an error of sd 1 */
};

void prior_eye_make(struct prior_eye *out);
/* The camera with those numbers (z[EYE_UNKNOWNS]) as an observer beside the CIE's: what it makes of a
 * reflectance is xyz_of(r, out). White stays. */
void prior_eye_weights(const struct prior_eye *eye, const double z[], struct weights *out);
/* Adds to *xyz what that camera sees of r otherwise than the eye. Nothing for a perfect grey: cameras are
 * balanced on one. */
void prior_eye_add(const struct prior_eye *eye, const double z[], const struct spectrum *r, struct xyz *xyz);

/* What an eye's Lab (D65/10) of r is more than that camera's. */
void eye_less_camera(const struct weights *camera, const struct spectrum *r, double dlab[3]);
/* What an eye sees more of a difference dab - spot than that camera. spot NULL: its curve is not known, and
 * half of what the dab's makes is taken for it: pigments of the trade are alike, but not the same. */
void eye_less_camera_apart(const struct weights *camera, const struct spectrum *dab,
                           const struct spectrum *spot, double dlab[3]);

#endif
