/* What the label of a toner says in words: one row for each, and about.json and the shelf's file read it,
 * write it and know its key. The field itself stands in struct toner. */
#ifndef RUSSET_FORMATS_TONER_TEXT_H
#define RUSSET_FORMATS_TONER_TEXT_H

#include "paint/toner.h"

struct toner_text {
    const char *key; /* NULL ends the table */
    size_t at, room; /* of the field in struct toner */
};
extern const struct toner_text toner_texts[];

char *toner_text_in(struct toner *toner, const struct toner_text *text);
const char *toner_text_of(const struct toner *toner, const struct toner_text *text);

#endif
