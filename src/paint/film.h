/* A finite film over a backing: Kubelka and Munk 1931, in forms that stay exact when S -> 0 (dye), SX -> 0,
 * SX -> large and K -> 0. Everything here is inner reflectance (behind the air interface) of one band. */
#ifndef RUSSET_PAINT_FILM_H
#define RUSSET_PAINT_FILM_H

#include <stdbool.h>

/* k, s: per um at the mix (>= 0); film_um >= 0, INFINITY for an opaque film; backing: inner reflectance 0..1.
 */
double film_inner(double k, double s, double film_um, double backing);

/* The same with derivatives by k, s and film_um (each may be NULL). Opaque: by_k is -INFINITY at k = 0 < s,
 * where the curve has a vertical tangent, and by_film is 0. */
double film_inner_slopes(double k, double s, double film_um, double backing, double *by_k, double *by_s,
                         double *by_film);

/* Opaque film: R = 1 + K/S - sqrt(K/S^2 + 2 K/S); s == 0 gives 0, and so does a film of nothing (k = s = 0).
 */
double film_opaque(double k, double s);

/* K/S of an opaque film of inner reflectance r (0 < r <= 1): (1 - r)^2 / 2r, the inverse of film_opaque. */
double film_ratio_of_opaque(double r);

struct film_terms {
    double k, s; /* per um */
};

/* K and S from readings (inner reflectance) over two different backings under one film of film_um > 0,
 * finite. False when no film can read so (noise, swapped cards): *out is then the nearest film that can, good
 * as a start and no more. Well posed while the contrast ratio is at most about .98; past that S X is hardly
 * seen. */
bool film_invert(double film_um, const double backing[2], const double inner[2], struct film_terms *out);
/* The same from the opaque reading of the paint and one finite film over one backing. */
bool film_invert_opaque(double film_um, double backing, double inner, double opaque, struct film_terms *out);

#endif
