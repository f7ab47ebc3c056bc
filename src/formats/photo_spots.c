#include "formats/photo_spots.h"
#include "formats/card_fields.h"
#include "formats/json_in.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

bool photo_spots_are_here(const struct bytes *bytes) {
    json_t *root = NULL;
    struct fault fault;
    size_t i = 0;
    while (i < bytes->size && (bytes->data[i] == ' ' || bytes->data[i] == '\n' || bytes->data[i] == '\r' ||
                               bytes->data[i] == '\t'))
        i++;
    if (i == bytes->size || bytes->data[i] != '{') return false;
    if (json_read(bytes, &root, &fault) != STATUS_OK) return false;
    const bool here = json_is_array(json_object_get(root, "spots"));
    json_decref(root);
    return here;
}

static enum status read_covariance(const json_t *spot, struct json_place at, double cov[3][3],
                                   struct fault *fault) {
    const json_t *rows = json_object_get(spot, "lab_cov");
    if (!json_is_array(rows) || json_array_size(rows) != 3) return FAULT(fault, JSON_COVARIANCE, at.file);
    for (size_t r = 0; r < 3; r++)
        for (size_t c = 0; c < 3; c++) {
            const json_t *value = json_array_get(json_array_get(rows, r), c);
            cov[r][c] = json_is_number(value) ? json_number_value(value) : (double)NAN;
            if (!(fabs(cov[r][c]) <= 1e4)) return FAULT(fault, JSON_COVARIANCE, at.file);
        }
    for (int r = 0; r < 3; r++) {
        if (!(cov[r][r] > 0)) return FAULT(fault, JSON_COVARIANCE, at.file);
        for (int c = 0; c < r; c++)
            if (!(fabs(cov[r][c] - cov[c][r]) <= 1e-6 * (1 + fabs(cov[r][c]))))
                return FAULT(fault, JSON_COVARIANCE, at.file);
    }
    return STATUS_OK;
}

static enum status read_spot(const json_t *spot, struct json_place at, struct photo_spot *out,
                             struct fault *fault) {
    double lab[3];
    if (!json_is_object(spot)) return FAULT(fault, CARD_NOT_OBJECT, at.file, at.path);
    enum status status = card_read_labels(spot, at, &out->place, fault);
    if (status == STATUS_OK) status = json_get_numbers(spot, "lab", 3, -200, 200, at, lab, fault);
    if (status != STATUS_OK) return status;
    if (!(lab[0] >= 0 && lab[0] <= 130))
        return FAULT(fault, CARD_LIGHTNESS, at.file, at.path, NUMBER_TEXT(lab[0]));
    out->lab = (struct lab){lab[0], lab[1], lab[2], {LIGHT_D65, OBSERVER_10}};
    return read_covariance(spot, at, out->cov, fault);
}

static const struct photo_spot *find(const struct photo_spot *spot, size_t count, const char *id) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(spot[i].place.id, id) == 0) return &spot[i];
    return NULL;
}

static enum status check_spots(const struct photo_spot *spot, size_t count, const char *file,
                               struct fault *fault) {
    for (size_t i = 0; i < count; i++) {
        const struct photo_place *place = &spot[i].place;
        if (find(spot, i, place->id))
            return FAULT(fault, CARD_ID_TWICE, file, "spots", SHOWN_TEXT(place->id));
        if (place->over[0] == 0) continue;
        const struct photo_spot *over = find(spot, count, place->over);
        if (!over || over->place.parts > 0 || place->parts == 0)
            return FAULT(fault, CARD_OVER, file, SHOWN_TEXT(place->id), SHOWN_TEXT(place->over));
    }
    return STATUS_OK;
}

static enum status read_spots(const json_t *root, const char *file, struct arena *arena,
                              struct photo_spot **out, size_t *count, struct fault *fault) {
    enum status status = json_check_kind(root, "reading", file, fault);
    const json_t *spots = json_object_get(root, "spots");
    if (status != STATUS_OK) return status;
    if (!json_is_array(spots)) return FAULT(fault, CARD_NOT_LIST, file, "spots");
    const size_t n = json_array_size(spots);
    if (n > CARD_PLACES_MOST)
        return FAULT(fault, CARD_TOO_MANY, file, COUNT_TEXT(n), "spots", COUNT_TEXT(CARD_PLACES_MOST));
    struct photo_spot *spot = arena_need(arena, n + 1, sizeof *spot);
    for (size_t i = 0; i < n && status == STATUS_OK; i++) {
        char path[40];
        snprintf(path, sizeof path, "spots[%zu]", i);
        status = read_spot(json_array_get(spots, i), (struct json_place){file, path}, &spot[i], fault);
    }
    if (status == STATUS_OK) status = check_spots(spot, n, file, fault);
    if (status != STATUS_OK) return status;
    *out = spot, *count = n;
    return STATUS_OK;
}

enum status photo_spots_read(const struct bytes *bytes, struct arena *arena, struct photo_spot **out,
                             size_t *count, struct fault *fault) {
    json_t *root = NULL;
    enum status status = json_read(bytes, &root, fault);
    if (status == STATUS_OK) status = read_spots(root, bytes->name, arena, out, count, fault);
    json_decref(root);
    return status;
}
