#include "flow/operation.h"
#include "formats/json_out.h"
#include "trade/air.h"
#include <math.h>

extern operation_flow air_flow;

static struct air_case case_of(const struct request *request) {
    return (struct air_case){.air_c = request_number(request, "--air-c", 0),
                             .humidity = request_number(request, "--rh", 0),
                             .surface_c = request_number(request, "--surface-c", 0),
                             .margin_needed_k = request_number(request, "--margin-k", 3),
                             .humidity_most = request_number(request, "--rh-most", (double)NAN),
                             .surface_least_c = request_number(request, "--surface-least-c", (double)NAN),
                             .surface_most_c = request_number(request, "--surface-most-c", (double)NAN)};
}

static void tell_reason(const struct air_case *in, const struct air *air, struct fault *reason) {
    const char *margin = NUMBER_TEXT(round(10 * air->margin_k) / 10),
               *needed = NUMBER_TEXT(in->margin_needed_k);
    switch (air->reason) {
    case AIR_GO:
        FAULT(reason, AIR_MAY_GO, margin, needed);
        return;
    case AIR_DEW:
        FAULT(reason, AIR_TOO_NEAR_DEW, margin, needed, NUMBER_TEXT(ceil(10 * air->surface_needed_c) / 10));
        return;
    case AIR_DOES_NOT_DRY:
        FAULT(reason, AIR_NO_DRYING, NUMBER_TEXT(in->humidity),
              NUMBER_TEXT(round(100 * air->drying_index) / 100));
        return;
    case AIR_HUMID:
        FAULT(reason, AIR_TOO_HUMID, NUMBER_TEXT(in->humidity), NUMBER_TEXT(in->humidity_most));
        return;
    case AIR_COLD:
        FAULT(reason, AIR_TOO_COLD, NUMBER_TEXT(in->surface_c), NUMBER_TEXT(in->surface_least_c));
        return;
    case AIR_HOT:
        FAULT(reason, AIR_TOO_HOT, NUMBER_TEXT(in->surface_c), NUMBER_TEXT(in->surface_most_c));
        return;
    }
}

/* Things that a sprayer would want to hear though they do not say wait. */
static void add_notes(json_t *reply, const struct air_case *in, const struct air *air) {
    struct fault note;
    if (air->go && air->drying_index < 0.7) {
        FAULT(&note, AIR_DRIES_SLOWLY, NUMBER_TEXT(round(10 / air->drying_index) / 10));
        json_add_note(reply, &note);
    }
    if (air->drying_index > 1.5) {
        FAULT(&note, AIR_DRIES_FAST, NUMBER_TEXT(round(10 * air->drying_index) / 10));
        json_add_note(reply, &note);
    }
    if (isnan(in->humidity_most) && in->humidity > 85) {
        FAULT(&note, AIR_HUMID_USUALLY, NUMBER_TEXT(in->humidity));
        json_add_note(reply, &note);
    }
    if (isnan(in->surface_least_c) && in->surface_c < 10) {
        FAULT(&note, AIR_COLD_USUALLY, NUMBER_TEXT(in->surface_c));
        json_add_note(reply, &note);
    }
    if (in->surface_c > 60) {
        FAULT(&note, AIR_HEAT_HURTS, NUMBER_TEXT(in->surface_c));
        json_add_note(reply, &note);
    }
}

enum status air_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                     struct fault *fault) {
    (void)around;
    const struct air_case in = case_of(request);
    if (in.humidity > 0 && in.humidity <= 1)
        return FAULT(fault, AIR_RH_FRACTION, NUMBER_TEXT(in.humidity), NUMBER_TEXT(100 * in.humidity));
    struct air air;
    const enum status status = air_judge(&in, &air, fault);
    if (status != STATUS_OK) return status;
    struct fault reason;
    tell_reason(&in, &air, &reason);
    json_t *object = json_start("air");
    json_put_text(object, "verdict", air.go ? "go" : "wait");
    json_put_flag(object, "go", air.go);
    json_put_text(object, "reason", reason.text);
    json_put_number(object, "dew_point_c", air.dew_point_c, 3);
    json_put_number(object, "margin_k", air.margin_k, 3);
    json_put_number(object, "margin_needed_k", in.margin_needed_k, 3);
    json_put_number(object, "surface_needed_c", air.surface_needed_c, 3);
    json_put_number(object, "wet_bulb_c", air.wet_bulb_c, 3);
    json_put_number(object, "drying_index", air.drying_index, 3);
    add_notes(object, &in, &air);
    *reply = object;
    return air.go ? STATUS_OK : STATUS_NO;
}
