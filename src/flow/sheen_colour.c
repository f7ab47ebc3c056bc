/* The colour under the new sheen, from the shop's toners and a recipe or a reading; what match has to be
 * told. */
#include "flow/place.h"
#include "flow/recipe_brief.h"
#include "flow/sheen_parts.h"
#include "formats/json_out.h"
#include "paint/sheen_shift.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static void put_shift(json_t *reply, const struct sheen_shift *shift, double from_gu, double to_gu) {
    char option[60];
    json_t *object = json_object(), *lab = json_object();
    json_put_number(object, "from_gu", from_gu, 2);
    json_put_number(object, "to_gu", to_gu, 2);
    json_put(lab, "from", json_lab(shift->from));
    json_put(lab, "to", json_lab(shift->to));
    json_put(object, "lab", lab);
    json_put_number(object, "de00", shift->de00, DIGITS_LAB);
    json_put_number(object, "dL", shift->to.l - shift->from.l, DIGITS_LAB);
    json_put(object, "reflectance", json_spectrum(&shift->reflectance));
    snprintf(option, sizeof option, "--sheen-gu %.2f", to_gu);
    json_put_text(object, "match_with", option);
    json_put(reply, "colour_shift", object);
    if (shift->de00 > 0.3) /* about what weighing alone costs: below it nobody matches again */
        SHEEN_NOTE(reply, SHEEN_SHIFTS_COLOUR, NUMBER_TEXT(round(100 * shift->de00) / 100), option);
}

static enum geometry geometry_of(const struct request *request, const struct shelf *shelf) {
    enum geometry geometry;
    const char *name = request_text(request, "--geometry");
    return name && geometry_from_name(name, &geometry) ? geometry : shelf->geometry;
}

static enum status shift_of_recipe(const struct surroundings *around, const struct request *request,
                                   const struct shelf *shelf, double from_gu, double to_gu,
                                   struct sheen_shift *out, struct fault *fault) {
    struct recipe_brief recipe;
    const char *place = request_text(request, "--recipe");
    enum status status = recipe_brief_read(around, place, &recipe, fault);
    if (status != STATUS_OK) return status;
    double *part = arena_need(around->arena, shelf->count, sizeof *part);
    status = recipe_brief_parts(&recipe, place, shelf, part, fault);
    json_decref(recipe.object);
    if (status != STATUS_OK) return status;
    const struct film_case film = {
        .film_um = HUGE_VAL, .geometry = geometry_of(request, shelf), .sheen_gu = (double)NAN};
    *out = sheen_shift_of_mix(shelf, part, &film, from_gu, to_gu);
    return STATUS_OK;
}

static enum status shift_of_reading(const struct surroundings *around, const struct request *request,
                                    const struct shelf *shelf, double from_gu, double to_gu,
                                    struct sheen_shift *out, struct fault *fault) {
    struct reading reading;
    const char *place = request_text(request, "--colour");
    const enum status status = place_read(around, place, geometry_of(request, shelf), &reading, fault);
    if (status != STATUS_OK) return status;
    if (!reading.has_spectrum) return FAULT(fault, SHEEN_NEEDS_SPECTRUM, place);
    const enum geometry geometry = reading.geometry == GEOMETRY_UNKNOWN || reading.geometry == GEOMETRY_PHOTO
                                       ? geometry_of(request, shelf)
                                       : reading.geometry;
    *out = sheen_shift_of_reading(shelf, &reading.reflectance, geometry, from_gu, to_gu);
    return STATUS_OK;
}

enum status sheen_put_shift(const struct surroundings *around, const struct request *request, json_t *reply,
                            double gu60, struct fault *fault) {
    const bool by_recipe = request_has(request, "--recipe"), by_reading = request_has(request, "--colour");
    if (!by_recipe && !by_reading) return STATUS_OK;
    if (by_recipe && by_reading) return FAULT0(fault, SHEEN_ONE_COLOUR);
    if (!request_has(request, "--toners") || !request_has(request, "--from-gu"))
        return FAULT0(fault, SHEEN_SHIFT_NEEDS);
    if (isnan(gu60)) return FAULT0(fault, SHEEN_SHIFT_AT_60);
    struct shelf shelf;
    struct sheen_shift shift;
    const double from_gu = request_number(request, "--from-gu", 0);
    enum status status = place_read_shelf(around, request_text(request, "--toners"), &shelf, fault);
    if (status != STATUS_OK) return status;
    status = by_recipe ? shift_of_recipe(around, request, &shelf, from_gu, gu60, &shift, fault)
                       : shift_of_reading(around, request, &shelf, from_gu, gu60, &shift, fault);
    if (status == STATUS_OK) put_shift(reply, &shift, from_gu, gu60);
    return status;
}
