/* How long a way a set of cells leaves open: for each cell the longest path through it that keeps within 45
 * degrees of one of four directions (a path opening: Heijmans, Buckley, Talbot 2005), measured along that
 * direction. Up to gap cells in a row may be missing; a missing cell has the length of what it bridges. Short
 * specks have short paths whatever their shape, a crack has a long one however it wanders. */
#ifndef RUSSET_SURFACE_PATH_H
#define RUSSET_SURFACE_PATH_H

#include "base/work.h"
#include <stdint.h>

/* length[i] in cells; 0 where no path is. */
void path_lengths(const uint8_t *mask, int width, int height, int gap, struct work *work, float *length);

#endif
