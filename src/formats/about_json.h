/* about.json: what the labels of the toners say, and stock.json: what is left in the tins (docs/formats.md).
 *     {"toners": {"<id>": {"name", "density_g_ml", "price_minor_per_kg", "role": "binder|white|black|colour",
 * "solids": 0..1, "lot"}}, "currency": "EUR"}
 *     {"stock": {"<id>": grams}} */
#ifndef RUSSET_FORMATS_ABOUT_JSON_H
#define RUSSET_FORMATS_ABOUT_JSON_H

#include "base/memory.h"
#include "base/text.h"
#include "paint/toner.h"

struct about {
    size_t count;
    struct toner *toner; /* everything but k, s, bend and strength_sd; the arena's */
    char currency[4];    /* "" when not said */
    size_t note_count;
    const struct fault *note; /* keys that are not known */
};

enum status about_read(const struct bytes *bytes, struct arena *arena, struct about *out,
                       struct fault *fault) MUST_USE;

/* A toner of which nothing is said: its id as its name; the ids binder, white and black have those roles. */
void about_default(struct toner *toner);
/* Sets names, roles, densities, prices, solids, lots and the currency of the whole shelf (about may be NULL:
 * defaults only). True when *note tells of toners in about that are not on the shelf. file: for the note. */
bool about_apply(const struct about *about, const char *file, struct shelf *shelf, struct fault *note);

/* stock_g[shelf->count]: grams at hand, INFINITY for a toner that the file does not name. True in *noted when
 * *note tells of toners that are not on the shelf. */
enum status stock_read(const struct bytes *bytes, const struct shelf *shelf, double stock_g[], bool *noted,
                       struct fault *note, struct fault *fault) MUST_USE;

#endif
