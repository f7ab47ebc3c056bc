/* beam.c once more, over lanes that each have an asymmetry of their own. Part of match_kernel_body.h. */
#ifndef RUSSET_PAINT_MATCH_KERNEL_BEAM_H
#define RUSSET_PAINT_MATCH_KERNEL_BEAM_H

#include "paint/match_kernel_vector.h"

struct share { /* of beam.c's */
    vec start, top, scattered, absorbed;
};

struct beams { /* beam_constants of beam.c, each lane at its own asymmetry; start is over the film */
    struct share of_k, of_s, of_leaving;
    vec bump, bump_scattered, bump_absorbed;
};

IN struct share share_at(vec start, vec top, vec scattered, vec absorbed, REAL thin) {
    return (struct share){start * thin, top * R(1 / 2.2), scattered * R(1 / .765), absorbed * R(1 / 2.2)};
}

/* beam_constants of beam.c at an asymmetry. */
IN struct beams beams_at(vec g, REAL thin) {
    const vec c4 = g * (g * R(.3424) - R(.3957)) + R(3.5827), d4 = g * R(.6178) + R(2.8564);
    const vec none = splat(R(0));
    struct beams out;
    out.of_k =
        share_at(g * R(.0367) + R(.1295), (g * R(.0364) + R(.5217)) * c4, g * R(.0655) + R(.6247), c4, thin);
    out.of_s = share_at(g * (R(.5326) - g * R(.1305)) + R(.5793),
                        (g * (R(.3756) - g * R(.1880)) + R(.7475)) * d4, g * R(.4224) + R(1.0192), d4, thin);
    out.of_leaving =
        share_at(none, g * (g * R(.2007) - R(.2573)) - R(1.7134), g * (R(4.0483) - g * R(4.5515)) + R(4.1838),
                 g * (R(.6879) - g * R(.1573)) + R(3.4170), thin);
    out.bump = (g * (R(.3783) - g * R(.1777)) + R(.8641)) * R(1 / 2.2 / .765);
    out.bump_scattered = (g * R(.0967) + R(.3865)) * R(1 / .765);
    out.bump_absorbed = (R(2.0460) - g * R(.8137)) * R(1 / 2.2);
    return out;
}

/* A value with its slopes by the mixed K and S. */
struct by_ks {
    vec value, by_k, by_s;
};

/* beam.c: what is left of a coefficient near the surface, in thin and in dark films. */
IN struct by_ks left_of(const struct share *share, vec k, vec s, REAL thin) {
    const vec top = k * share->top + share->start;
    const vec over = R(1) / (s * share->scattered + k * share->absorbed + (thin + R(1e-30)));
    const vec part = top * over, by_below = part * over;
    return (struct by_ks){R(1) - part, by_below * share->absorbed - over * share->top,
                          by_below * share->scattered};
}

IN struct by_ks with_bump(struct by_ks left, const struct beams *at, REAL thin, vec k, vec s) {
    const vec over = R(1) / (s * at->bump_scattered + k * at->bump_absorbed + (thin + R(1e-18)));
    const vec scale = over * over * at->bump, value = scale * k * s, by_below = (value + value) * over;
    left.value += value;
    left.by_k += scale * s - by_below * at->bump_absorbed;
    left.by_s += scale * k - by_below * at->bump_scattered;
    return left;
}

#endif
