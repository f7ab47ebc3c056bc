/* What a quote is made of: the plans that were logged for a job, the customer's price list, materials. */
#ifndef RUSSET_FLOW_QUOTE_ITEMS_H
#define RUSSET_FLOW_QUOTE_ITEMS_H

#include "flow/bill_put.h"

struct quote_items {
    struct quote_case quote; /* its items point into the arena */
    int32_t falls_short_ppm;
    size_t plan_count;
    json_t **plan;      /* the plans, borrowed until the arena's end; freed by quote_items_put */
    const char *missed; /* pieces that no plan is of; NULL for none */
};

/* INPUT when the job has no plan, when one was refused, or when the price list is in another currency. */
enum status quote_items_read(const struct surroundings *around, const struct request *request,
                             struct job_desk *desk, const struct pricing *pricing, struct quote_items *out,
                             struct fault *fault) MUST_USE;
/* Guarantee, what to expect, what is to be asked: from all plans, each once. Frees the plans. */
void quote_items_put(struct quote_items *items, json_t *reply);

#endif
