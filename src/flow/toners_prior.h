/* `toners fit --prior`: few films and what was known before. */
#ifndef RUSSET_FLOW_TONERS_PRIOR_H
#define RUSSET_FLOW_TONERS_PRIOR_H

#include "flow/operation.h"

enum status toners_prior_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) MUST_USE;
void toners_prior_say(const json_t *reply, struct text *out);

#endif
