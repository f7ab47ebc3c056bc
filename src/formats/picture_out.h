/* Pictures out: what overlays, masks and height maps are written as. Bytes are made in memory; whoever has a
 * name for them writes them (device/disk.h). PNG by libpng, JPEG by libjpeg-turbo; the same bytes every time.
 */
#ifndef RUSSET_FORMATS_PICTURE_OUT_H
#define RUSSET_FORMATS_PICTURE_OUT_H

#include "base/fault.h"
#include "base/memory.h"
#include "base/text.h"
#include "surface/picture.h"

/* Red, green, blue of 8 bits, as a screen wants them (sRGB); rows without gaps. */
struct screen_picture {
    int width, height;
    uint8_t *rgb;
};

/* The photograph made small for looking: its longer side at most longest pixels (0: as large as it is), each
 * pixel the mean light of those it covers, through to_srgb and the curve of IEC 61966-2-1. gain: light is
 * multiplied by it (1; 0: so that the brightest hundredth is just not burnt out, which raw files need). Lives
 * in the arena. */
void screen_picture_of(const struct picture *picture, int longest, double gain, struct arena *arena,
                       struct screen_picture *out);

enum { PICTURE_OUT_JPEG_QUALITY = 90 };

/* Adds a whole file to bytes. INTERNAL never; MACHINE when the library fails. width, height: 1..65535. */
enum status picture_out_png(const struct screen_picture *picture, struct text *bytes,
                            struct fault *fault) MUST_USE;
enum status picture_out_jpeg(const struct screen_picture *picture, struct text *bytes,
                             struct fault *fault) MUST_USE;
/* A mask of one byte a pixel, 255 yes and 0 no, as an 8-bit grey PNG; px_per_mm > 0 is told in pHYs. */
enum status picture_out_mask(const uint8_t *mask, int width, int height, double px_per_mm, struct text *bytes,
                             struct fault *fault) MUST_USE;
/* A plane of numbers as a 16-bit grey PNG: low becomes 0, high 65535, what lies beyond is cut, what is no
 * number becomes 0. unit: what the numbers are in ("um"); it and both ends stand in the text chunks `unit`,
 * `low` and `high`, the scale in pHYs (pixels per metre, ISO/IEC 15948 11.3.5.3). high > low. */
struct plane_scale {
    double low, high, px_per_mm;
    const char *unit;
};
enum status picture_out_plane(const float *plane, int width, int height, const struct plane_scale *scale,
                              struct text *bytes, struct fault *fault) MUST_USE;

#endif
