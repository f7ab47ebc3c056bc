#include "trade/money.h"
#include <assert.h>
#include <stdio.h>
#include <string.h>

__extension__ typedef __int128 wide;

static const struct {
    char code[4];
    int exponent;
} currencies[] = {
#define CURRENCY(code, exponent) {#code, exponent},
#include "trade/currencies.def"
#undef CURRENCY
};
enum { CURRENCY_COUNT = sizeof currencies / sizeof currencies[0] };

int money_exponent(const char *currency) {
    for (size_t i = 0; i < CURRENCY_COUNT; i++)
        if (strcmp(currencies[i].code, currency) == 0) return currencies[i].exponent;
    return -1;
}

const char *money_currency_at(size_t i) {
    return i < CURRENCY_COUNT ? currencies[i].code : NULL;
}

static int64_t held(wide x) {
    if (x > MONEY_MOST) return MONEY_MOST;
    return x < -MONEY_MOST ? -MONEY_MOST : (int64_t)x;
}

int64_t money_times(int64_t minor, int64_t numerator, int64_t denominator) {
    assert(denominator > 0);
    const wide product = (wide)minor * numerator;
    const wide size = product < 0 ? -product : product;
    const wide rounded = (2 * size + denominator) / (2 * (wide)denominator);
    return held(product < 0 ? -rounded : rounded);
}

int64_t money_sum(int64_t a, int64_t b) {
    return held((wide)a + b);
}

static wide weight_sum(const int64_t weight[], size_t count) {
    wide sum = 0;
    for (size_t i = 0; i < count; i++) {
        assert(weight[i] >= 0);
        sum += weight[i];
    }
    return sum;
}

void money_share(int64_t total, const int64_t weight[], size_t count, int64_t out[]) {
    assert(count > 0 && count <= MONEY_PARTS_MOST);
    const wide sum = weight_sum(weight, count), size = total < 0 ? -(wide)total : total;
    const wide whole = sum ? sum : (wide)count;
    wide rest[MONEY_PARTS_MOST], left = size;
    for (size_t i = 0; i < count; i++) {
        const wide part = size * (sum ? weight[i] : 1);
        out[i] = (int64_t)(part / whole);
        rest[i] = part % whole;
        left -= out[i];
    }
    for (; left > 0; left--) { /* fewer than count units are left */
        size_t most = 0;
        for (size_t i = 1; i < count; i++)
            if (rest[i] > rest[most]) most = i;
        rest[most] = -1;
        out[most]++;
    }
    if (total < 0)
        for (size_t i = 0; i < count; i++) out[i] = -out[i];
}

static int64_t ten_to(int exponent) {
    int64_t x = 1;
    while (exponent-- > 0) x *= 10;
    return x;
}

static const char *text_with(char out[MONEY_TEXT], struct money money, const char *gap) {
    const int exponent = money_exponent(money.currency) < 0 ? 0 : money_exponent(money.currency);
    const int64_t unit = ten_to(exponent), size = money.minor < 0 ? -money.minor : money.minor;
    char digits[24];
    snprintf(digits, sizeof digits, "%lld", (long long)(size / unit));
    size_t n = (size_t)snprintf(out, MONEY_TEXT, "%s", money.minor < 0 ? "-" : "");
    const size_t count = strlen(digits);
    for (size_t i = 0; i < count; i++)
        n += (size_t)snprintf(out + n, MONEY_TEXT - n, "%s%c", i && (count - i) % 3 == 0 ? gap : "",
                              digits[i]);
    if (exponent)
        n += (size_t)snprintf(out + n, MONEY_TEXT - n, ".%0*lld", exponent, (long long)(size % unit));
    snprintf(out + n, MONEY_TEXT - n, "%s%s", *gap ? "\u00a0" : " ", money.currency);
    return out;
}

const char *money_text(char out[MONEY_TEXT], struct money money) {
    return text_with(out, money, "");
}

const char *money_text_grouped(char out[MONEY_TEXT], struct money money) {
    return text_with(out, money, "\u00a0");
}

/* Digits, then at most `decimals` of them behind a point, or behind a comma where it cannot be one of the
 * thousands: the whole in units of 10^-decimals. */
static bool read_decimal(const char *text, int decimals, int64_t most, int64_t *out) {
    const bool negative = *text == '-';
    if (negative) text++;
    int64_t value = 0;
    int behind = -1, digits = 0;
    for (; *text; text++) {
        if ((*text == '.' || (*text == ',' && decimals != 3)) && behind < 0) {
            behind = 0;
            continue;
        }
        if (*text < '0' || *text > '9' || value > most) return false;
        if (behind >= 0 && behind++ >= decimals) return false;
        value = value * 10 + (*text - '0');
        digits++;
    }
    const wide scaled = (wide)value * ten_to(decimals - (behind > 0 ? behind : 0));
    if (!digits || scaled > most) return false;
    *out = negative ? -(int64_t)scaled : (int64_t)scaled;
    return true;
}

enum status money_read(const char *what, const char *text, const char *currency, struct money *out,
                       struct fault *fault) {
    const int exponent = money_exponent(currency);
    if (exponent < 0) return FAULT(fault, CURRENCY_UNKNOWN, what, currency);
    struct money money = {0};
    if (!read_decimal(text, exponent, MONEY_MOST, &money.minor))
        return FAULT(fault, MONEY_NOT_READ, what, text, currency, COUNT_TEXT(exponent));
    snprintf(money.currency, sizeof money.currency, "%s", currency);
    *out = money;
    return STATUS_OK;
}

enum status rate_read(const char *what, const char *text, int32_t *ppm, struct fault *fault) {
    int64_t value;
    if (!read_decimal(text, 4, MILLION, &value) || value < 0) return FAULT(fault, RATE_NOT_READ, what, text);
    *ppm = (int32_t)value;
    return STATUS_OK;
}

const char *rate_text(char out[32], int32_t ppm) {
    int decimals = 4, value = ppm;
    while (decimals > 0 && value % 10 == 0) value /= 10, decimals--;
    const int64_t unit = ten_to(decimals);
    if (decimals)
        snprintf(out, 32, "%d.%0*d\u00a0%%", (int)(value / unit), decimals, (int)(value % unit));
    else
        snprintf(out, 32, "%d\u00a0%%", value);
    return out;
}
