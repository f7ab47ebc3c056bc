/* A finite film over a backing: Kubelka and Munk 1931, in forms that stay exact when S -> 0 (dye), SX -> 0,
 * SX -> large and K -> 0. Everything here is inner reflectance (behind the air interface) of one band. */
#ifndef RUSSET_PAINT_FILM_H
#define RUSSET_PAINT_FILM_H

/* k, s: per um at the mix (>= 0); film_um >= 0, INFINITY for an opaque film; backing: inner reflectance 0..1.
 */
double film_inner(double k, double s, double film_um, double backing);

/* The same with derivatives by k, s and film_um (each may be NULL). */
double film_inner_slopes(double k, double s, double film_um, double backing, double *by_k, double *by_s,
                         double *by_film);

/* Opaque film: R = 1 + K/S - sqrt(K/S^2 + 2 K/S); s == 0 gives 0 (k > 0). */
double film_opaque(double k, double s);

#endif
