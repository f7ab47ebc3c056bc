#include "trade/tax.h"
#include <string.h>

enum { RATES_MOST = 16 };
static const int64_t line_most = MONEY_MOST / MONEY_PARTS_MOST; /* a sum is never held back */

static int64_t tax_of(int64_t written, int32_t rate_ppm, enum tax_writing writing) {
    const int64_t whole = writing == TAX_INCLUDED ? MILLION + (int64_t)rate_ppm : MILLION;
    return money_times(written, rate_ppm, whole);
}

__extension__ typedef __int128 wide;

/* written * rate / whole rounded towards minus infinity, and what that leaves, 0 .. whole - 1. */
static int64_t down(int64_t written, int32_t rate_ppm, int64_t whole, int64_t *rest) {
    const wide product = (wide)written * rate_ppm;
    wide quotient = product / whole, remainder = product % whole;
    if (remainder < 0) quotient--, remainder += whole;
    *rest = (int64_t)remainder;
    return (int64_t)quotient;
}

static struct tax_total *total_of(struct tax *tax, int32_t rate_ppm) {
    for (size_t i = 0; i < tax->rate_count; i++)
        if (tax->rate[i].rate_ppm == rate_ppm) return &tax->rate[i];
    if (tax->rate_count == RATES_MOST) return NULL;
    size_t at = tax->rate_count++;
    for (; at > 0 && tax->rate[at - 1].rate_ppm < rate_ppm; at--) tax->rate[at] = tax->rate[at - 1];
    tax->rate[at] = (struct tax_total){.rate_ppm = rate_ppm};
    return &tax->rate[at];
}

/* The tax of one rate: every line its own quota rounded down, what is then missing from the rounded tax of
 * the sum goes to the largest remainders. Lines below 0 (a discount) have remainders like any other. */
static void share_tax(struct tax_line line[], size_t count, int32_t rate_ppm, enum tax_writing writing) {
    const int64_t whole = writing == TAX_INCLUDED ? MILLION + (int64_t)rate_ppm : MILLION;
    int64_t rest[MONEY_PARTS_MOST], sum = 0, given = 0;
    for (size_t i = 0; i < count; i++) {
        rest[i] = -1;
        if (line[i].rate_ppm != rate_ppm) continue;
        sum = money_sum(sum, line[i].written);
        line[i].tax = down(line[i].written, rate_ppm, whole, &rest[i]);
        given += line[i].tax;
    }
    for (int64_t left = tax_of(sum, rate_ppm, writing) - given; left > 0; left--) {
        size_t most = 0;
        for (size_t i = 1; i < count; i++)
            if (rest[i] > rest[most]) most = i;
        rest[most] = -1;
        line[most].tax++;
    }
}

static void finish_line(struct tax_line *line, enum tax_writing writing) {
    line->net = writing == TAX_INCLUDED ? line->written - line->tax : line->written;
    line->gross = line->net + line->tax;
}

enum status tax_reckon(struct tax_line line[], size_t count, enum tax_rule rule, enum tax_writing writing,
                       struct tax *out, struct fault *fault) {
    struct tax tax = {0};
    if (count > MONEY_PARTS_MOST) return FAULT(fault, TAX_TOO_MUCH, COUNT_TEXT(MONEY_PARTS_MOST), "lines");
    for (size_t i = 0; i < count; i++) {
        if (line[i].written > line_most || line[i].written < -line_most)
            return FAULT(fault, TAX_LINE_TOO_LARGE, COUNT_TEXT(line[i].written));
        if (!total_of(&tax, line[i].rate_ppm))
            return FAULT(fault, TAX_TOO_MUCH, COUNT_TEXT(RATES_MOST), "rates");
        line[i].tax = tax_of(line[i].written, line[i].rate_ppm, writing);
    }
    for (size_t r = 0; rule == TAX_BY_INVOICE && r < tax.rate_count; r++)
        share_tax(line, count, tax.rate[r].rate_ppm, writing);
    for (size_t i = 0; i < count; i++) {
        finish_line(&line[i], writing);
        struct tax_total *total = total_of(&tax, line[i].rate_ppm);
        total->net = money_sum(total->net, line[i].net);
        total->tax = money_sum(total->tax, line[i].tax);
        total->gross = money_sum(total->gross, line[i].gross);
    }
    for (size_t r = 0; r < tax.rate_count; r++) {
        tax.net = money_sum(tax.net, tax.rate[r].net);
        tax.tax = money_sum(tax.tax, tax.rate[r].tax);
        tax.gross = money_sum(tax.gross, tax.rate[r].gross);
    }
    *out = tax;
    return STATUS_OK;
}
