/* A match as JSON: the recipes, the search, and what a bench needs to pour and correct from the file alone.
 */
#ifndef RUSSET_FLOW_MATCH_PUT_H
#define RUSSET_FLOW_MATCH_PUT_H

#include "paint/match.h"
#include <jansson.h>

void match_put(json_t *object, const struct match_task *task, const struct match_result *result,
               double tolerance);
/* dE00 that a tolerance is about: under the first light, or the only one that a Lab counts in. */
double match_first_de00(const struct match_recipe *recipe, const struct match_task *task);

#endif
