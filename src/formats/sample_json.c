/* Our own JSON: kind `reading` or `prediction` as russet writes it, or a list of such objects. "reflectance"
 * holds the 31 bands as fractions, or is null when only the Lab is known; then "illuminant" and "observer"
 * must be D65 and 10. */
#include "formats/json_in.h"
#include "formats/sample_readers.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

struct json_file {
    struct sample_build *build;
    struct arena *arena;
    const char *name;
};

static const char *keep(const struct json_file *file, const char *text) {
    return arena_text(file->arena, text, strlen(text));
}

static enum status read_geometry(const struct json_file *file, const json_t *object, struct json_place place,
                                 enum geometry *out, struct fault *fault) {
    const char *name;
    *out = GEOMETRY_UNKNOWN;
    const json_t *value = json_object_get(object, "geometry");
    if (!value || json_is_null(value)) return STATUS_OK;
    const enum status status = json_get_text(object, "geometry", place, &name, fault);
    if (status != STATUS_OK || strcmp(name, "unknown") == 0) return status;
    *out = build_geometry(name);
    return *out != GEOMETRY_UNKNOWN ? STATUS_OK : FAULT(fault, JSON_GEOMETRY, file->name, SHOWN_TEXT(name));
}

/* The light as text and the observer as text of its angle; NULL when not there. */
static enum status read_view(const struct json_file *file, const json_t *object, struct json_place place,
                             struct sample_about *about, struct fault *fault) {
    const char *light;
    double observer = 0;
    enum status status = STATUS_OK;
    if (json_object_get(object, "illuminant")) {
        status = json_get_text(object, "illuminant", place, &light, fault);
        if (status == STATUS_OK) about->light = keep(file, light);
    }
    if (status == STATUS_OK)
        status = json_get_number_or(object, "observer", 0, 90, 0, place, &observer, fault);
    if (observer > 0) about->observer = keep(file, NUMBER_TEXT(observer));
    return status;
}

/* A covariance: symmetric, and no direction with negative variance (leading minors, with room for the digits
 * that were written). */
static bool is_covariance(double m[3][3]) {
    const double scale = fmax(m[0][0], fmax(m[1][1], m[2][2]));
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            if (!(fabs(m[i][k] - m[k][i]) <= 2e-4 + 1e-6 * scale)) return false;
            if (!(m[i][k] * m[i][k] <= m[i][i] * m[k][k] * (1 + 1e-6) + 1e-6 * (1 + scale))) return false;
        }
    return m[0][0] >= 0 && m[1][1] >= 0 && m[2][2] >= 0;
}

static enum status read_covariance(const struct json_file *file, const json_t *object,
                                   struct reading *reading, struct fault *fault) {
    const json_t *rows = json_object_get(object, "lab_cov");
    if (!rows || json_is_null(rows)) return STATUS_OK;
    if (!json_is_array(rows) || json_array_size(rows) != 3)
        return FAULT(fault, JSON_COVARIANCE, file->name, "lab_cov");
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < 3; k++) {
            const json_t *value = json_array_get(json_array_get(rows, i), k);
            if (!json_is_number(value) || json_array_size(json_array_get(rows, i)) != 3)
                return FAULT(fault, JSON_COVARIANCE, file->name, "lab_cov");
            reading->lab_cov[i][k] = json_number_value(value);
        }
    if (!is_covariance(reading->lab_cov)) return FAULT(fault, JSON_COVARIANCE, file->name, "lab_cov");
    reading->has_cov = true;
    return STATUS_OK;
}

/* The band of an estimated reflectance. */
static enum status read_band(const json_t *object, struct json_place place, struct reading *reading,
                             struct fault *fault) {
    const json_t *band = json_object_get(object, "reflectance_band");
    if (!reading->has_spectrum || !band || json_is_null(band)) return STATUS_OK;
    reading->has_band = true;
    return json_get_numbers(object, "reflectance_band", BANDS, 0, 2, place, reading->band.band, fault);
}

static enum status read_colour(const struct json_file *file, const json_t *object, struct json_place place,
                               struct sample *sample, struct fault *fault) {
    double value[BANDS], lab[3];
    const json_t *reflectance = json_object_get(object, "reflectance");
    enum status status;
    if (reflectance && !json_is_null(reflectance)) {
        status = json_get_numbers(object, "reflectance", BANDS, -0.005, 2, place, value, fault);
        if (status == STATUS_OK) build_reflectance(file->build, sample, value);
        return status;
    }
    status = json_get_numbers(object, "lab", 3, -1000, 1000, place, lab, fault);
    return status == STATUS_OK ? build_lab(file->build, sample, lab, 1, fault) : status;
}

static enum status read_one(const struct json_file *file, const json_t *object, const char *path,
                            struct fault *fault) {
    const struct json_place place = {file->name, path};
    struct sample_about about = {0};
    struct sample *sample;
    const json_t *id = json_object_get(object, "id");
    enum status status = json_check_kind(object, "reading|prediction", file->name, fault);
    if (status == STATUS_OK) status = read_geometry(file, object, place, &about.geometry, fault);
    if (status == STATUS_OK) status = read_view(file, object, place, &about, fault);
    if (status != STATUS_OK) return status;
    build_group(file->build, &about);
    status = build_sample(file->build, json_is_string(id) ? json_string_value(id) : NULL, 1, &sample, fault);
    if (status == STATUS_OK) status = read_colour(file, object, place, sample, fault);
    if (status == STATUS_OK) status = read_covariance(file, object, &sample->reading, fault);
    if (status == STATUS_OK) status = read_band(object, place, &sample->reading, fault);
    return status;
}

static enum status read_all(const struct json_file *file, const json_t *root, struct fault *fault) {
    if (!json_is_array(root)) return read_one(file, root, NULL, fault);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(root) && status == STATUS_OK; i++) {
        char path[32];
        snprintf(path, sizeof path, "[%zu]", i);
        status = read_one(file, json_array_get(root, i), path, fault);
    }
    return status;
}

enum status sample_json_read(struct sample_build *build, const struct bytes *bytes, struct arena *arena,
                             struct fault *fault) {
    json_t *root;
    enum status status = json_read(bytes, &root, fault);
    if (status != STATUS_OK) return status;
    const struct json_file file = {build, arena, bytes->name};
    status = read_all(&file, root, fault);
    json_decref(root);
    return status;
}
