/* Pots and cards between the files and the paint layer. */
#ifndef RUSSET_FLOW_POT_FLOW_H
#define RUSSET_FLOW_POT_FLOW_H

#include "flow/operation.h"
#include "formats/results_json.h"
#include "paint/learn.h"

/* id=grams -> mass per toner of the shelf. INPUT for an unknown toner, with those that are there. */
enum status pot_from_parts(const struct shelf *shelf, const struct part_text *parts, size_t count,
                           const char *where, double pot_g[], struct fault *fault) MUST_USE;

/* The grams of a recipe (match.json, or match.json#2), or what is in the cup by a pour (then *is_pour). */
enum status pot_from_recipe(const struct surroundings *around, const char *place, const struct shelf *shelf,
                            double pot_g[], bool *is_pour, struct fault *fault) MUST_USE;

/* The sentence for a toner that the shelf does not have, with those that are there. */
enum status unknown_toner(const struct shelf *shelf, const char *where, const char *id,
                          struct fault *fault) MUST_USE;

/* How little a card in that state is trusted (sd of its whole reflectance). */
double card_trust_sd(const struct shelf *shelf, enum card_state state);

/* A pot and its card as a result, and a result as a card (moved to dry and coated by the shelf's learnt
 * shift). */
struct result result_of_pot(const struct shelf *shelf, const double pot_g[], enum card_state state,
                            const struct film_case *film, const struct spectrum *measured,
                            struct arena *arena);
enum status card_of_result(const struct result *result, const struct shelf *shelf, struct arena *arena,
                           struct card *out, struct fault *fault) MUST_USE;

/* All files of a repeated argument. */
enum status results_from_request(const struct surroundings *around, const struct request *request,
                                 const char *argument, struct result_set *out, struct fault *fault) MUST_USE;

/* What is likely wrong with a result that stands far off, for the end of a sentence. */
const char *cause_text(const struct shelf *shelf, const struct outlier *o, struct fault *out);

/* Decimals of a scale: .01 g -> 2. */
int scale_decimals(double step_g);

#endif
