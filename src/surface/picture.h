/* A photograph in memory, told as light: what every tool of the camera starts from.
 *
 * Values are proportional to the light of each channel (0..65535): the curve of the file's colour profile is
 * undone, its primaries are kept (a colour correction is learnt per photograph, so they do not matter there;
 * to_srgb turns them for looking at). Rows from the top as one looks at the photograph (EXIF orientation is
 * applied). Pixel (x, y) covers [x, x+1) x [y, y+1): its centre is (x+.5, y+.5). */
#ifndef RUSSET_SURFACE_PICTURE_H
#define RUSSET_SURFACE_PICTURE_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PICTURE_MOST_MEGAPIXELS = 200, PICTURE_MOST_SIDE = 65535 };

struct picture {
    int width, height;
    uint16_t *rgb;    /* red, green, blue, interleaved, width * height * 3 */
    unsigned clip;    /* the value at and over which a channel is burnt out */
    bool raw;         /* camera-linear from a raw file: no display curve was applied by the camera */
    bool curve_known; /* raw, or the file told its curve (profile, EXIF, PNG chunk); else sRGB was assumed */
    int reduced;      /* pixels of the photograph to one pixel here, along a side: 1; raw files 2 or 3 */
    double
        to_srgb[9]; /* row-major: linear sRGB = to_srgb * rgb; for raw with the white that the camera chose */
    char note[200]; /* a sentence about what was assumed; empty: nothing */
    enum word note_word; /* its word in the catalogue; WORD_NONE with an empty note */
    size_t mapped;       /* bytes to unmap in picture_free; 0: rgb belongs to somebody else */
};

/* Whether the disc of that radius about (x, y), in pixels of the picture, lies wholly inside. False for
 * anything that is no number. */
bool picture_inside(const struct picture *picture, double x, double y, double radius);
/* The three values of the pixel; the pixel must be inside. */
const uint16_t *picture_at(const struct picture *picture, int x, int y);

#endif
