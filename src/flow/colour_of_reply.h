/* Colours of russet's own replies, for the papers that are drawn from them: the reply was written a moment
 * ago by this program, so nothing is checked; what is missing reads 0. */
#ifndef RUSSET_FLOW_COLOUR_OF_REPLY_H
#define RUSSET_FLOW_COLOUR_OF_REPLY_H

#include "colour/reading.h"
#include <jansson.h>

/* [L, a, b] under D65/10. */
struct lab lab_of_reply(const json_t *array);
/* 31 bands. */
void spectrum_of_reply(const json_t *array, struct spectrum *out);

#endif
