#include "trade/units.h"
#include "base/text.h"
#include <assert.h>
#include <ctype.h>
#include <string.h>

static const struct {
    const char *name, *others;
    enum quantity quantity;
    double factor, offset;
} table[UNIT_COUNT] = {
#define UNIT(id, name, others, quantity, factor, offset) {name, others, QUANTITY_##quantity, factor, offset},
    UNIT_LIST(UNIT)
#undef UNIT
};

static const char *const quantity_names[] = {"pressure",    "volume", "length", "mass", "area",
                                             "temperature", "flow",   "speed",  "time"};

const char *unit_name(enum unit unit) {
    return table[unit].name;
}

enum quantity unit_quantity(enum unit unit) {
    return table[unit].quantity;
}

double unit_convert(double value, enum unit from, enum unit to) {
    assert(table[from].quantity == table[to].quantity);
    return from == to
               ? value
               : (value + table[from].offset) * table[from].factor / table[to].factor - table[to].offset;
}

static bool same(const char *name, size_t n, const char *wanted, bool exact) {
    if (strlen(wanted) != n) return false;
    for (size_t i = 0; i < n; i++) {
        const int a = (unsigned char)name[i], b = (unsigned char)wanted[i];
        if (exact ? a != b : tolower(a) != tolower(b)) return false;
    }
    return true;
}

static bool is_named(enum unit unit, const char *wanted, bool exact) {
    if (same(table[unit].name, strlen(table[unit].name), wanted, exact)) return true;
    for (const char *name = table[unit].others; *name;) {
        const size_t n = strcspn(name, "|");
        if (same(name, n, wanted, exact)) return true;
        name += n + (name[n] == '|');
    }
    return false;
}

bool unit_from_name(const char *name, enum unit *out) {
    for (int exact = 1; exact >= 0; exact--)
        for (int unit = 0; unit < UNIT_COUNT; unit++)
            if (is_named((enum unit)unit, name, exact)) return *out = (enum unit)unit, true;
    return false;
}

/* Where the number ends: an 'e' belongs to it only when an exponent follows. */
static size_t number_length(const char *s) {
    size_t n = 0;
    for (; s[n]; n++) {
        const bool exponent = (s[n] == 'e' || s[n] == 'E') && n > 0 &&
                              isdigit((unsigned char)s[n + 1 + (s[n + 1] == '-' || s[n + 1] == '+')]);
        if (!isdigit((unsigned char)s[n]) && !strchr("+-.", s[n]) && !exponent) break;
    }
    return n;
}

static const char *skip_spaces(const char *s) {
    while (*s == ' ') s++;
    return s;
}

enum status unit_read(const char *option, const char *text, enum unit want, double low, double high,
                      double *out, struct fault *fault) {
    const size_t n = number_length(text);
    const char *name = skip_spaces(text + n);
    const char *wanted = quantity_names[table[want].quantity];
    enum unit unit = want;
    double value;
    if (!text_to_number(text, n, '.', &value))
        return FAULT(fault, UNIT_NO_NUMBER, option, text, unit_name(want));
    if (*name && !unit_from_name(name, &unit))
        return FAULT(fault, UNIT_UNKNOWN, option, name, wanted, unit_name(want));
    if (table[unit].quantity != table[want].quantity)
        return FAULT(fault, UNIT_OTHER_QUANTITY, option, text, quantity_names[table[unit].quantity], wanted,
                     want == UNIT_ML ? "ml, l, floz, gal" : unit_name(want));
    value = unit_convert(value, unit, want);
    if (!(value >= low && value <= high))
        return FAULT(fault, ARGUMENT_OUT_OF_BOUNDS, option, text, NUMBER_TEXT(low), NUMBER_TEXT(high), " ",
                     unit_name(want));
    *out = value;
    return STATUS_OK;
}

enum status unit_read_any(const char *text, double *value, enum unit *unit, struct fault *fault) {
    const size_t n = number_length(text);
    const char *name = skip_spaces(text + n);
    if (!text_to_number(text, n, '.', value))
        return FAULT(fault, UNIT_NO_NUMBER, "russet units", text, "psi");
    if (!*name) return FAULT(fault, UNIT_MISSING, text);
    if (!unit_from_name(name, unit))
        return FAULT(fault, UNIT_UNKNOWN, "russet units", name, "the bench", "kPa, ml, um or g");
    return STATUS_OK;
}
