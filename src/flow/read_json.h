/* A file that another verb of russet wrote. */
#ifndef RUSSET_FLOW_READ_JSON_H
#define RUSSET_FLOW_READ_JSON_H

#include "flow/operation.h"

/* kinds: "grain" or "match|prediction". The caller owns *out. */
enum status read_json(const struct surroundings *around, const char *path, const char *kinds, json_t **out,
                      struct fault *fault) MUST_USE;

#endif
