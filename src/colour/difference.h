/* Colour differences between two Lab values of one view: the first is the reference (standard), the second
 * the sample. Both must have been made under the same light and observer; this is asserted. */
#ifndef RUSSET_COLOUR_DIFFERENCE_H
#define RUSSET_COLOUR_DIFFERENCE_H

#include "colour/lab.h"

/* CIEDE2000 (ISO/CIE 11664-6; kL = kC = kH = 1). */
double difference_de00(struct lab reference, struct lab sample);

/* Its parts, each already divided by its weight, so that de00^2 = l^2 + c^2 + h^2 + rt c h. */
struct de00_parts {
    double de00, l, c, h, rt;
};
struct de00_parts difference_de00_parts(struct lab reference, struct lab sample);

/* CIE76: the straight distance dE*ab (ISO/CIE 11664-4). */
double difference_de76(struct lab reference, struct lab sample);
/* CMC(l:c) (BS 6923:1988, ISO 105-J03); 2:1 is for acceptability, 1:1 for perceptibility. Not symmetric. */
double difference_cmc(struct lab reference, struct lab sample, double l, double c);

/* Everything that a comparison shows. dH carries the sign of the hue step (counter-clockwise positive). */
struct difference {
    double de00, de76, cmc21;
    double dl, da, db, dc, dh; /* sample minus reference */
};
struct difference difference_of(struct lab reference, struct lab sample);

/* For searches. */

/* de00 squared and its derivative by the sample's L, a, b (analytic). Smooth where de00 itself has a kink, at
 * no difference: there the value and the derivative are 0. The derivative of de00 itself is gradient / (2
 * de00). On the hue seam (hues exactly opposite) it is that of the side which the tie rule takes. */
double difference_de00_squared(struct lab reference, struct lab sample, double gradient[3]);

/* CIEDE2000 close to a reference: de00^2 is about |F d|^2 for a small step d = (dL, da, db), exact in the
 * limit; F is upper triangular only in its first row (lightness stands alone), the metric is F'F. */
struct de00_metric {
    double f[3][3];
};
struct de00_metric difference_metric(struct lab reference);

#endif
