/* What `amount` and `coats` are told about a paint, its film and its edge, with the defaults of the
 * application and of a recipe. */
#ifndef RUSSET_FLOW_FILM_REQUEST_H
#define RUSSET_FLOW_FILM_REQUEST_H

#include "flow/fade_scene.h"
#include "flow/operation.h"
#include "paint/amount.h"

struct film_request {
    struct amount_case amount;
    enum applied_by by;
    bool has_by;
    bool fades, at_seam, at_panel;
    double film_um_to_hide; /* NAN: not known; INFINITY: the recipe never hides */
    double old_film_um, ground_into_fade_mm;
    bool density_assumed;
    double recipe_g;                /* what the recipe is written for; 0: not known */
    double in_pot_g;                /* what is in the pot; 0: nobody said */
    const char *recipe;             /* as named, or NULL */
    const struct fade_scene *scene; /* the fade as it will look, or NULL */
};

enum status film_request_read(const struct surroundings *around, const struct request *request,
                              struct film_request *out, struct fault *fault) MUST_USE;

/* Puts what was reckoned, the edge, hiding and thickness, with their notes, into a reply of either kind. */
void film_request_put(json_t *reply, const struct film_request *film, const struct amount *amount);

#endif
