/* Money of a reply for people. */
#ifndef RUSSET_FLOW_MONEY_SAY_H
#define RUSSET_FLOW_MONEY_SAY_H

#include "base/fault.h"
#include "trade/money.h"
#include <jansson.h>

/* object[key] minor units in reply.currency: "12.50" */
const char *money_bare(const json_t *reply, const json_t *object, const char *key, char out[MONEY_TEXT]);

#endif
