/* The bench block of a match, and recipes read for pouring. The compact form is in bench_compact.c. */
#include "formats/bench_json.h"
#include "formats/bench_compact.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/text_in.h"
#include <math.h>
#include <string.h>

static const struct role_name {
    enum toner_role role;
    const char *name;
} roles[] = {{ROLE_COLOUR, "colour"}, {ROLE_BINDER, "binder"}, {ROLE_WHITE, "white"}, {ROLE_BLACK, "black"}};

static void put_number_or_null(json_t *object, const char *key, double value, bool known, int digits) {
    if (known)
        json_put_number(object, key, value, digits);
    else
        json_put_null(object, key);
}

static json_t *toner_json(const struct toner *toner) {
    json_t *t = json_object();
    json_put_text(t, "id", toner->id);
    json_put_text(t, "name", toner->name);
    json_put_text(t, "role", roles[toner->role].name);
    put_number_or_null(t, "density_g_ml", toner->density_g_ml, toner->density_g_ml > 0, 5);
    json_put_number(t, "bend", toner->bend, DIGITS_KS);
    json_put(t, "k", json_numbers(toner->k, BANDS, DIGITS_KS));
    json_put(t, "s", json_numbers(toner->s, BANDS, DIGITS_KS));
    return t;
}

static json_t *surface_json(const struct surface *surface) {
    json_t *s = json_object();
    json_put_number(s, "k1", surface->k1, DIGITS_KS);
    json_put_number(s, "k2", surface->k2, DIGITS_KS);
    json_put_number(s, "sheen_return", surface->sheen_return, DIGITS_KS);
    json_put_number(s, "haze", surface->haze, DIGITS_KS);
    return s;
}

static json_t *target_json(const struct reading *target) {
    json_t *t = json_object();
    json_put(t, "lab", json_lab(target->lab));
    json_put(t, "reflectance", target->has_spectrum ? json_spectrum(&target->reflectance) : json_null());
    return t;
}

void bench_put(json_t *object, const struct shelf *shelf, const bool used[], const struct film_case *film,
               const struct reading *target) {
    json_t *bench = json_object(), *toners = json_array();
    const bool opaque = isinf(film->film_um);
    put_number_or_null(bench, "film_um", film->film_um, !opaque, 4);
    json_put_text(bench, "geometry", geometry_name(film->geometry));
    put_number_or_null(bench, "sheen_gu", film->sheen_gu, !isnan(film->sheen_gu), 4);
    json_put(bench, "surface", surface_json(&shelf->surface));
    put_number_or_null(bench, "haze_per_decade", shelf->topcoat.haze_per_decade, shelf->topcoat.measured,
                       DIGITS_KS);
    json_put(bench, "backing", opaque ? json_null() : json_spectrum(&film->backing));
    json_put(bench, "target", target ? target_json(target) : json_null());
    for (size_t i = 0; i < shelf->count; i++)
        if (used[i]) json_array_append_new(toners, toner_json(&shelf->toner[i]));
    json_put(bench, "toners", toners);
    json_put(object, "bench", bench);
}

struct source {
    const json_t *root;
    const char *file;
    struct arena *arena;
};

