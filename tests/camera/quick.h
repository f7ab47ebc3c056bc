/* A photograph without its pixels: what each place of a scene would read on the mean, by the same lamp, lens,
 * glare, noise (of a mean), matrix and curve as the renderer. Leather is its colour and its shine, without
 * grain. quick_test.c holds it against whole pictures. */
#ifndef RUSSET_TESTS_CAMERA_QUICK_H
#define RUSSET_TESTS_CAMERA_QUICK_H

#include "camera/render.h"
#include "surface/camera.h"

struct quick_spot {
    struct spectrum colour;
    double shine;
    double mm[2]; /* where it lies, in the card's millimetres */
};

/* spots 0: the scene's window. */
void quick_shot(const struct scene *scene, const struct quick_spot spot[], int spots,
                struct camera_shot *out);
/* quick_shot and camera_read. like: the spots are made of what the card is made of. */
enum status quick_read(const struct scene *scene, const struct quick_spot spot[], int spots, bool like,
                       struct arena *arena, struct camera_result *out, struct fault *fault);

#endif
