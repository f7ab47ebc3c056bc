#include "flow/match_task_flow.h"
#include "flow/lights.h"
#include "flow/place.h"
#include "flow/pot_flow.h"
#include "formats/json_out.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum status toners_from_request(const struct request *request, const char *argument,
                                const struct shelf *shelf, bool flag[SHELF_MOST], struct fault *fault) {
    size_t count;
    const char *const *ids = request_ids(request, argument, &count);
    for (size_t i = 0; i < count; i++) {
        const int toner = shelf_find(shelf, ids[i]);
        if (toner < 0) return unknown_toner(shelf, argument, ids[i], fault);
        flag[toner] = true;
    }
    return STATUS_OK;
}

/* A file that does not say how it was read is taken to be read as the shelf was. */
static enum geometry geometry_or(enum geometry said, const struct shelf *shelf) {
    return said == GEOMETRY_UNKNOWN ? shelf->geometry : said;
}

static void note_geometry(const struct reading *target, const struct shelf *shelf, json_t *reply) {
    struct fault note;
    const char *of_shelf = geometry_name(shelf->geometry), *of_target = geometry_name(target->geometry);
    if (!reply || !target->has_spectrum || target->geometry == shelf->geometry) return;
    if (target->geometry == GEOMETRY_UNKNOWN)
        (void)FAULT(&note, MATCH_NOTE_GEOMETRY, of_shelf);
    else
        (void)FAULT(&note, MATCH_NOTE_OTHER_GEOMETRY, of_shelf, of_target);
    json_add_note(reply, &note);
}

static enum status read_target(const struct surroundings *around, const struct request *request,
                               enum geometry assumed, json_t *reply, struct match_task *task,
                               struct fault *fault) {
    const char *place = request_text(request, "--target");
    task->film.geometry = task->shelf->geometry;
    if (!place) return STATUS_OK;
    const enum status status = reply ? place_read_noted(around, place, assumed, reply, &task->target, fault)
                                     : place_read(around, place, assumed, &task->target, fault);
    if (status != STATUS_OK) return status;
    if (task->target.geometry == GEOMETRY_UNKNOWN) task->target.geometry = assumed;
    note_geometry(&task->target, task->shelf, reply);
    task->target.geometry = geometry_or(task->target.geometry, task->shelf);
    if (task->target.has_spectrum) task->film.geometry = task->target.geometry;
    return STATUS_OK;
}

/* One that does not say how it was read counts as read like the target. */
static enum status read_backings(const struct surroundings *around, const struct request *request,
                                 const struct shelf *shelf, struct match_task *task, struct fault *fault) {
    const size_t count = request_count(request, "--backing");
    if (count > MATCH_BACKINGS_MOST)
        return FAULT(fault, BACKINGS_TOO_MANY, COUNT_TEXT(count), COUNT_TEXT(MATCH_BACKINGS_MOST));
    for (size_t i = 0; i < count; i++) {
        struct reading backing;
        const char *place = request_text_at(request, "--backing", i);
        const enum status status = place_read(around, place, GEOMETRY_UNKNOWN, &backing, fault);
        if (status != STATUS_OK) return status;
        if (!backing.has_spectrum) return FAULT(fault, BACKING_NEEDS_SPECTRUM, place);
        if (backing.geometry != GEOMETRY_UNKNOWN && backing.geometry != task->film.geometry)
            return FAULT(fault, BACKING_OTHER_GEOMETRY, place, geometry_name(backing.geometry),
                         geometry_name(task->film.geometry));
        task->backing[task->backing_count++] = backing.reflectance;
    }
    if (count) task->film.backing = task->backing[0];
    if (request_has(request, "--film-um") && count == 0) return FAULT0(fault, FILM_NEEDS_BACKING);
    task->film.film_um = request_number(request, "--film-um", (double)INFINITY);
    if (shelf->relative_s && isfinite(task->film.film_um)) return FAULT0(fault, MATCH_FILM_UNKNOWN);
    return STATUS_OK;
}

static enum status read_lights(const struct surroundings *around, const struct request *request,
                               struct match_task *task, struct fault *fault) {
    size_t names, weights;
    struct lights lights;
    const char *const *name = request_ids(request, "--illuminants", &names);
    const double *weight = request_numbers(request, "--weights", &weights);
    enum status status =
        lights_read(around, request, OBSERVER_10, name, names, "--illuminants", &lights, fault);
    if (status != STATUS_OK) return status;
    if (lights.count > MATCH_LIGHTS_MOST)
        return FAULT(fault, LIGHTS_TOO_MANY, COUNT_TEXT(lights.count), COUNT_TEXT(MATCH_LIGHTS_MOST));
    if (request_has(request, "--weights") && weights != lights.count)
        return FAULT(fault, WEIGHTS_UNLIKE_LIGHTS, COUNT_TEXT(weights), COUNT_TEXT(lights.count));
    double sum = 0;
    task->light_count = lights.count;
    for (size_t i = 0; i < lights.count; i++) {
        task->light[i] = lights.light[i].weights;
        task->light_weight[i] = i < weights ? weight[i] : 0.15;
        sum += task->light_weight[i];
    }
    return sum > 0 ? STATUS_OK : FAULT0(fault, WEIGHTS_ALL_ZERO);
}

/* For tests: both builds of the kernels give the same bytes. */
static enum match_path path_wanted(void) {
    const char *wanted = getenv("RUSSET_SIMD");
    return wanted && strcmp(wanted, "base") == 0 ? MATCH_PATH_BASE : MATCH_PATH_BEST;
}

enum status match_task_noted(const struct surroundings *around, const struct request *request,
                             const struct shelf *shelf, enum geometry assumed, json_t *reply,
                             struct match_task *out, struct fault *fault) {
    match_task_preset(out, shelf);
    out->path = path_wanted();
    enum status status = read_target(around, request, assumed, reply, out, fault);
    if (status == STATUS_OK) status = read_backings(around, request, shelf, out, fault);
    if (status == STATUS_OK) status = read_lights(around, request, out, fault);
    if (status == STATUS_OK) status = toners_from_request(request, "--exclude", shelf, out->exclude, fault);
    out->scale_step_g = request_number(request, "--scale-step", 0.01);
    out->film.sheen_gu = request_number(request, "--sheen-gu", (double)NAN);
    out->coat_um = request_number(request, "--coat-um", 6);
    return status;
}

enum status match_task_from_request(const struct surroundings *around, const struct request *request,
                                    const struct shelf *shelf, struct match_task *out, struct fault *fault) {
    return match_task_noted(around, request, shelf, place_geometry(request), NULL, out, fault);
}
