/* Where the torch stood, from something that stands or lies beside the grain: a pin and its shadow, or a
 * shiny ball.
 *
 *     pin   the shadow runs away from the torch, as long as height / tan(elevation); read by holding each
 * picture against the others (their median), in rings about the foot ball  the glint's place tells the ball's
 * normal n there: l = 2 (n.v) n - v, v towards the camera
 *
 * The picture is looked at from straight above. A 20 mm pin tells .63 degree for a millimetre of its shadow's
 * end at 27 degrees, a ball of 60 pixels radius 1.9 degrees for a pixel: pins are better. */
#ifndef RUSSET_SURFACE_TORCH_MARK_H
#define RUSSET_SURFACE_TORCH_MARK_H

#include "surface/picture.h"
#include "surface/stereo.h"

enum torch_mark_kind { TORCH_TOLD, TORCH_PIN, TORCH_BALL };
struct torch_mark {
    enum torch_mark_kind kind;
    double x, y; /* foot or middle, in pixels of the picture */
    double size; /* the pin's height in mm, or the ball's radius in pixels */
};

/* The light about a pin's foot: rays all round, from .25 to 3.6 heights out. */
enum { PIN_RAYS = 720, PIN_STEPS = 256 };
struct pin_rings {
    float light[PIN_RAYS][PIN_STEPS]; /* NAN outside the picture */
};
void pin_look(const struct picture *picture, const struct torch_mark *pin, double mm_per_px,
              struct pin_rings *out);
/* The torch of picture `which` among n; elevation and azimuth (its distance is left alone). False when no
 * shadow is to be seen: less than three pictures, or the torch over 72 or under 16 degrees. */
bool pin_torch(struct pin_rings *const rings[], int n, int which, struct stereo_light *out)
    __attribute__((warn_unused_result));
/* False when the ball has no glint, or several. */
bool ball_torch(const struct picture *picture, const struct torch_mark *ball, struct stereo_light *out)
    __attribute__((warn_unused_result));

#endif
