/* A photograph with what was read from it drawn over: tags, patches, the window, the spots. For looking at.
 */
#ifndef RUSSET_REPORT_PHOTO_OVERLAY_H
#define RUSSET_REPORT_PHOTO_OVERLAY_H

#include "base/text.h"
#include "surface/camera.h"

/* PNG bytes, at most 1600 pixels along the longer side. spot: in the picture's pixels; r 0 is the window.
 * MACHINE when the drawing library gave up. */
enum status photo_overlay(const struct picture *picture, const struct photo_card *card,
                          const struct located *located, const struct camera_spot spot[], int spots,
                          struct text *out, struct fault *fault) MUST_USE;

#endif
