/* The few things that a coat has to know of a recipe: "match.json" is its first, "match.json#2" its second. A
 * literal file name wins. */
#ifndef RUSSET_FLOW_RECIPE_BRIEF_H
#define RUSSET_FLOW_RECIPE_BRIEF_H

#include "flow/operation.h"

struct recipe_brief {
    double density_g_ml;    /* NAN when the parts have no millilitres */
    double film_um_to_hide; /* NAN: not known */
    json_t *object;         /* the recipe itself: released by the caller with json_decref */
};

enum status recipe_brief_read(const struct surroundings *around, const char *place, struct recipe_brief *out,
                              struct fault *fault) MUST_USE;

#endif
