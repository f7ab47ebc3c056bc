#include "trade/quote.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const int64_t most_minor = INT64_C(1000000000000); /* of one item or rate: a sum never overflows */

int64_t quote_price_of_cost(int64_t cost_minor, int32_t margin_ppm) {
    return money_times(cost_minor, MILLION, MILLION - (int64_t)margin_ppm);
}

static enum status check_rates(const struct quote_case *in, struct fault *fault) {
    if (money_exponent(in->currency) < 0) return FAULT(fault, CURRENCY_UNKNOWN, "quote", in->currency);
    if (in->count > QUOTE_LINES_MOST)
        return FAULT(fault, TAX_TOO_MUCH, COUNT_TEXT(QUOTE_LINES_MOST), "lines");
    if (in->margin_ppm < 0 || in->margin_ppm >= 950000)
        return FAULT(fault, QUOTE_RATE, "margin", "0 to under 95 %");
    if (in->discount_ppm < 0 || in->discount_ppm > MILLION)
        return FAULT(fault, QUOTE_RATE, "discount", "0 to 100 %");
    if (in->tax_ppm < 0 || in->tax_ppm > MILLION) return FAULT(fault, QUOTE_RATE, "tax", "0 to 100 %");
    const int64_t rates[] = {in->hour_minor, in->overhead_hour_minor, in->call_out_minor,
                             in->travel_minor_per_km, in->least_minor};
    for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++)
        if (rates[i] < 0 || rates[i] > most_minor) return FAULT(fault, QUOTE_RATE, "rate", "0 or more");
    if (!(in->travel_km >= 0 && in->travel_km <= 100000))
        return FAULT(fault, QUOTE_RATE, "way", "0 to 100000 km");
    for (size_t i = 0; i < in->count; i++)
        if (in->item[i].minor < 0 || in->item[i].minor > most_minor)
            return FAULT(fault, QUOTE_RATE, in->item[i].name, "0 or more");
    return STATUS_OK;
}

static enum status spread_of(const struct quote_case *in, struct spread *out, struct fault *fault) {
    struct minutes part[QUOTE_LINES_MOST];
    size_t n = 0;
    for (size_t i = 0; i < in->count; i++)
        if (in->item[i].kind == QUOTE_LABOUR) part[n++] = in->item[i].minutes;
    const enum status status = labour_spread(part, n, out, fault);
    out->mean /= 60, out->sd /= 60, out->p50 /= 60, out->p80 /= 60;
    return status;
}

/* Hours to milliseconds, whole: the last place where a number that is not whole touches money. */
static int64_t per_hours(int64_t minor_per_hour, double hours) {
    return money_times(minor_per_hour, (int64_t)llround(hours * 3600000), 3600000);
}

static double mean_minutes(struct minutes m) {
    return (m.low + 4 * m.likely + m.high) / 6;
}

/* What this item weighs in the price of the whole: materials their cost, tasks the labour by their mean. */
static void weigh(const struct quote_case *in, double hours, double mean_hours, int64_t weight[]) {
    for (size_t i = 0; i < in->count; i++) {
        const struct quote_item *item = &in->item[i];
        const double part = mean_hours > 0 ? mean_minutes(item->minutes) / 60 / mean_hours : 0;
        weight[i] = item->kind == QUOTE_MATERIAL ? item->minor
                    : item->kind == QUOTE_LABOUR
                        ? per_hours(in->hour_minor + in->overhead_hour_minor, hours * part)
                        : 0;
    }
}

/* One end of the range: price of each item; returns what the work costs the shop. */
static int64_t price_items(const struct quote_case *in, double hours, double mean_hours, int64_t price[]) {
    int64_t weight[QUOTE_LINES_MOST + 1] = {0},
                                      cost = per_hours(in->hour_minor + in->overhead_hour_minor, hours);
    weigh(in, hours, mean_hours, weight);
    bool any = false;
    for (size_t i = 0; i < in->count; i++) {
        if (in->item[i].kind == QUOTE_MATERIAL) cost = money_sum(cost, in->item[i].minor);
        any = any || weight[i] > 0;
    }
    if (any) money_share(quote_price_of_cost(cost, in->margin_ppm), weight, in->count, price);
    for (size_t i = 0; i < in->count; i++)
        if (in->item[i].kind == QUOTE_FIXED) price[i] = in->item[i].minor;
    return cost;
}

static struct quote_line *add_line(struct quote *q, enum quote_line_kind kind, const char *name, int64_t low,
                                   int64_t high) {
    struct quote_line *line = &q->line[q->count++];
    *line = (struct quote_line){.kind = kind, .name = name, .low = low, .high = high};
    return line;
}

/* Each end is shared out to the cent by itself, so a line that costs the same at both ends could be a cent
 * less at the upper one. Cents move to it from the line with the widest range; sums stay. */
