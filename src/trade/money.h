/* Money: whole minor units and a currency of ISO 4217. It never passes through floating point.
 *
 * Rounding is half away from zero ("half up" for what is owed, the same for what is given back) and happens
 * only in money_times. A sum is cut into parts by largest remainder (Hamilton's method): every part gets the
 * whole units of its share, and the units that are left go to the largest remainders, the earlier part first
 * where two are equal; so the parts always add up. Exponents: ISO 4217 list one of 2024-06-25; libraries of
 * locales differ (HUF) and are not asked. Amounts stay within +-10^15 minor units, so that no product here
 * can overflow 128 bits. */
#ifndef RUSSET_TRADE_MONEY_H
#define RUSSET_TRADE_MONEY_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct money {
    int64_t minor;
    char currency[4]; /* "EUR" */
};

#define MONEY_MOST INT64_C(1000000000000000)
enum { MONEY_TEXT = 48, MONEY_PARTS_MOST = 256, MILLION = 1000000 };

/* Digits after the point, 0..4; -1 for a code that is not on the list. */
int money_exponent(const char *currency);
/* The i-th code of the list, NULL after the last. */
const char *money_currency_at(size_t i);

/* minor * numerator / denominator, rounded half away from zero; denominator > 0. The result is held inside
 * +-MONEY_MOST. */
int64_t money_times(int64_t minor, int64_t numerator, int64_t denominator);
/* a + b, held inside +-MONEY_MOST. */
int64_t money_sum(int64_t a, int64_t b);

/* Cuts total (of either sign) by weights >= 0 into out[count]; with all weights 0 in equal parts. count at
 * most MONEY_PARTS_MOST. */
void money_share(int64_t total, const int64_t weight[], size_t count, int64_t out[]);

/* "1234.50 EUR", "1235 JPY"; grouped with no-break spaces for papers. */
const char *money_text(char out[MONEY_TEXT], struct money money);
const char *money_text_grouped(char out[MONEY_TEXT], struct money money);

/* "12", "12.5", "12.50": major units as typed, exactly. USAGE when it has more digits than the currency, or
 * is no number, or is too much. what: the option's name. */
enum status money_read(const char *what, const char *text, const char *currency, struct money *out,
                       struct fault *fault) MUST_USE;
/* "20", "9.975": per cent to parts per million, exactly, 0..100 per cent. */
enum status rate_read(const char *what, const char *text, int32_t *ppm, struct fault *fault) MUST_USE;
/* "20 %", "9.975 %" */
const char *rate_text(char out[32], int32_t ppm);

#endif
