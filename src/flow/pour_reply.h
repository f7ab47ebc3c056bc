/* The JSON of a pour (part of flow/pour_flow; nobody else needs it). */
#ifndef RUSSET_FLOW_POUR_REPLY_H
#define RUSSET_FLOW_POUR_REPLY_H

#include "flow/operation.h"
#include "formats/bench_json.h"
#include "paint/rescue.h"

/* Numbers as arguments of a sentence; they live until the end of the enclosing block. */
#define DE00_TEXT(x) pour_number_text((char[40]){0}, (x), 2)
#define GRAMS_TEXT(x, digits) pour_number_text((char[40]){0}, (x), (digits))
const char *pour_number_text(char out[40], double x, int digits);

operation_flow pour_flow;
operation_say pour_say;

struct pour_mend {
    const char *advice; /* "stay", "enough", "whole", "partial", "begin again" */
    struct rescue whole, least;
    bool whole_fits;
};

/* name, rank, batch_g ... steps[], total_g */
void pour_put_plan(json_t *reply, const struct bench_recipe *recipe, const struct pour_task *task,
                   const struct pour_plan *plan);
/* reading_g, next, done flags of the steps */
void pour_put_state(json_t *reply, const struct pour_task *task, const struct pour_plan *plan,
                    const struct pour_state *state);
/* may_stay, rescue */
void pour_put_mend(json_t *reply, const struct pour_task *task, const struct pour_plan *plan,
                   const struct pour_state *state, const struct pour_mend *mend);
/* target, prediction */
void pour_put_colours(json_t *reply, const struct bench_recipe *recipe, const struct pour_plan *plan);

#endif
