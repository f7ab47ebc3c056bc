#include "flow/operation.h"
#include "formats/json_out.h"
#include "trade/grit.h"
#include "trade/units.h"
#include <ctype.h>
#include <stdio.h>
#include <string.h>

extern operation_flow units_flow;

static json_t *value_in(double value, enum unit unit) {
    json_t *object = json_object();
    json_put_number(object, "value", value, -9);
    json_put_text(object, "unit", unit_name(unit));
    return object;
}

static enum status convert(const char *text, const char *wanted, json_t *reply, struct fault *fault) {
    static const char *const quantity[] = {"pressure",    "volume", "length", "mass", "area",
                                           "temperature", "flow",   "speed",  "time"};
    double value;
    enum unit unit, to = UNIT_COUNT;
    const enum status status = unit_read_any(text, &value, &unit, fault);
    if (status != STATUS_OK) return status;
    const char *kind = quantity[unit_quantity(unit)];
    if (wanted && !unit_from_name(wanted, &to))
        return FAULT(fault, UNIT_UNKNOWN, "russet units", wanted, kind, unit_name(unit));
    if (wanted && unit_quantity(to) != unit_quantity(unit))
        return FAULT(fault, UNIT_CANNOT_CONVERT, text, kind, wanted);
    json_t *values = json_array();
    for (int u = 0; u < UNIT_COUNT; u++) {
        const bool shown =
            wanted ? u == (int)to : u != (int)unit && unit_quantity((enum unit)u) == unit_quantity(unit);
        if (shown)
            json_array_append_new(values, value_in(unit_convert(value, unit, (enum unit)u), (enum unit)u));
    }
    json_put(reply, "given", value_in(value, unit));
    json_put(reply, "values", values);
    return STATUS_OK;
}

static enum status tell_grit(const char *text, json_t *reply, struct fault *fault) {
    struct grit grit;
    const enum status status = grit_read(text, &grit, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_object();
    json_put_text(object, "scale", grit.scale == GRIT_CAMI ? "CAMI" : "FEPA P");
    json_put_count(object, "number", grit.number);
    json_put_count(object, "fepa_p", grit.fepa_p);
    json_put_number(object, "median_um", grit.median_um, 1);
    json_put(reply, "grit", object);
    return STATUS_OK;
}

/* A grit begins with the letters of its scale; a bare whole number without a unit is taken for one, and
 * refused as such. */
static bool is_grit(const char *text, const char *wanted) {
    if (isalpha((unsigned char)text[0])) return true;
    unsigned long long number;
    return !wanted && text_to_count(text, 100000, &number);
}

/* "30 psi" in two words. */
static bool is_its_unit(const char *text, const char *wanted) {
    enum unit unit;
    return wanted && text[0] && strlen(text) < 40 && text[strspn(text, "+-.0123456789")] == 0 &&
           unit_from_name(wanted, &unit);
}

enum status units_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    (void)around;
    const char *text = request_text(request, "VALUE"), *wanted = request_text(request, "UNIT");
    json_t *object = json_start("units");
    char whole[80];
    if (is_its_unit(text, wanted)) {
        snprintf(whole, sizeof whole, "%s %s", text, wanted);
        text = whole, wanted = NULL;
    }
    const enum status status =
        is_grit(text, wanted) ? tell_grit(text, object, fault) : convert(text, wanted, object, fault);
    if (status == STATUS_OK)
        *reply = object;
    else
        json_decref(object);
    return status;
}
