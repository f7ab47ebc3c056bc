/* Light comes into a film as a beam and leaves it through a cone; Kubelka and Munk's is diffuse. What that
 * does to a film. See beam.c. */
#ifndef RUSSET_PAINT_BEAM_H
#define RUSSET_PAINT_BEAM_H

#include <stdbool.h>

struct beam {       /* of a shelf */
    bool on;        /* false: plain Kubelka-Munk */
    double forward; /* asymmetry of the scattering, 0 (even) .. 0.75 (mostly forward) */
};

/* The same beam with so much more asymmetry, held to what the constants are good for. */
struct beam beam_leaning(const struct beam *beam, double lean);

/* film_inner and film_inner_slopes (film.h) of a mix (k, s >= 0 per um) under the beam; film_um > 0,
 * INFINITY: opaque. With the beam off they are those calls. by_k, by_s, by_film may be NULL. */
double film_lit(const struct beam *beam, double k, double s, double film_um, double backing);
double film_lit_slopes(const struct beam *beam, double k, double s, double film_um, double backing,
                       double *by_k, double *by_s, double *by_film);

/* For kernels that repeat film_lit: its constants at this asymmetry. With thin = 1 / film_um (0: opaque),
 *     left(share) = 1 - (start thin + top k) / (thin + scattered s + absorbed k)      (1 when the bottom is
 * 0) bump        = bump k s / (thin + bump_scattered s + bump_absorbed k)^2          (0 when the bottom is 0)
 *     r           = film_inner(k (left(of_k) + bump), s left(of_s), film_um, backing)
 *     c           = left(of_leaving),   R = c r / (1 + (c - 1) r) */
struct beam_share {
    double start, top, scattered, absorbed;
};
struct beam_constants {
    struct beam_share of_k, of_s, of_leaving;
    double bump, bump_scattered, bump_absorbed;
};
struct beam_constants beam_constants(const struct beam *beam);

#endif
