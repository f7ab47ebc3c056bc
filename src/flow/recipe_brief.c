#include "flow/recipe_brief.h"
#include "formats/json_in.h"
#include <math.h>
#include <string.h>

enum { RANK_MOST = 10000 };

enum status recipe_place_split(const char *place, struct arena *arena, const char **path,
                               unsigned long long *rank, struct fault *fault) {
    const char *hash = strrchr(place, '#');
    *path = place;
    *rank = 1;
    if (!hash || disk_has(place)) return STATUS_OK;
    if (!text_to_count(hash + 1, RANK_MOST, rank) || *rank == 0) return FAULT(fault, RECIPE_NO_RANK, place);
    *path = arena_text(arena, place, (size_t)(hash - place));
    return STATUS_OK;
}

static enum status read_number(const json_t *recipe, const char *key, double high, const char *file,
                               double *out, struct fault *fault) {
    const struct json_place place = {file, key};
    return json_get_number_or(recipe, key, 0, high, (double)NAN, place, out, fault);
}

/* Grams over millilitres of all parts, when every part has both. */
static double density_of(const json_t *recipe) {
    const json_t *parts = json_object_get(recipe, "parts");
    double g = 0, ml = 0;
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        const json_t *mass = json_object_get(part, "g"), *volume = json_object_get(part, "ml");
        if (!json_is_number(mass) || !json_is_number(volume)) return (double)NAN;
        g += json_number_value(mass);
        ml += json_number_value(volume);
    }
    const double density = g / ml;
    return density >= 0.3 && density <= 3 ? density : (double)NAN;
}

static enum status pick(const json_t *match, unsigned long long rank, const char *file,
                        struct recipe_brief *out, struct fault *fault) {
    const json_t *recipes = json_object_get(match, "recipes");
    json_t *recipe = json_array_get(recipes, (size_t)rank - 1);
    if (!json_is_object(recipe))
        return FAULT(fault, RECIPE_NOT_THERE, file, COUNT_TEXT(rank), COUNT_TEXT(json_array_size(recipes)));
    const enum status status =
        read_number(recipe, "film_um_to_hide", 1e6, file, &out->film_um_to_hide, fault);
    if (status != STATUS_OK) return status;
    out->density_g_ml = density_of(recipe);
    out->object = json_incref(recipe);
    return STATUS_OK;
}

enum status recipe_brief_take(const json_t *match, unsigned long long rank, const char *file,
                              struct recipe_brief *out, struct fault *fault) {
    *out = (struct recipe_brief){(double)NAN, (double)NAN, NULL};
    const enum status status = json_check_kind(match, "match", file, fault);
    return status == STATUS_OK ? pick(match, rank, file, out, fault) : status;
}

enum status recipe_place_read(const struct surroundings *around, const char *place, const char **path,
                              unsigned long long *rank, json_t **object, struct fault *fault) {
    struct bytes bytes;
    *object = NULL;
    enum status status = recipe_place_split(place, around->arena, path, rank, fault);
    if (status == STATUS_OK)
        status = disk_read(around->disk, *path, DISK_TEXT_MIB, around->arena, &bytes, fault);
    return status == STATUS_OK ? json_read(&bytes, object, fault) : status;
}

enum status recipe_brief_read(const struct surroundings *around, const char *place, struct recipe_brief *out,
                              struct fault *fault) {
    const char *path;
    unsigned long long rank;
    json_t *match;
    *out = (struct recipe_brief){(double)NAN, (double)NAN, NULL};
    enum status status = recipe_place_read(around, place, &path, &rank, &match, fault);
    if (status == STATUS_OK) status = recipe_brief_take(match, rank, path, out, fault);
    json_decref(match);
    return status;
}

enum status recipe_brief_parts(const struct recipe_brief *recipe, const char *place,
                               const struct shelf *shelf, double part[], struct fault *fault) {
    const json_t *parts = json_object_get(recipe->object, "parts");
    double sum = 0;
    for (size_t i = 0; i < shelf->count; i++) part[i] = 0;
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *entry = json_array_get(parts, i), *fraction = json_object_get(entry, "mass_fraction");
        const char *id = json_string_value(json_object_get(entry, "toner"));
        const double value = json_is_number(fraction) ? json_number_value(fraction) : -1;
        if (!id || !(value >= 0 && value <= 1)) return FAULT(fault, RECIPE_NO_PARTS, place);
        const int toner = shelf_find(shelf, id);
        if (toner < 0) return FAULT(fault, RECIPE_TONER_UNKNOWN, place, id);
        part[toner] += value;
        sum += value;
    }
    return fabs(sum - 1) <= 0.001 ? STATUS_OK : FAULT(fault, RECIPE_NO_PARTS, place);
}
