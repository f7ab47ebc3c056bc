#include "formats/photo_spots.h"
#include "formats/card_fields.h"
#include "formats/json_in.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* The object that the bytes are, or NULL; the caller's. */
static json_t *object_of(const struct bytes *bytes) {
    json_t *root = NULL;
    struct fault fault;
    size_t i = 0;
    while (i < bytes->size && (bytes->data[i] == ' ' || bytes->data[i] == '\n' || bytes->data[i] == '\r' ||
                               bytes->data[i] == '\t'))
        i++;
    if (i == bytes->size || bytes->data[i] != '{') return NULL;
    return json_read(bytes, &root, &fault) == STATUS_OK ? root : NULL;
}

bool photo_spots_are_here(const struct bytes *bytes) {
    json_t *root = object_of(bytes);
    const bool here = json_is_array(json_object_get(root, "spots"));
    json_decref(root);
    return here;
}

static const json_t *films_of(const json_t *root) {
    const char *kind = json_string_value(json_object_get(root, "kind"));
    const json_t *films = json_object_get(json_object_get(root, "fit"), "drawdowns");
    const bool good = kind && strcmp(kind, "toners") == 0 && json_object_get(json_array_get(films, 0), "lab");
    return good ? films : NULL;
}

bool shelf_spots_are_here(const struct bytes *bytes) {
    json_t *root = object_of(bytes);
    const bool here = films_of(root) != NULL;
    json_decref(root);
    return here;
}

static enum status read_covariance(const json_t *spot, const char *key, struct json_place at,
                                   double cov[3][3], struct fault *fault) {
    const json_t *rows = json_object_get(spot, key);
    if (!json_is_array(rows) || json_array_size(rows) != 3)
        return FAULT(fault, JSON_COVARIANCE, at.file, key);
    for (size_t r = 0; r < 3; r++)
        for (size_t c = 0; c < 3; c++) {
            const json_t *value = json_array_get(json_array_get(rows, r), c);
            cov[r][c] = json_is_number(value) ? json_number_value(value) : (double)NAN;
            if (!(fabs(cov[r][c]) <= 1e4)) return FAULT(fault, JSON_COVARIANCE, at.file, key);
        }
    for (int r = 0; r < 3; r++) {
        if (!(cov[r][r] > 0)) return FAULT(fault, JSON_COVARIANCE, at.file, key);
        for (int c = 0; c < r; c++)
            if (!(fabs(cov[r][c] - cov[c][r]) <= 1e-6 * (1 + fabs(cov[r][c]))))
                return FAULT(fault, JSON_COVARIANCE, at.file, key);
    }
    return STATUS_OK;
}

/* Rows of three numbers; none: nothing is shared. */
static enum status read_common(const json_t *spot, struct json_place at, double common[SPOT_COMMON][3],
                               struct fault *fault) {
    const json_t *rows = json_object_get(spot, "common");
    if (!rows) return STATUS_OK;
    if (!json_is_array(rows) || json_array_size(rows) > SPOT_COMMON)
        return FAULT(fault, JSON_COMMON, at.file, COUNT_TEXT(SPOT_COMMON));
    for (size_t m = 0; m < json_array_size(rows); m++)
        for (size_t k = 0; k < 3; k++) {
            const json_t *value = json_array_get(json_array_get(rows, m), k);
            common[m][k] = json_is_number(value) ? json_number_value(value) : (double)NAN;
            if (!(fabs(common[m][k]) <= 100))
                return FAULT(fault, JSON_COMMON, at.file, COUNT_TEXT(SPOT_COMMON));
        }
    return STATUS_OK;
}

/* d Lab / d XYZ by differences. */
static void add_shared(struct lab lab, const double dxyz[3], double cov[3][3]) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const struct xyz at = xyz_of_lab(lab, w);
    const double h = 1e-3;
    const struct lab up = lab_of((struct xyz){at.x + h * dxyz[0], at.y + h * dxyz[1], at.z + h * dxyz[2]}, w),
                     down =
                         lab_of((struct xyz){at.x - h * dxyz[0], at.y - h * dxyz[1], at.z - h * dxyz[2]}, w);
    const double v[3] = {(up.l - down.l) / (2 * h), (up.a - down.a) / (2 * h), (up.b - down.b) / (2 * h)};
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) cov[a][b] += v[a] * v[b];
}

/* What is left must still be a covariance: numbers in a file are rounded, and hands change them. */
void photo_spot_own(const struct photo_spot *spot, double cov[3][3]) {
    if (spot->eye) {
        memcpy(cov, spot->own, sizeof spot->own);
        return;
    }
    static const double least = .01;
    double shared[3][3] = {{0}};
    for (int m = 0; m < SPOT_COMMON; m++) add_shared(spot->lab, spot->common[m], shared);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) cov[a][b] = spot->cov[a][b] - shared[a][b];
    for (int a = 0; a < 3; a++) cov[a][a] = fmax(cov[a][a], least);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            if (a != b) {
                const double most = .5 * sqrt(cov[a][a] * cov[b][b]);
                cov[a][b] = fmin(fmax(cov[a][b], -most), most);
            }
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
    status = read_covariance(spot, "lab_cov", at, out->cov, fault);
    out->eye = json_object_get(spot, "own_cov") != NULL;
    if (status == STATUS_OK && out->eye) status = read_covariance(spot, "own_cov", at, out->own, fault);
    return status == STATUS_OK ? read_common(spot, at, out->common, fault) : status;
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

static const double dab_least_de = .8, dab_strong_de = 2, dab_strong_chroma = 60;

double photo_dab_sd(struct lab lab, double miss_de00) {
    const double strong = hypot(lab.a, lab.b) / dab_strong_chroma;
    return hypot(fmax(dab_least_de, miss_de00), dab_strong_de * strong * strong);
}

static enum status read_film(const json_t *film, struct json_place at, struct photo_spot *out,
                             struct fault *fault) {
    double lab[3], de00;
    const char *id = json_string_value(json_object_get(film, "id"));
    if (!id) return FAULT(fault, CARD_NOT_OBJECT, at.file, at.path);
    enum status status = json_get_numbers(film, "lab", 3, -200, 200, at, lab, fault);
    if (status == STATUS_OK) status = json_get_number(film, "de00", 0, 200, at, &de00, fault);
    if (status != STATUS_OK) return status;
    snprintf(out->place.id, sizeof out->place.id, "%s", id);
    out->lab = (struct lab){lab[0], lab[1], lab[2], {LIGHT_D65, OBSERVER_10}};
    for (int k = 0; k < 3; k++) out->cov[k][k] = pow(photo_dab_sd(out->lab, de00), 2);
    return STATUS_OK;
}

enum status shelf_spots_read(const struct bytes *bytes, struct arena *arena, struct photo_spot **out,
                             size_t *count, struct fault *fault) {
    json_t *root = NULL;
    enum status status = json_read(bytes, &root, fault);
    const json_t *films = status == STATUS_OK ? films_of(root) : NULL;
    const size_t n = json_array_size(films);
    *out = arena_need(arena, n + 1, sizeof **out);
    for (size_t i = 0; i < n && status == STATUS_OK; i++) {
        char path[48];
        snprintf(path, sizeof path, "fit.drawdowns[%zu]", i);
        status =
            read_film(json_array_get(films, i), (struct json_place){bytes->name, path}, &(*out)[i], fault);
    }
    *count = n;
    json_decref(root);
    return status;
}
