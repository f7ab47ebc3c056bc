/* What the bench needs of a recipe: kind `match` (with its `bench` block), kind `pour` (the recipe inside it)
 * and the compact kind `recipe` that stands in the QR code of a pour sheet. All three become a struct
 * pour_recipe. */
#ifndef RUSSET_FORMATS_BENCH_JSON_H
#define RUSSET_FORMATS_BENCH_JSON_H

#include "base/memory.h"
#include "base/text.h"
#include "paint/pour.h"
#include <jansson.h>

/* Adds object.bench with what a pour needs, in the shape of a match: the used toners (used[shelf->count]) as
 * kind `toners` has them, film_um, reading_geometry, backings, sheen_gu, target (which may be NULL). */
void bench_put(json_t *object, const struct shelf *shelf, const bool used[], const struct film_case *film,
               const struct reading *target);

/* What is known of the recipe beside its colour. */
struct bench_recipe {
    struct pour_recipe pour; /* toners in the arena */
    const char *name;        /* "" when it has none */
    int rank;                /* in the match; 0 for a recipe that stands alone */
    bool has_curve;          /* of the target */
    struct spectrum curve;
};

/* rank 0: the first. INPUT when the file is of another kind, has no such rank, or a value is out of its
 * range; the file and the path of the value are named. */
enum status bench_read(const struct bytes *bytes, unsigned long long rank, struct arena *arena,
                       struct bench_recipe *out, struct fault *fault) MUST_USE;

/* The compact object, kind `recipe`: K and S in 255 logarithmic steps over four decades each (3.7 %), the
 * rounding of each band carried into the next. Windows made from it differ from the full ones by at most one
 * step of the scale or 5 % (tests). */
json_t *bench_compact(const struct bench_recipe *recipe);
/* One line of ASCII: the text of the QR code. */
void bench_compact_text(const json_t *compact, struct text *out);

#endif
