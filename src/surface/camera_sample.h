/* The mean light of one place in a photograph: trimmed means in linear light. A median would add half a dE00
 * on dark grain; a plain mean would take in a scratch or a highlight. */
#ifndef RUSSET_SURFACE_CAMERA_SAMPLE_H
#define RUSSET_SURFACE_CAMERA_SAMPLE_H

#include "surface/locate.h"

struct camera_sample {
    double mean[3];     /* trimmed, 0..1 of the picture's scale */
    double sd[3];       /* of what was kept, pixel to pixel */
    double mm[2];       /* its middle on the card */
    double clipped;     /* part of the pixels with a channel burnt out */
    double dark, light; /* part that was left out as holes and shadows, as highlights */
    size_t pixels;      /* that were looked at */
};

/* A square of the card, side mm. PLAIN: a patch, trimmed evenly by a tenth. */
void sample_square(const struct picture *picture, const struct located *located, const double center_mm[2],
                   double side_mm, struct camera_sample *out);
/* The same of leather: holes, creases and highlights are left out first. */
void sample_window(const struct picture *picture, const struct located *located, const double center_mm[2],
                   double side_mm, struct camera_sample *out);
/* A disc in pixels, of leather. It must be inside the picture. */
void sample_disc(const struct picture *picture, const struct located *located, double x, double y, double r,
                 struct camera_sample *out);

#endif