static enum status read_toner(const struct source *source, const json_t *t, struct toner *out,
                              struct fault *fault) {
    const struct json_place place = {source->file, "bench.toners"};
    const char *id, *name, *role;
    enum status status = json_get_text(t, "id", place, &id, fault);
    if (status == STATUS_OK) status = json_get_text(t, "name", place, &name, fault);
    if (status == STATUS_OK) status = json_get_text(t, "role", place, &role, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(t, "density_g_ml", .1, 25, 0, place, &out->density_g_ml, fault);
    if (status == STATUS_OK) status = json_get_number_or(t, "bend", 0, 1, 0, place, &out->bend, fault);
    if (status == STATUS_OK) status = json_get_numbers(t, "k", BANDS, 0, 1e6, place, out->k, fault);
    if (status == STATUS_OK) status = json_get_numbers(t, "s", BANDS, 0, 1e6, place, out->s, fault);
    if (status != STATUS_OK) return status;
    snprintf(out->id, sizeof out->id, "%s", id);
    bench_toner_name(out, name);
    for (size_t r = 0; r < sizeof roles / sizeof roles[0]; r++)
        if (strcmp(roles[r].name, role) == 0) out->role = roles[r].role;
    return STATUS_OK;
}

static enum status read_surface(const struct source *source, const json_t *bench, struct shelf *shelf,
                                struct fault *fault) {
    const json_t *s = json_object_get(bench, "surface");
    const struct json_place place = {source->file, "bench.surface"};
    enum status status = json_get_number(s, "k1", 0, .2, place, &shelf->surface.k1, fault);
    if (status == STATUS_OK) status = json_get_number(s, "k2", 0, .95, place, &shelf->surface.k2, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(s, "sheen_return", 0, 1, 0, place, &shelf->surface.sheen_return, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(s, "haze", 0, 10, 0, place, &shelf->surface.haze, fault);
    return status;
}

static enum status read_target(const struct source *source, const json_t *bench, struct bench_recipe *out,
                               struct fault *fault) {
    const json_t *target = json_object_get(bench, "target");
    const struct json_place place = {source->file, "bench.target"};
    if (!json_is_object(target)) return STATUS_OK;
    double lab[3];
    enum status status = json_get_numbers(target, "lab", 3, -200, 200, place, lab, fault);
    if (status != STATUS_OK) return status;
    out->pour.has_target = true;
    out->pour.target = (struct lab){lab[0], lab[1], lab[2], {LIGHT_D65, OBSERVER_10}};
    if (!json_is_array(json_object_get(target, "reflectance"))) return STATUS_OK;
    status = json_get_numbers(target, "reflectance", BANDS, 0, 2, place, out->curve.band, fault);
    out->has_curve = status == STATUS_OK;
    return status;
}

static enum status read_film(const struct source *source, const json_t *bench, struct bench_recipe *out,
                             struct fault *fault) {
    const struct json_place place = {source->file, "bench"};
    struct film_case *film = &out->pour.film;
    const char *geometry;
    double haze;
    enum status status =
        json_get_number_or(bench, "film_um", .01, 1e4, INFINITY, place, &film->film_um, fault);
    if (status == STATUS_OK) status = json_get_text(bench, "geometry", place, &geometry, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(bench, "sheen_gu", 0, 2000, (double)NAN, place, &film->sheen_gu, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(bench, "haze_per_decade", -1, 1, (double)NAN, place, &haze, fault);
    if (status == STATUS_OK && isfinite(film->film_um))
        status = json_get_numbers(bench, "backing", BANDS, 0, 2, place, film->backing.band, fault);
    if (status != STATUS_OK) return status;
    if (!geometry_from_name(geometry, &film->geometry))
        return FAULT(fault, BENCH_GEOMETRY, source->file, SHOWN_TEXT(geometry));
    out->pour.shelf.geometry = film->geometry;
    if (!isnan(haze)) out->pour.shelf.topcoat = (struct topcoat){.measured = true, .haze_per_decade = haze};
    return STATUS_OK;
}

static const json_t *find_bench_toner(const json_t *bench, const char *id) {
    const json_t *toners = json_object_get(bench, "toners");
    for (size_t i = 0; i < json_array_size(toners); i++) {
        const json_t *t = json_array_get(toners, i), *here = json_object_get(t, "id");
        if (json_is_string(here) && strcmp(json_string_value(here), id) == 0) return t;
    }
    return NULL;
}

static enum status read_part(const struct source *source, const json_t *part, const json_t *bench,
                             struct bench_recipe *out, struct fault *fault) {
    const struct json_place place = {source->file, "recipes.parts"};
    struct pour_recipe *pour = &out->pour;
    const char *id;
    double fraction;
    enum status status = json_get_text(part, "toner", place, &id, fault);
    if (status == STATUS_OK)
        status = json_get_number(part, "mass_fraction", 0, 1.000001, place, &fraction, fault);
    if (status != STATUS_OK || fraction <= 0) return status;
    const json_t *t = find_bench_toner(bench, id);
    if (!t) return FAULT(fault, BENCH_TONER_MISSING, source->file, SHOWN_TEXT(id));
    if (pour->shelf.count == RECIPE_TONERS_MOST)
        return FAULT(fault, BENCH_TOO_MANY, source->file, COUNT_TEXT(RECIPE_TONERS_MOST));
    pour->part[pour->shelf.count] = fraction;
    return read_toner(source, t, &pour->shelf.toner[pour->shelf.count++], fault);
}

static enum status read_parts(const struct source *source, const json_t *recipe, const json_t *bench,
                              struct bench_recipe *out, struct fault *fault) {
    const json_t *parts = json_object_get(recipe, "parts");
    out->pour.shelf.toner = arena_need(source->arena, RECIPE_TONERS_MOST, sizeof *out->pour.shelf.toner);
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const enum status status = read_part(source, json_array_get(parts, i), bench, out, fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static enum status find_rank(const struct source *source, unsigned long long rank, const json_t **out,
                             int *found, struct fault *fault) {
    const json_t *recipes = json_object_get(source->root, "recipes");
    const size_t count = json_array_size(recipes), wanted = rank ? (size_t)rank : 1;
    if (!count) return FAULT(fault, BENCH_NO_RECIPE, source->file);
    if (wanted > count)
        return FAULT(fault, BENCH_RANK, source->file, COUNT_TEXT((long long)wanted),
                     COUNT_TEXT((long long)count));
    *out = json_array_get(recipes, wanted - 1);
    *found = (int)wanted;
    return STATUS_OK;
}

static enum status read_match(const struct source *source, unsigned long long rank, struct bench_recipe *out,
                              struct fault *fault) {
    const json_t *recipe = NULL;
    enum status status = find_rank(source, rank, &recipe, &out->rank, fault);
    if (status != STATUS_OK) return status;
    const json_t *bench = json_object_get(recipe, "bench");
    if (!bench) bench = json_object_get(source->root, "bench");
    if (!json_is_object(bench)) return FAULT(fault, BENCH_MISSING, source->file);
    status = read_film(source, bench, out, fault);
    if (status == STATUS_OK) status = read_surface(source, bench, &out->pour.shelf, fault);
    if (status == STATUS_OK) status = read_target(source, bench, out, fault);
    if (status == STATUS_OK) status = read_parts(source, recipe, bench, out, fault);
    return status;
}

/* Ids are kept short and plain, parts add up to one, and nothing is there twice. */
static enum status check_recipe(const struct source *source, struct bench_recipe *out, struct fault *fault) {
    struct pour_recipe *pour = &out->pour;
    double sum = 0;
    if (!pour->shelf.count) return FAULT(fault, BENCH_NO_PARTS, source->file);
    for (size_t i = 0; i < pour->shelf.count; i++) {
        const char *id = pour->shelf.toner[i].id;
        if (!*id || strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-") != strlen(id))
            return FAULT(fault, BENCH_ID, source->file, SHOWN_TEXT(id));
        if (shelf_find(&pour->shelf, id) != (int)i) return FAULT(fault, BENCH_TWICE, source->file, id);
        sum += pour->part[i];
    }
    if (!(fabs(sum - 1) <= .001)) return FAULT(fault, BENCH_SUM, source->file, NUMBER_TEXT(sum));
    for (size_t i = 0; i < pour->shelf.count; i++) pour->part[i] /= sum;
    return STATUS_OK;
}

static enum status read_kind(struct source *source, unsigned long long rank, struct bench_recipe *out,
                             struct fault *fault) {
    enum status status = json_check_kind(source->root, "match|recipe|pour", source->file, fault);
    if (status != STATUS_OK) return status;
    const char *kind = json_string_value(json_object_get(source->root, "kind"));
    if (strcmp(kind, "match") == 0) {
        status = read_match(source, rank, out, fault);
    } else {
        if (rank > 1) return FAULT(fault, BENCH_RANK, source->file, COUNT_TEXT((long long)rank), "1");
        const json_t *compact =
            strcmp(kind, "pour") == 0 ? json_object_get(source->root, "recipe") : source->root;
        status = bench_compact_read(compact, source->file, source->arena, out, fault);
    }
    return status == STATUS_OK ? check_recipe(source, out, fault) : status;
}

enum status bench_read(const struct bytes *bytes, unsigned long long rank, struct arena *arena,
                       struct bench_recipe *out, struct fault *fault) {
    json_t *root = NULL;
    *out = (struct bench_recipe){.name = ""};
    enum status status = json_read(bytes, &root, fault);
    struct source source = {root, bytes->name, arena};
    if (status == STATUS_OK) status = read_kind(&source, rank, out, fault);
    json_decref(root);
    return status;
}
