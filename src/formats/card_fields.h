/* What a card's place and a photographed spot have in common. */
#ifndef RUSSET_FORMATS_CARD_FIELDS_H
#define RUSSET_FORMATS_CARD_FIELDS_H

#include "formats/json_in.h"
#include "surface/photo_card.h"

enum status card_read_id(const json_t *object, struct json_place at, char out[CARD_ID_MAX],
                         struct fault *fault) MUST_USE;
/* An optional name; "" when it is left out. */
enum status card_read_name(const json_t *object, struct json_place at, const char *key, char out[CARD_ID_MAX],
                           struct fault *fault) MUST_USE;
/* id (needed), dab, over and parts_g of a place. */
enum status card_read_labels(const json_t *place, struct json_place at, struct photo_place *out,
                             struct fault *fault) MUST_USE;

#endif
