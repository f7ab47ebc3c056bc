/* The few things that a coat has to know of a recipe: "match.json" is its first, "match.json#2" its second. A
 * literal file name wins. */
#ifndef RUSSET_FLOW_RECIPE_BRIEF_H
#define RUSSET_FLOW_RECIPE_BRIEF_H

#include "flow/operation.h"
#include "paint/toner.h"

struct recipe_brief {
    double density_g_ml;    /* NAN when the parts have no millilitres */
    double film_um_to_hide; /* NAN: not known */
    json_t *object;         /* the recipe itself: released by the caller with json_decref */
};

/* Cuts "#2" off; the rank is 1 without one. */
enum status recipe_place_split(const char *place, struct arena *arena, const char **path,
                               unsigned long long *rank, struct fault *fault) MUST_USE;
/* What lies at such a place, read once (it may be standard input); released by the caller. */
enum status recipe_place_read(const struct surroundings *around, const char *place, const char **path,
                              unsigned long long *rank, json_t **object, struct fault *fault) MUST_USE;

enum status recipe_brief_read(const struct surroundings *around, const char *place, struct recipe_brief *out,
                              struct fault *fault) MUST_USE;
/* The same out of a match that was read already; file: for messages. */
enum status recipe_brief_take(const json_t *match, unsigned long long rank, const char *file,
                              struct recipe_brief *out, struct fault *fault) MUST_USE;
/* Its mass fractions over the whole shelf: part[shelf->count]. INPUT for a toner that is not on it, or parts
 * that do not sum to 1. */
enum status recipe_brief_parts(const struct recipe_brief *recipe, const char *place,
                               const struct shelf *shelf, double part[], struct fault *fault) MUST_USE;

#endif
