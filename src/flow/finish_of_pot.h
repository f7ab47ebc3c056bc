/* What a pot left in the book of finishes. A pour that is logged leaves a finish by itself, one for a pot;
 * what is added to the pot later changes it, so that the book holds what the pot became. */
#ifndef RUSSET_FLOW_FINISH_OF_POT_H
#define RUSSET_FLOW_FINISH_OF_POT_H

#include "formats/bench_json.h"
#include "shop/entry_store.h"
#include "shop/finish_store.h"
#include "shop/job_store.h"
#include "shop/pot_store.h"
#include <jansson.h>

struct finish_desk {
    struct book *book;
    struct arena *arena;
    const struct job_row *job;
};

/* The finish of a pour (kind `pour`) that was just logged as `entry`; when that entry puts an earlier pour
 * right, that one's finish is changed instead, and follows it in name and words unless somebody gave it
 * others. carried: the pot, when more is in it than the pour says (what went into the pot that it replaces).
 * When no recipe can be read out of the pour, out->id stays empty and *why says it: a pour is logged in any
 * case. With the pen. */
enum status finish_of_pour(const struct finish_desk *desk, const struct entry_row *entry, const json_t *pour,
                           const struct pot_row *carried, struct finish_row *out, struct fault *why,
                           struct fault *fault) MUST_USE;

/* The pot after an adjustment or an answered ring whose additions went into it. With the pen. */
enum status finish_of_correction(const struct finish_desk *desk, const struct pot_row *pot,
                                 const struct entry_row *entry, const json_t *correction,
                                 struct finish_row *out, struct fault *why, struct fault *fault) MUST_USE;

/* Fills colour, curve and document of a finish from a recipe; the document carries the finish's name. */
void finish_fill(struct finish_row *finish, struct bench_recipe *recipe, struct arena *arena);

/* The recipe of a kept finish. INPUT when its document is none. */
enum status finish_recipe(const struct finish_row *finish, struct arena *arena, struct bench_recipe *out,
                          struct fault *fault) MUST_USE;

/* Makes the recipe that of another mix: `mix` is pot_after of an adjustment ({"white": 2.28, ...}) or the
 * list that a pour calls `poured` or `additions`. Toners that the recipe does not have come from the shop's
 * shelf. */
enum status finish_mix(const struct finish_desk *desk, const json_t *mix, struct bench_recipe *recipe,
                       struct fault *fault) MUST_USE;

/* The finish of the job that this recipe made: the same toners, every share within 2 % of the whole. The
 * newest one that fits. */
enum status finish_made_by(const struct finish_desk *desk, const struct bench_recipe *recipe,
                           struct finish_row *out, bool *found, struct fault *fault) MUST_USE;

#endif
