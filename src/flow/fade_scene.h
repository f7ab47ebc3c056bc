/* A fade looked at with the shop's toners: a recipe over a measured ground, beside a measured sound finish.
 */
#ifndef RUSSET_FLOW_FADE_SCENE_H
#define RUSSET_FLOW_FADE_SCENE_H

#include "flow/operation.h"
#include "paint/amount.h"
#include "paint/fade.h"

struct fade_scene {
    struct shelf shelf;
    double *part;
    struct spectrum ground, around;
};

/* NULL when neither --ground nor --around is given; USAGE when something of the four is missing. */
enum status fade_scene_read(const struct surroundings *around, const struct request *request,
                            const struct fade_scene **out, struct fault *fault) MUST_USE;
/* What is seen, for a full film of film_um. */
struct fade_look fade_scene_look(const struct fade_scene *scene, double film_um);

#endif
