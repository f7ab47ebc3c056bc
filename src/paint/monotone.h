/* Monotone cubic interpolation: Hermite pieces through (x, y) that never turn where the data do not.
 *
 * Slopes: the parabola through three neighbours, limited to the box 0 .. 3 min(|left|, |right|) of de Boor
 * and Schwartz, which lies inside the monotone region of Fritsch & Carlson 1980 (SIAM J. Numer. Anal.
 * 17:238); 0 where the secants change sign. At the two ends the parabola's slope, limited to 0 .. 3 of its
 * own secant. Outside the data the end value holds. */
#ifndef RUSSET_PAINT_MONOTONE_H
#define RUSSET_PAINT_MONOTONE_H

#include <stddef.h>

/* x strictly rising, n >= 2; slope[n] is written. */
void monotone_slopes(const double x[], const double y[], size_t n, double slope[]);
double monotone_at(const double x[], const double y[], const double slope[], size_t n, double at);

/* The nearest falling sequence in least squares (pool adjacent violators), in place; equal weights, n <= 64.
 */
void monotone_pool_falling(double y[], size_t n);

#endif
