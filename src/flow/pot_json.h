/* Pots of the book as JSON, one shape for every verb and for the page: what is in a pot is the book's to say.
 */
#ifndef RUSSET_FLOW_POT_JSON_H
#define RUSSET_FLOW_POT_JSON_H

#include "shop/pot_store.h"
#include <jansson.h>

/* {id, name, colour, entry, at, poured_g, taken_g, parts: [{toner, g}] (all that was ever weighed in),
 * additions: [{at, at_local, parts}] (what went in after the first pour), crosslinked and its life, put_back,
 * emptied, taken_back}. */
enum status pot_put(struct book *book, const struct pot_row *pot, struct arena *arena, json_t **out,
                    struct fault *fault) MUST_USE;
/* A list of them under `key`; a pot that is `left_out` (NULL: none) is not in it. */
enum status pots_put(struct book *book, const struct pot_row *pot, size_t count,
                     bool (*left_out)(const struct pot_row *), struct arena *arena, json_t *object,
                     const char *key, struct fault *fault) MUST_USE;

/* What tells the pots of a job apart: "Helm seat, cognac", the second one "Helm seat, cognac 2". */
const char *pot_label(const struct pot_row *pot, struct arena *arena);

/* When the crosslinked pot's life ends; 0 when it has no end that anybody said. */
long long pot_life_ends_ms(const struct pot_row *pot);
/* How many of its pours the pot began with: those of the document that made it. */
size_t pot_first_pours(const struct pot_row *pot, const struct pour_row *pour, size_t count);

#endif
