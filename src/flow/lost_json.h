/* Photographs that a copy of the shop went on without: said in the reply, and exit 1. */
#ifndef RUSSET_FLOW_LOST_JSON_H
#define RUSSET_FLOW_LOST_JSON_H

#include "shop/photographs.h"
#include <jansson.h>

/* reply.lost and a note; NO when there are any. */
enum status lost_put(json_t *reply, const struct lost_photographs *lost, struct fault *fault) MUST_USE;

#endif
