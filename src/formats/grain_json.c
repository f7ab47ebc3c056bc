#include "formats/grain_json.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

const char *const grain_key[AREAL_COUNT] = {"Sa_um",  "Sq_um", "Sz_um",   "Ssk", "Sku",
                                            "Sal_mm", "Str",   "Std_deg", "Sdq", "Sdr"};
static const int digits[AREAL_COUNT] = {3, 3, 3, 4, 4, 4, 4, 1, 5, 6};

double grain_scale(enum areal_parameter which) {
    return which == AREAL_SA || which == AREAL_SQ || which == AREAL_SZ ? 1000 : 1;
}

static const char *doubt_key(char out[32], int i) {
    snprintf(out, 32, "%s_u95", grain_key[i]);
    return out;
}

void grain_put(json_t *object, const struct grain *grain) {
    char key[32];
    for (int i = 0; i < AREAL_COUNT; i++) {
        const double scale = grain_scale((enum areal_parameter)i);
        json_put_number(object, grain_key[i], scale * grain->value.value[i], digits[i]);
        json_put_number(object, doubt_key(key, i), scale * grain->u95.value[i], digits[i]);
    }
    json_put_number(object, "s_filter_mm", grain->s_mm, 4);
    json_put_number(object, "l_filter_mm", grain->l_mm, 4);
}

static double usual_doubt(int i, double value) {
    return i == AREAL_SAL                                                                        ? .05 * value
           : i == AREAL_SA || i == AREAL_SQ || i == AREAL_SZ || i == AREAL_SDQ || i == AREAL_SDR ? .1 * value
           : i == AREAL_STD                                                                      ? 10
           : i == AREAL_STR                                                                      ? .08
                                                                                                 : .25;
}

static enum status read_one(const json_t *object, int i, struct json_place place, struct grain *out,
                            struct fault *fault) {
    static const double low[AREAL_COUNT] = {0, 0, 0, -1000, 0, 0, 0, 0, 0, 0};
    char key[32];
    double value, u95;
    const bool needed = i == AREAL_SA || i == AREAL_SAL;
    enum status status =
        needed ? json_get_number(object, grain_key[i], 1e-6, 1e6, place, &value, fault)
               : json_get_number_or(object, grain_key[i], low[i], 1e6, (double)NAN, place, &value, fault);
    if (status == STATUS_OK)
        status =
            json_get_number_or(object, doubt_key(key, i), 0, 1e6, usual_doubt(i, value), place, &u95, fault);
    if (status != STATUS_OK) return status;
    const double scale = grain_scale((enum areal_parameter)i);
    out->value.value[i] = value / scale, out->u95.value[i] = u95 / scale;
    return STATUS_OK;
}

enum status grain_read(const struct bytes *bytes, struct grain *out, struct fault *fault) {
    json_t *object = NULL;
    const struct json_place place = {bytes->name, ""};
    memset(out, 0, sizeof *out);
    enum status status = json_read(bytes, &object, fault);
    if (status == STATUS_OK) status = json_check_kind(object, "grain", bytes->name, fault);
    for (int i = 0; i < AREAL_COUNT && status == STATUS_OK; i++)
        status = read_one(object, i, place, out, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(object, "s_filter_mm", 0, 1000, 0, place, &out->s_mm, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(object, "l_filter_mm", 0, 1000, 0, place, &out->l_mm, fault);
    json_decref(object);
    return status;
}

/* ---- torches ---- */

static const char *last_part(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static const json_t *torch_of(const json_t *lights, const char *photo) {
    const json_t *light;
    size_t i;
    json_array_foreach(lights, i, light) {
        const char *name = json_string_value(json_object_get(light, "photo"));
        if (name && strcmp(last_part(name), last_part(photo)) == 0) return light;
    }
    return NULL;
}

/* "pin": {"foot_px": [x, y], "height_mm"}, or "ball": {"middle_px": [x, y], "radius_px"}. */
static enum status read_mark(const json_t *object, const char *file, struct torch_mark *out,
                             struct fault *fault) {
    const json_t *pin = json_object_get(object, "pin"), *ball = json_object_get(object, "ball");
    const json_t *mark = pin ? pin : ball;
    *out = (struct torch_mark){TORCH_TOLD, 0, 0, 0};
    if (!mark) return STATUS_OK;
    const struct json_place place = {file, pin ? "pin" : "ball"};
    const json_t *at = json_object_get(mark, pin ? "foot_px" : "middle_px");
    if (json_array_size(at) != 2 || !json_is_number(json_array_get(at, 0)) ||
        !json_is_number(json_array_get(at, 1)))
        return FAULT(fault, TORCH_NO_PLACE, file, pin ? "pin" : "ball", pin ? "foot_px" : "middle_px");
    out->kind = pin ? TORCH_PIN : TORCH_BALL;
    out->x = json_number_value(json_array_get(at, 0)), out->y = json_number_value(json_array_get(at, 1));
    return json_get_number(mark, pin ? "height_mm" : "radius_px", 1, 5000, place, &out->size, fault);
}

/* mark: what tells the angles when the entry does not. */
static enum status read_torch(const json_t *light, const char *file, struct torch_mark *mark,
                              struct stereo_light *out, struct fault *fault) {
    const struct json_place place = {file, "lights"};
    const bool flash = json_is_true(json_object_get(light, "flash"));
    *out = (struct stereo_light){0, 90, 0};
    if (mark->kind != TORCH_TOLD && !flash && !json_object_get(light, "azimuth_deg") &&
        !json_object_get(light, "elevation_deg"))
        return json_get_number_or(light, "distance_mm", 0, 1e7, 0, place, &out->distance_mm, fault);
    mark->kind = TORCH_TOLD;
    if (flash) return STATUS_OK;
    enum status status = json_get_number(light, "azimuth_deg", -360, 720, place, &out->azimuth_deg, fault);
    if (status == STATUS_OK)
        status = json_get_number(light, "elevation_deg", 5, 85, place, &out->elevation_deg, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(light, "distance_mm", 0, 1e7, 0, place, &out->distance_mm, fault);
    return status;
}

enum status torches_read(const struct bytes *bytes, const char *const *photo, size_t count,
                         struct stereo_light *out, struct torch_mark *mark, struct fault *fault) {
    json_t *object = NULL;
    struct torch_mark common;
    enum status status = json_read(bytes, &object, fault);
    const json_t *lights = json_object_get(object, "lights");
    if (status == STATUS_OK && !json_is_array(lights)) status = FAULT(fault, TORCH_NO_LIST, bytes->name);
    if (status == STATUS_OK) status = read_mark(object, bytes->name, &common, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        const json_t *light = torch_of(lights, photo[i]);
        mark[i] = common;
        status = light ? read_torch(light, bytes->name, &mark[i], &out[i], fault)
                       : FAULT(fault, TORCH_MISSING, bytes->name, SHOWN_TEXT(last_part(photo[i])));
    }
    json_decref(object);
    return status;
}
