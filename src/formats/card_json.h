/* kind `card`: a card for photographs as JSON and back. What was written is read to the digits that were
 * written. */
#ifndef RUSSET_FORMATS_CARD_JSON_H
#define RUSSET_FORMATS_CARD_JSON_H

#include "base/memory.h"
#include "base/text.h"
#include "surface/photo_card.h"
#include <jansson.h>

/* Adds name, size_mm, tags, patches, places, surround and window_mm to an object of kind `card`. */
void card_put(json_t *object, const struct photo_card *card);
/* Adds what a reading of a place must carry for `toners fit` to take it as a drawdown: id, dab, over and
 * parts_g. */
void card_put_place(json_t *object, const struct photo_place *place);
/* *out is the arena's. INPUT with the path of every wrong field. */
enum status card_read(const struct bytes *bytes, struct arena *arena, struct photo_card **out,
                      struct fault *fault) MUST_USE;

#endif
