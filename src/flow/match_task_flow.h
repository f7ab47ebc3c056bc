/* What `match` and `adjust` are told in the same words: the target, what lies under the film, the film, the
 * lights, the scale. */
#ifndef RUSSET_FLOW_MATCH_TASK_FLOW_H
#define RUSSET_FLOW_MATCH_TASK_FLOW_H

#include "flow/operation.h"
#include "paint/match.h"

/* Fills a preset task from --target --backing --film-um --illuminants --weights --scale-step --sheen-gu
 * --exclude --coat-um. Without --target the task's target stays empty. INPUT when target and backings were
 * read in different geometries, or a film has no backing. */
enum status match_task_from_request(const struct surroundings *around, const struct request *request,
                                    const struct shelf *shelf, struct match_task *out,
                                    struct fault *fault) MUST_USE;

/* The same; assumed: how a target was read that does not say (unknown: as the shelf was), from --geometry.
 * What was assumed about target and toners goes to reply as notes (NULL: nowhere). */
enum status match_task_noted(const struct surroundings *around, const struct request *request,
                             const struct shelf *shelf, enum geometry assumed, json_t *reply,
                             struct match_task *out, struct fault *fault) MUST_USE;

/* Ids of an argument as flags per toner of the shelf. INPUT for an unknown toner, with those that are there.
 */
enum status toners_from_request(const struct request *request, const char *argument,
                                const struct shelf *shelf, bool flag[SHELF_MOST],
                                struct fault *fault) MUST_USE;

#endif
