/* Tax on the lines of a quote or an invoice.
 *
 *     added     net as written, tax = net r            (r the rate)
 *     included  gross as written, tax = gross r / (1 + r)
 *
 * By line: each line's tax is rounded. By invoice: the lines of one rate are added first, the tax of the sum
 * is rounded once and shared over its lines by largest remainder. Either way the lines add up to the totals,
 * and net + tax = gross in every line. Which rule holds is a matter of local law and so a setting: 20 % on
 * three lines of .99 is .60 by line and .59 by invoice. */
#ifndef RUSSET_TRADE_TAX_H
#define RUSSET_TRADE_TAX_H

#include "trade/money.h"

enum tax_rule { TAX_BY_LINE, TAX_BY_INVOICE };
enum tax_writing { TAX_ADDED, TAX_INCLUDED };

struct tax_line {
    int64_t written; /* minor units, net or gross by enum tax_writing */
    int32_t rate_ppm;
    int64_t net, tax, gross; /* found */
};

struct tax_total {
    int32_t rate_ppm;
    int64_t net, tax, gross;
};

struct tax {
    size_t rate_count; /* by falling rate */
    struct tax_total rate[16];
    int64_t net, tax, gross;
};

/* Fills the lines and the totals. INPUT when there are more than 16 rates or MONEY_PARTS_MOST lines. */
enum status tax_reckon(struct tax_line line[], size_t count, enum tax_rule rule, enum tax_writing writing,
                       struct tax *out, struct fault *fault) MUST_USE;

#endif
