/* A set of colours that leather comes in, and which few of many mixes cover it best. */
#ifndef RUSSET_PAINT_LEATHER_H
#define RUSSET_PAINT_LEATHER_H

#include "colour/lab.h"
#include <stddef.h>

enum { LEATHER_COLOURS = 51, LEATHER_CANDIDATES_MOST = 128 };

/* Invented from common practice (creams to blacks, tans, oxbloods, navies, greens): D65, 10 degrees. */
struct lab leather_lab(size_t i);

/* Chooses wanted of count candidates (at most LEATHER_CANDIDATES_MOST) so that the leather colours are
 * covered: the least sum over them of the squared dE00 to the nearest chosen one, found greedily and then by
 * exchanges until none helps. Deterministic; chosen[] ascends. Returns how many were chosen (fewer when there
 * are fewer than wanted). rms_de00 (may be NULL): of the leather colours to their nearest. */
size_t leather_cover(const struct lab candidate[], size_t count, size_t wanted, size_t chosen[],
                     double *rms_de00);

#endif
