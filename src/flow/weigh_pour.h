/* The live part of `russet pour --scale` (part of flow/pour_flow; nobody else needs it). */
#ifndef RUSSET_FLOW_WEIGH_POUR_H
#define RUSSET_FLOW_WEIGH_POUR_H

#include "flow/operation.h"
#include "flow/pour_lots.h"
#include "paint/pour.h"

/* USAGE when an option of the scale is given without --scale. */
enum status weigh_check(const struct request *request, struct fault *fault) MUST_USE;

/* What is left over the allowance on this scale, in words. */
void pour_coarse_note(const struct pour_task *task, const struct pour_plan *plan, struct fault *note);

/* A batch must be so many steps of its scale. INPUT with the smallest when not. */
enum status pour_check_batch(const struct pour_task *task, struct fault *fault) MUST_USE;

/* Weighs the plan on the scale of the request (--scale, --pattern, --log, --baud, --framing, --lines-per-s).
 * Whatever the status, task->poured_g and let_down_poured_g hold what is in the cup afterwards. OK: all is
 * in. NO: it ended before. Each step is told with its lots. Where the scale (or the log) turns out coarser
 * than task->scale, and nothing is in, task and plan are made anew for it. */
enum status weigh_pour(const struct surroundings *around, const struct request *request,
                       const struct pour_lots *lots, struct pour_task *task, struct pour_plan *plan,
                       struct fault *fault) MUST_USE;

#endif
