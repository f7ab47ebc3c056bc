/* What a job costs and what is asked for it: a range, not a false point.
 *
 *     cost = labour + materials + overhead          overhead: per hour of labour
 *     price = cost / (1 - margin)                   40 % margin = 66.67 % on top of the cost
 *     asked = price + call-out + travel - discount, then tax (trade/tax.h)
 *
 * It is reckoned twice, for the half-way time (P50) and for the time that four of five jobs keep to (P80);
 * both go to the customer as "from .. to". Hours become money once, in half cents up; from there on
 * everything is whole minor units, and a line's price is its part of the whole by largest remainder, so lines
 * add up. A line with a fixed price (a trade customer's price list) has that price at both ends. All rates
 * are integers: minor units per hour, parts per million. */
#ifndef RUSSET_TRADE_QUOTE_H
#define RUSSET_TRADE_QUOTE_H

#include "trade/labour.h"
#include "trade/tax.h"

enum { QUOTE_LINES_MOST = 200 };
enum quote_line_kind {
    QUOTE_LABOUR,
    QUOTE_MATERIAL,
    QUOTE_FIXED,
    QUOTE_CALL_OUT,
    QUOTE_TRAVEL,
    QUOTE_DISCOUNT
};

/* One thing that costs: a task's minutes, a material's money, or a fixed price. */
struct quote_item {
    enum quote_line_kind kind; /* LABOUR, MATERIAL or FIXED */
    const char *name;
    struct minutes minutes; /* LABOUR */
    int64_t minor;          /* MATERIAL: what it costs the shop; FIXED: what is asked */
};

struct quote_case {
    char currency[4];
    int64_t hour_minor;                                       /* what an hour of labour costs the shop */
    int64_t overhead_hour_minor;                              /* rent, van, insurance, per hour of labour */
    int32_t margin_ppm;                                       /* of the price, below 950000 */
    int32_t discount_ppm;                                     /* of work, call-out and travel */
    int64_t call_out_minor, travel_minor_per_km, least_minor; /* least: smallest total before discount */
    double travel_km;
    int32_t tax_ppm;
    enum tax_rule tax_rule;
    enum tax_writing writing; /* ADDED: prices are net; INCLUDED: tax is in them */
    size_t count;
    const struct quote_item *item;
};

struct quote_line {
    enum quote_line_kind kind;
    const char *name;
    double hours;      /* mean, labour; 0 otherwise */
    int64_t low, high; /* as written, at P50 and P80 */
    struct tax_line tax_low, tax_high;
};

struct quote {
    char currency[4];
    struct spread hours; /* in hours */
    int64_t cost_low, cost_high;
    size_t count;
    struct quote_line line[QUOTE_LINES_MOST + 4];
    struct tax low, high; /* totals */
};

/* INPUT for a currency that is not on the list, rates out of bounds or too many lines. */
enum status quote_make(const struct quote_case *in, struct quote *out, struct fault *fault) MUST_USE;

/* cost / (1 - margin). */
int64_t quote_price_of_cost(int64_t cost_minor, int32_t margin_ppm);

/* Repair or a new panel: the repair is worth trying while its chance to satisfy is over repair / new; on
 * average it costs repair + (1 - p) new, because one that falls short is paid and the panel too. */
struct repair_or_new {
    int64_t repair_minor, new_minor;
    int32_t falls_short_ppm;
    int64_t expected_minor;    /* found: repair + falls short x new */
    int32_t chance_needed_ppm; /* found: repair / new, at most MILLION */
    bool repair_is_better;     /* found */
};
void repair_or_new_judge(struct repair_or_new *choice);
/* The chance that at least one of several damages falls short, when they have nothing to do with each other,
 * held to 95 %. */
int32_t falls_short_of(const enum damage damage[], size_t count);

#endif
