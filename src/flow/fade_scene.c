#include "flow/fade_scene.h"
#include "flow/place.h"
#include "flow/recipe_brief.h"
#include <math.h>

static enum status read_spectrum(const struct surroundings *around, const char *place,
                                 const struct shelf *shelf, struct spectrum *out, struct fault *fault) {
    struct reading reading;
    const enum status status = place_read(around, place, shelf->geometry, &reading, fault);
    if (status != STATUS_OK) return status;
    if (!reading.has_spectrum) return FAULT(fault, SHEEN_NEEDS_SPECTRUM, place);
    if (reading.geometry != GEOMETRY_UNKNOWN && reading.geometry != shelf->geometry)
        return FAULT(fault, RING_OTHER_GEOMETRY, place, geometry_name(reading.geometry),
                     geometry_name(shelf->geometry));
    *out = reading.reflectance;
    return STATUS_OK;
}

static enum status read_mix(const struct surroundings *around, const char *place, struct fade_scene *scene,
                            struct fault *fault) {
    struct recipe_brief recipe;
    enum status status = recipe_brief_read(around, place, &recipe, fault);
    if (status != STATUS_OK) return status;
    scene->part = arena_need(around->arena, scene->shelf.count, sizeof *scene->part);
    status = recipe_brief_parts(&recipe, place, &scene->shelf, scene->part, fault);
    json_decref(recipe.object);
    return status;
}

enum status fade_scene_read(const struct surroundings *around, const struct request *request,
                            const struct fade_scene **out, struct fault *fault) {
    const char *ground = request_text(request, "--ground"), *finish = request_text(request, "--around");
    const char *toners = request_text(request, "--toners"), *recipe = request_text(request, "--recipe");
    *out = NULL;
    if (!ground && !finish) return STATUS_OK;
    if (!ground || !finish || !toners || !recipe || !request_has(request, "--edge"))
        return FAULT0(fault, RING_NEEDS);
    struct fade_scene *scene = arena_need(around->arena, 1, sizeof *scene);
    enum status status = place_read_shelf(around, toners, &scene->shelf, fault);
    if (status == STATUS_OK) status = read_mix(around, recipe, scene, fault);
    if (status == STATUS_OK) status = read_spectrum(around, ground, &scene->shelf, &scene->ground, fault);
    if (status == STATUS_OK) status = read_spectrum(around, finish, &scene->shelf, &scene->around, fault);
    if (status == STATUS_OK) *out = scene;
    return status;
}

struct fade_look fade_scene_look(const struct fade_scene *scene, double film_um) {
    const struct film_case film = {film_um, scene->ground, scene->shelf.geometry, (double)NAN};
    return fade_look_at(&scene->shelf, scene->part, &film, &scene->around, FADE_NOT_SEEN_DE00);
}
