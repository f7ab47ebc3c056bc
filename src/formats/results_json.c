#include "formats/results_json.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include <math.h>
#include <string.h>

/* "results.2" for the sentence; lives in the arena. */
static struct json_place place_of(const struct bytes *bytes, size_t index, struct arena *arena) {
    char path[40];
    const int n = snprintf(path, sizeof path, "results.%zu", index);
    return (struct json_place){bytes->name, arena_text(arena, path, (size_t)n)};
}

static enum status wrong(struct json_place place, const char *what, struct fault *fault) {
    return FAULT(fault, RESULT_FIELD_WRONG, place.file, place.path, what);
}

static enum status read_pot(json_t *pot, struct json_place place, struct arena *arena, struct result *out,
                            struct fault *fault) {
    if (!json_is_object(pot) || json_object_size(pot) == 0)
        return wrong(place, "pot must be an object like {\"white\": 12.5}", fault);
    const char **toner = arena_need(arena, json_object_size(pot), sizeof *toner);
    double *mass_g = arena_need(arena, json_object_size(pot), sizeof *mass_g), sum = 0;
    const char *key;
    json_t *value;
    json_object_foreach(pot, key, value) {
        const enum status status = json_get_number(pot, key, 0, 1e6, place, &mass_g[out->toners], fault);
        if (status != STATUS_OK) return status;
        sum += mass_g[out->toners];
        toner[out->toners++] = arena_text(arena, key, strlen(key));
    }
    out->toner = toner;
    out->mass_g = mass_g;
    return sum > 0 ? STATUS_OK : wrong(place, "the pot weighs nothing", fault);
}

static enum status read_lots(json_t *lots, struct json_place place, struct arena *arena, struct result *out,
                             struct fault *fault) {
    const char **lot = arena_need(arena, out->toners, sizeof *lot);
    for (size_t i = 0; i < out->toners; i++) {
        json_t *value = json_is_object(lots) ? json_object_get(lots, out->toner[i]) : NULL;
        if (value && !json_is_string(value)) return wrong(place, "a lot is a text like \"A7\"", fault);
        lot[i] = value ? arena_text(arena, json_string_value(value), strlen(json_string_value(value))) : "";
    }
    out->lot = lot;
    return STATUS_OK;
}

static enum status read_state(const json_t *object, struct json_place place, struct result *out,
                              struct fault *fault) {
    const json_t *value = json_object_get(object, "state");
    out->state = STATE_COATED;
    if (!value) return STATUS_OK;
    for (int i = 0; i < STATE_COUNT; i++) {
        if (json_is_string(value) &&
            strcmp(json_string_value(value), card_state_name((enum card_state)i)) == 0) {
            out->state = (enum card_state)i;
            return STATUS_OK;
        }
    }
    return wrong(place, "state must be wet, dry or coated", fault);
}

static enum status read_film(const json_t *object, struct json_place place, struct result *out,
                             struct fault *fault) {
    const char *geometry = NULL;
    enum status status = json_get_text(object, "geometry", place, &geometry, fault);
    if (status != STATUS_OK) return status;
    if (!geometry_from_name(geometry, &out->geometry))
        return wrong(place, "geometry must be sci, sce, 45-0 or photo", fault);
    status = json_get_number_or(object, "film_um", 0.1, 1e4, INFINITY, place, &out->film_um, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(object, "sheen_gu", 0, 200, NAN, place, &out->sheen_gu, fault);
    if (status == STATUS_OK && isfinite(out->film_um))
        status = json_get_numbers(object, "backing", BANDS, 0, 2, place, out->backing.band, fault);
    return status;
}

static enum status read_result(json_t *object, struct json_place place, struct arena *arena,
                               struct result *out, struct fault *fault) {
    if (!json_is_object(object)) return wrong(place, "must be an object", fault);
    const json_t *id = json_object_get(object, "id");
    out->id = json_is_string(id) ? arena_text(arena, json_string_value(id), strlen(json_string_value(id)))
                                 : place.path;
    out->file = place.file;
    enum status status = read_pot(json_object_get(object, "pot"), place, arena, out, fault);
    if (status == STATUS_OK) status = read_lots(json_object_get(object, "lots"), place, arena, out, fault);
    if (status == STATUS_OK) status = read_state(object, place, out, fault);
    if (status == STATUS_OK) status = read_film(object, place, out, fault);
    if (status == STATUS_OK)
        status = json_get_numbers(object, "measured", BANDS, 0, 2, place, out->measured.band, fault);
    return status;
}

static enum status read_all(json_t *root, const struct bytes *bytes, struct arena *arena,
                            struct result_set *set, struct fault *fault) {
    enum status status = json_check_kind(root, "results|adjustment", bytes->name, fault);
    if (status != STATUS_OK) return status;
    json_t *one = json_object_get(root, "result"), *many = json_object_get(root, "results");
    const char *kind = json_string_value(json_object_get(root, "kind"));
    const size_t count = many ? json_array_size(many) : json_is_object(one);
    if (count == 0 && !many && (!one || json_is_null(one)) && strcmp(kind, "adjustment") == 0)
        return STATUS_OK; /* a correction by eye: no card was read */
    if (count == 0) return wrong((struct json_place){bytes->name, "results"}, "holds no result", fault);
    struct result *all = arena_need(arena, set->count + count, sizeof *all);
    if (set->count) memcpy(all, set->result, set->count * sizeof *all);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        status = read_result(many ? json_array_get(many, i) : one, place_of(bytes, i, arena), arena,
                             &all[set->count + i], fault);
    if (status != STATUS_OK) return status;
    set->result = all;
    set->count += count;
    return STATUS_OK;
}

enum status results_read(const struct bytes *bytes, struct arena *arena, struct result_set *set,
                         struct fault *fault) {
    json_t *root = NULL;
    enum status status = json_read(bytes, &root, fault);
    if (status == STATUS_OK) status = read_all(root, bytes, arena, set, fault);
    json_decref(root);
    return status;
}

json_t *result_json(const struct result *result) {
    json_t *object = json_object(), *pot = json_object(), *lots = json_object();
    json_put_text(object, "id", result->id);
    for (size_t i = 0; i < result->toners; i++) {
        json_put_number(pot, result->toner[i], result->mass_g[i], 4);
        if (result->lot[i][0]) json_put_text(lots, result->toner[i], result->lot[i]);
    }
    json_put(object, "pot", pot);
    json_put(object, "lots", lots);
    json_put_text(object, "state", card_state_name(result->state));
    json_put_text(object, "geometry", geometry_name(result->geometry));
    const bool opaque = !isfinite(result->film_um);
    json_put(object, "film_um", opaque ? json_null() : json_number(result->film_um, 2));
    json_put(object, "backing", opaque ? json_null() : json_spectrum(&result->backing));
    json_put(object, "sheen_gu", isnan(result->sheen_gu) ? json_null() : json_number(result->sheen_gu, 2));
    json_put(object, "measured", json_spectrum(&result->measured));
    return object;
}
