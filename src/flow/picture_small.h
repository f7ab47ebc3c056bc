/* A photograph made small enough for a paper: sRGB, 8 bits. */
#ifndef RUSSET_FLOW_PICTURE_SMALL_H
#define RUSSET_FLOW_PICTURE_SMALL_H

#include "base/memory.h"
#include "report/page.h"
#include "surface/picture.h"

/* At most `most` pixels along its longer side; means over whole squares of pixels of light, then the curve of
 * sRGB (IEC 61966-2-1). */
void picture_small(const struct picture *picture, int most, struct arena *arena, struct page_picture *out);

#endif
