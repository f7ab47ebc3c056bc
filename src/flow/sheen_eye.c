/* Sheen without a gloss meter: a strip of dabs between two fractions, held to the part, the nearest named;
 * then a finer strip between its neighbours. */
#include "flow/sheen_parts.h"
#include "formats/json_out.h"
#include <math.h>
#include <string.h>

static const double dab_ml = 5;

struct strip {
    size_t count;
    double matte[SHEEN_STRIP_MOST];
    bool has_curve;
    struct sheen_curve curve;
};

static enum status read_strip(const struct surroundings *around, const struct request *request,
                              struct strip *out, struct fault *fault) {
    size_t count;
    const double *between = request_numbers(request, "--between", &count);
    if (count != 2 || !(between[0] < between[1])) return FAULT0(fault, SHEEN_BETWEEN_WHAT);
    struct sheen_ladder ladder;
    out->has_curve = request_has(request, "--ladder");
    const enum status status =
        out->has_curve ? sheen_read(around, request, &ladder, &out->curve, fault) : STATUS_OK;
    if (status != STATUS_OK) return status;
    out->count = (size_t)request_number(request, "--steps", 7);
    const struct sheen_curve *curve = out->has_curve ? &out->curve : NULL;
    sheen_strip(curve, between[0], between[1], out->count, out->matte);
    return STATUS_OK;
}

static void put_strip(json_t *reply, const struct strip *strip) {
    json_t *dabs = json_array();
    for (size_t i = 0; i < strip->count; i++) {
        json_t *dab = json_object();
        json_put_count(dab, "dab", (long long)i + 1);
        json_put_number(dab, "matte_fraction", strip->matte[i], 4);
        json_put_number(dab, "matte_ml", dab_ml * strip->matte[i], 2);
        json_put_number(dab, "gloss_ml", dab_ml * (1 - strip->matte[i]), 2);
        if (strip->has_curve)
            json_put_number(dab, "expected_gu", sheen_at(&strip->curve, strip->matte[i]).gu, 2);
        json_array_append_new(dabs, dab);
    }
    json_put(reply, "strip", dabs);
    SHEEN_NOTE(reply, SHEEN_STRIP_HOW, NULL);
}

/* One dab, or two that stand side by side. */
static enum status read_nearest(const struct request *request, const struct strip *strip, size_t *low,
                                size_t *high, struct fault *fault) {
    size_t count;
    const double *nearest = request_numbers(request, "--nearest", &count);
    const double first = nearest[0], last = nearest[count - 1];
    const bool whole = first == floor(first) && last == floor(last);
    const bool beside = count == 1 || (count == 2 && fabs(first - last) == 1);
    if (!whole || !beside || fmax(first, last) > (double)strip->count)
        return FAULT(fault, SHEEN_NEAREST_WHAT, COUNT_TEXT(strip->count));
    *low = (size_t)fmin(first, last) - 1;
    *high = (size_t)fmax(first, last) - 1;
    return STATUS_OK;
}

static enum status answer(const struct request *request, const struct strip *strip, json_t *reply,
                          struct fault *fault) {
    size_t low = 0, high = 0;
    const enum status status = read_nearest(request, strip, &low, &high, fault);
    if (status != STATUS_OK) return status;
    const double matte = (strip->matte[low] + strip->matte[high]) / 2;
    sheen_put_mix(reply, request, matte);
    if (strip->has_curve) json_put_number(reply, "expected_gu", sheen_at(&strip->curve, matte).gu, 2);
    const size_t from = low == high && low > 0 ? low - 1 : low;
    const size_t to = low == high && high + 1 < strip->count ? high + 1 : high;
    json_put(reply, "next_between",
             json_numbers((const double[]){strip->matte[from], strip->matte[to]}, 2, 4));
    if (low == high && (low == 0 || high + 1 == strip->count)) SHEEN_NOTE(reply, SHEEN_STRIP_END, NULL);
    return STATUS_OK;
}

enum status sheen_by_eye(const struct surroundings *around, const struct request *request, json_t *reply,
                         struct fault *fault) {
    struct strip strip = {0};
    enum status status = read_strip(around, request, &strip, fault);
    if (status != STATUS_OK) return status;
    if (request_has(request, "--nearest"))
        status = answer(request, &strip, reply, fault);
    else
        put_strip(reply, &strip);
    const bool has_60 =
        strip.has_curve && strip.curve.angle == GLOSS_60 && json_object_get(reply, "expected_gu");
    const double gu60 = has_60 ? json_number_value(json_object_get(reply, "expected_gu")) : (double)NAN;
    if (status == STATUS_OK) sheen_put_place(reply, request, gu60);
    return status;
}
