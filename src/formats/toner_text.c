#include "formats/toner_text.h"
#include <stddef.h>

#define ROW(field) \
    { #field, offsetof(struct toner, field), sizeof((struct toner *)NULL)->field }
const struct toner_text toner_texts[] = {ROW(name), ROW(lot), {NULL, 0, 0}};

char *toner_text_in(struct toner *toner, const struct toner_text *text) {
    return (char *)toner + text->at;
}

const char *toner_text_of(const struct toner *toner, const struct toner_text *text) {
    return (const char *)toner + text->at;
}
