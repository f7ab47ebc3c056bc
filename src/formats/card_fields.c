/* Names and parts of a place. */
#include "formats/card_fields.h"
#include "formats/text_in.h"
#include <stdio.h>
#include <string.h>

static bool is_left_out(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return !value || json_is_null(value);
}

enum status card_read_id(const json_t *object, struct json_place at, char out[CARD_ID_MAX],
                         struct fault *fault) {
    const char *id;
    const enum status status = json_get_text(object, "id", at, &id, fault);
    if (status != STATUS_OK) return status;
    const size_t n = strlen(id);
    if (n == 0 || n >= CARD_ID_MAX)
        return FAULT(fault, CARD_ID_LENGTH, at.file, at.path, COUNT_TEXT(CARD_ID_MAX - 1));
    memcpy(out, id, n + 1);
    text_tame(out, n, "");
    return STATUS_OK;
}

static enum status read_parts(const json_t *place, struct json_place at, struct photo_place *out,
                              struct fault *fault) {
    json_t *parts = json_object_get(place, "parts_g");
    const char *toner;
    json_t *g;
    double sum = 0;
    if (is_left_out(place, "parts_g")) return STATUS_OK;
    if (!json_is_object(parts) || json_object_size(parts) > CARD_PARTS_MOST)
        return FAULT(fault, CARD_PARTS, at.file, at.path, COUNT_TEXT(CARD_PARTS_MOST));
    json_object_foreach(parts, toner, g) {
        double grams;
        if (strlen(toner) >= sizeof out->part[0].toner)
            return FAULT(fault, CARD_PARTS, at.file, at.path, COUNT_TEXT(CARD_PARTS_MOST));
        const enum status status = json_get_number(parts, toner, 0, 1e6, at, &grams, fault);
        if (status != STATUS_OK) return status;
        snprintf(out->part[out->parts].toner, sizeof out->part[0].toner, "%s", toner);
        out->part[out->parts++].g = grams;
        sum += grams;
    }
    return sum > 0 ? STATUS_OK : FAULT(fault, CARD_PARTS, at.file, at.path, COUNT_TEXT(CARD_PARTS_MOST));
}

enum status card_read_name(const json_t *place, struct json_place at, const char *key, char out[CARD_ID_MAX],
                           struct fault *fault) {
    const char *text;
    if (is_left_out(place, key)) return STATUS_OK;
    const enum status status = json_get_text(place, key, at, &text, fault);
    if (status != STATUS_OK) return status;
    if (strlen(text) >= CARD_ID_MAX)
        return FAULT(fault, CARD_ID_LENGTH, at.file, at.path, COUNT_TEXT(CARD_ID_MAX - 1));
    memcpy(out, text, strlen(text) + 1);
    return STATUS_OK;
}

enum status card_read_labels(const json_t *place, struct json_place at, struct photo_place *out,
                             struct fault *fault) {
    enum status status = card_read_id(place, at, out->id, fault);
    if (status == STATUS_OK) status = read_parts(place, at, out, fault);
    if (status == STATUS_OK) status = card_read_name(place, at, "dab", out->dab, fault);
    return status == STATUS_OK ? card_read_name(place, at, "over", out->over, fault) : status;
}
