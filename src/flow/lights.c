#include "flow/lights.h"
#include "formats/lamp_file.h"
#include <string.h>

#define lamp_name light_name(LIGHT_MEASURED)

enum observer lights_observer(const struct request *request) {
    return strcmp(request_text(request, "--observer"), "2") == 0 ? OBSERVER_2 : OBSERVER_10;
}

static enum status read_lamp(const struct surroundings *around, const char *path, enum observer observer,
                             struct named_light *out, struct fault *fault) {
    struct bytes bytes;
    struct sampled lamp;
    struct fault why;
    struct weights *weights = arena_need(around->arena, 1, sizeof *weights);
    enum status status = disk_read(around->disk, path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = lamp_file_read(&bytes, around->arena, &lamp, fault);
    if (status != STATUS_OK) return status;
    status = weights_of_lamp(&lamp, observer, weights, &why);
    if (status != STATUS_OK) return FAULT(fault, IN_FILE, bytes.name, why.text);
    *out = (struct named_light){lamp_name, weights};
    return STATUS_OK;
}

static enum status find_light(const struct lights *known, const char *option, const char *name,
                              enum observer observer, struct named_light *out, struct fault *fault) {
    enum light light;
    const struct named_light *lamp = known->count ? &known->light[0] : NULL;
    if (text_same_ignoring_case(name, lamp_name)) {
        if (!lamp) return FAULT0(fault, LAMP_NEEDS_FILE);
        *out = *lamp;
        return STATUS_OK;
    }
    if (!light_from_name(name, &light)) return FAULT(fault, LIGHT_NOT_KNOWN, option, name, LIGHT_LIST);
    *out = (struct named_light){light_name(light), weights_of((struct view){light, observer})};
    return STATUS_OK;
}

static bool has_light(const struct lights *lights, const char *name) {
    for (size_t i = 0; i < lights->count; i++)
        if (strcmp(lights->light[i].name, name) == 0) return true;
    return false;
}

static enum status add_light(struct lights *lights, const char *option, struct named_light light,
                             struct fault *fault) {
    /* There are fewer lights than places, so a list without doubles fits. */
    if (has_light(lights, light.name)) return FAULT(fault, LIGHT_TWICE, option, light.name);
    lights->light[lights->count++] = light;
    return STATUS_OK;
}

enum status lights_read(const struct surroundings *around, const struct request *request,
                        enum observer observer, const char *const name[], size_t count, const char *option,
                        struct lights *out, struct fault *fault) {
    struct lights lamp = {0}, lights = {0};
    const char *lamp_path = request_text(request, "--lamp");
    enum status status = STATUS_OK;
    if (lamp_path) {
        status = read_lamp(around, lamp_path, observer, &lamp.light[0], fault);
        lamp.count = status == STATUS_OK;
    }
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct named_light light;
        status = find_light(&lamp, option, name[i], observer, &light, fault);
        if (status == STATUS_OK) status = add_light(&lights, option, light, fault);
    }
    if (status == STATUS_OK && lamp.count && !has_light(&lights, lamp_name))
        status = add_light(&lights, option, lamp.light[0], fault);
    if (status == STATUS_OK) *out = lights;
    return status;
}
