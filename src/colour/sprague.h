/* Sprague interpolation on a regular grid, for the layer itself (spectra to bands, bands to 1 nm). */
#ifndef RUSSET_COLOUR_SPRAGUE_H
#define RUSSET_COLOUR_SPRAGUE_H

#include <stddef.h>

enum { SPRAGUE_LEAST = 6 };

/* The value at position at (0 is the first point, count - 1 the last) of a regular grid of count >= 6 points;
 * CIE 167:2005. */
double sprague_at(const double *value, size_t count, double at);

#endif
