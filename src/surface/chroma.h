/* Gloss has the torch's colour, the material its own: of coloured material the part of the colour that is
 * orthogonal to white holds no gloss.
 *
 *     axis = c - (c.w) w, w = (1, 1, 1) / sqrt 3, c: the material's mean colour; light = (v.axis) / (c.axis)
 *
 * The picture's white must be the torch's. Worth it from a strength |axis| / |c| of a third on; grey and
 * black have none. It costs noise by about 1 / strength, and a JPEG's colour is half as sharp as its light.
 */
#ifndef RUSSET_SURFACE_CHROMA_H
#define RUSSET_SURFACE_CHROMA_H

#define CHROMA_STRONG .33

struct chroma {
    double weight[3]; /* light = v . weight; of the mean colour it is that colour's mean */
    double strength;
};
/* mean: of the material, of any unit, not all 0. */
struct chroma chroma_of(const double mean[3]);

#endif
