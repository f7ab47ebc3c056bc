/* Was a correction reckoned for this pot? */
#ifndef RUSSET_FLOW_POT_MATCH_H
#define RUSSET_FLOW_POT_MATCH_H

#include "shop/pot_store.h"
#include <jansson.h>

/* INPUT when what the document was reckoned for (`pot`: its grams, in all and of each toner) is
 * not what the book says is in the pot. What had been taken may or may not be on record in the book. job: its
 * number, for the sentence. */
enum status pot_match_document(struct book *book, const struct pot_row *pot, long long job, const char *kind,
                               const json_t *document, struct arena *arena, struct fault *fault) MUST_USE;

#endif
