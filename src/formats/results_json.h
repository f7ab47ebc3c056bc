/* Pots and what their cards measured, as JSON.
 *
 *     {"russet": "...", "kind": "results", "format": 1, "results": [
 *         {"id": "seat-1", "pot": {"white": 12.5, "binder": 20}, "lots": {"white": "A7"}, "state": "coated",
 * "geometry": "sci", "film_um": 30, "backing": [31] or null, "sheen_gu": null, "measured": [31]}, ...]}
 *
 * film_um null: opaque, and then backing is null. lots and sheen_gu may be left out; state is wet, dry or
 * coated (the usual). An object of kind `adjustment` is read too: the result that it carries. */
#ifndef RUSSET_FORMATS_RESULTS_JSON_H
#define RUSSET_FORMATS_RESULTS_JSON_H

#include "base/memory.h"
#include "base/text.h"
#include "paint/toner.h"
#include <jansson.h>

struct result {
    const char *id, *file;
    size_t toners;
    const char *const *toner; /* ids */
    const double *mass_g;
    const char *const *lot; /* "" where not told */
    enum card_state state;
    enum geometry geometry;
    double film_um;          /* INFINITY: opaque */
    struct spectrum backing; /* not looked at when opaque */
    double sheen_gu;         /* NAN: not told */
    struct spectrum measured;
};

struct result_set {
    size_t count;
    struct result *result;
};

/* Appends to *set (start with zeros); memory is the arena's. */
enum status results_read(const struct bytes *bytes, struct arena *arena, struct result_set *set,
                         struct fault *fault) MUST_USE;
json_t *result_json(const struct result *result);

#endif