static void keep_in_order(const int64_t low[], int64_t high[], size_t count) {
    for (size_t i = 0; i < count; i++)
        while (high[i] < low[i]) {
            size_t widest = i;
            for (size_t k = 0; k < count; k++)
                if (high[k] - low[k] > high[widest] - low[widest]) widest = k;
            if (high[widest] <= low[widest]) return;
            high[widest]--;
            high[i]++;
        }
}

static void add_items(const struct quote_case *in, struct quote *q) {
    int64_t low[QUOTE_LINES_MOST + 1] = {0}, high[QUOTE_LINES_MOST + 1] = {0};
    q->cost_low = price_items(in, q->hours.p50, q->hours.mean, low);
    q->cost_high = price_items(in, q->hours.p80, q->hours.mean, high);
    keep_in_order(low, high, in->count);
    for (size_t i = 0; i < in->count; i++) {
        struct quote_line *line = add_line(q, in->item[i].kind, in->item[i].name, low[i], high[i]);
        if (in->item[i].kind == QUOTE_LABOUR) line->hours = mean_minutes(in->item[i].minutes) / 60;
    }
}

static int64_t sum_of(const struct quote *q, bool high) {
    int64_t sum = 0;
    for (size_t i = 0; i < q->count; i++) sum = money_sum(sum, high ? q->line[i].high : q->line[i].low);
    return sum;
}

static int64_t at_least(int64_t x, int64_t least) {
    return x > least ? x : least;
}

/* Call-out, travel, what is missing from the smallest total, discount: in this order. */
static void add_extras(const struct quote_case *in, struct quote *q) {
    if (in->call_out_minor)
        add_line(q, QUOTE_CALL_OUT, word_sentence(WORD_QUOTE_CALL_OUT), in->call_out_minor,
                 in->call_out_minor);
    const int64_t travel = money_times(in->travel_minor_per_km, llround(in->travel_km * 1000), 1000);
    if (travel) add_line(q, QUOTE_TRAVEL, word_sentence(WORD_QUOTE_TRAVEL), travel, travel);
    const int64_t low = sum_of(q, false), high = sum_of(q, true);
    if (low < in->least_minor)
        add_line(q, QUOTE_FIXED, word_sentence(WORD_QUOTE_LEAST), in->least_minor - low,
                 at_least(high, in->least_minor) - high);
    const int64_t off_low = money_times(sum_of(q, false), in->discount_ppm, MILLION),
                  off_high = money_times(sum_of(q, true), in->discount_ppm, MILLION);
    if (off_low || off_high)
        add_line(q, QUOTE_DISCOUNT, word_sentence(WORD_QUOTE_DISCOUNT), -off_low, -off_high);
}

static enum status add_tax(const struct quote_case *in, struct quote *q, struct fault *fault) {
    struct tax_line low[QUOTE_LINES_MOST + 4] = {0}, high[QUOTE_LINES_MOST + 4] = {0};
    for (size_t i = 0; i < q->count; i++) {
        low[i] = (struct tax_line){.written = q->line[i].low, .rate_ppm = in->tax_ppm};
        high[i] = (struct tax_line){.written = q->line[i].high, .rate_ppm = in->tax_ppm};
    }
    enum status status = tax_reckon(low, q->count, in->tax_rule, in->writing, &q->low, fault);
    if (status == STATUS_OK) status = tax_reckon(high, q->count, in->tax_rule, in->writing, &q->high, fault);
    for (size_t i = 0; i < q->count; i++) q->line[i].tax_low = low[i], q->line[i].tax_high = high[i];
    return status;
}

enum status quote_make(const struct quote_case *in, struct quote *out, struct fault *fault) {
    memset(out, 0, sizeof *out);
    enum status status = check_rates(in, fault);
    if (status == STATUS_OK) status = spread_of(in, &out->hours, fault);
    if (status != STATUS_OK) return status;
    memcpy(out->currency, in->currency, sizeof out->currency);
    add_items(in, out);
    add_extras(in, out);
    return add_tax(in, out, fault);
}

void repair_or_new_judge(struct repair_or_new *choice) {
    choice->expected_minor =
        money_sum(choice->repair_minor, money_times(choice->new_minor, choice->falls_short_ppm, MILLION));
    int64_t needed = MILLION;
    if (choice->new_minor > choice->repair_minor)
        needed = money_times(MILLION, choice->repair_minor, choice->new_minor);
    choice->chance_needed_ppm = (int32_t)needed;
    choice->repair_is_better = choice->expected_minor < choice->new_minor;
}

int32_t falls_short_of(const enum damage damage[], size_t count) {
    int64_t holds = MILLION;
    for (size_t i = 0; i < count; i++)
        holds = money_times(holds, MILLION - (int64_t)damage_falls_short_ppm(damage[i]), MILLION);
    const int64_t falls = MILLION - holds;
    return (int32_t)(falls > 950000 ? 950000 : falls);
}
