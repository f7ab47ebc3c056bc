/* Recipes read for pouring: the bench block of a match (docs/match.md has its shape). The compact form is in
 * bench_compact.c. */
#include "formats/bench_json.h"
#include "formats/bench_compact.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static json_t *target_json(const struct reading *target) {
    json_t *t = json_object();
    json_put(t, "lab", json_lab(target->lab));
    json_put(t, "reflectance", target->has_spectrum ? json_spectrum(&target->reflectance) : json_null());
    return t;
}

static void put_used(json_t *bench, const struct shelf *shelf, const bool used[]) {
    struct shelf few = *shelf;
    few.toner = memory_need(shelf->count, sizeof *few.toner);
    few.count = 0;
    for (size_t i = 0; i < shelf->count; i++)
        if (used[i]) few.toner[few.count++] = shelf->toner[i];
    shelf_put(bench, &few);
    memory_free(few.toner);
}

void bench_put(json_t *object, const struct shelf *shelf, const bool used[], const struct film_case *film,
               const struct reading *target) {
    json_t *bench = json_object(), *backings = json_array();
    const bool opaque = isinf(film->film_um);
    put_used(bench, shelf, used);
    json_put(bench, "film_um", opaque ? json_null() : json_number(film->film_um, 4));
    json_put_text(bench, "reading_geometry", geometry_name(film->geometry));
    if (!opaque) json_array_append_new(backings, json_spectrum(&film->backing));
    json_put(bench, "backings", backings);
    json_put(bench, "sheen_gu", isnan(film->sheen_gu) ? json_null() : json_number(film->sheen_gu, 4));
    json_put(bench, "target", target ? target_json(target) : json_null());
    json_put(object, "bench", bench);
}

struct source {
    const json_t *root;
    const char *file;
    struct arena *arena;
};

/* The shelf inside the bench block is written as kind `toners` is: the same reader checks it. */
static enum status read_shelf(const struct source *source, const json_t *bench, struct shelf *out,
                              struct fault *fault) {
    json_t *shelf = json_start("toners");
    json_object_update_missing(shelf, (json_t *)(uintptr_t)bench);
    char *text = json_dumps(shelf, 0);
    const struct bytes bytes = {(const unsigned char *)text, text ? strlen(text) : 0, source->file};
    const enum status status = shelf_read(&bytes, source->arena, out, fault);
    free(text);
    json_decref(shelf);
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

/* Colour is for the first backing. */
static enum status read_backing(const struct source *source, const json_t *bench, struct film_case *film,
                                struct fault *fault) {
    json_t *first = json_object();
    json_object_set(first, "first", json_array_get(json_object_get(bench, "backings"), 0));
    const enum status status =
        json_get_numbers(first, "first", BANDS, 0, 2, (struct json_place){source->file, "bench.backings"},
                         film->backing.band, fault);
    json_decref(first);
    return status;
}

static enum status read_film(const struct source *source, const json_t *bench, struct bench_recipe *out,
                             struct fault *fault) {
    const struct json_place place = {source->file, "bench"};
    struct film_case *film = &out->pour.film;
    const char *geometry;
    enum status status =
        json_get_number_or(bench, "film_um", .01, 1e4, INFINITY, place, &film->film_um, fault);
    if (status == STATUS_OK) status = json_get_text(bench, "reading_geometry", place, &geometry, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(bench, "sheen_gu", 0, 2000, (double)NAN, place, &film->sheen_gu, fault);
    if (status == STATUS_OK && isfinite(film->film_um)) status = read_backing(source, bench, film, fault);
    if (status != STATUS_OK) return status;
    if (geometry_from_name(geometry, &film->geometry)) return STATUS_OK;
    return FAULT(fault, BENCH_GEOMETRY, source->file, SHOWN_TEXT(geometry));
}

static enum status read_part(const struct source *source, const json_t *part, const struct shelf *shelf,
                             struct bench_recipe *out, struct fault *fault) {
    const struct json_place place = {source->file, "recipes.parts"};
    struct pour_recipe *pour = &out->pour;
    const char *id;
    double fraction;
    enum status status = json_get_text(part, "toner", place, &id, fault);
    if (status == STATUS_OK)
        status = json_get_number(part, "mass_fraction", 0, 1.000001, place, &fraction, fault);
    if (status != STATUS_OK || fraction <= 0) return status;
    const int index = shelf_find(shelf, id);
    if (index < 0) return FAULT(fault, BENCH_TONER_MISSING, source->file, SHOWN_TEXT(id));
    if (pour->shelf.count == RECIPE_TONERS_MOST)
        return FAULT(fault, BENCH_TOO_MANY, source->file, COUNT_TEXT(RECIPE_TONERS_MOST));
    pour->part[pour->shelf.count] = fraction;
    pour->shelf.toner[pour->shelf.count++] = shelf->toner[index];
    return STATUS_OK;
}

static enum status read_parts(const struct source *source, const json_t *recipe, const struct shelf *shelf,
                              struct bench_recipe *out, struct fault *fault) {
    const json_t *parts = json_object_get(recipe, "parts");
    out->pour.shelf = *shelf;
    out->pour.shelf.count = 0;
    out->pour.shelf.toner = arena_need(source->arena, RECIPE_TONERS_MOST, sizeof *out->pour.shelf.toner);
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const enum status status = read_part(source, json_array_get(parts, i), shelf, out, fault);
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
    struct shelf shelf;
    status = read_shelf(source, bench, &shelf, fault);
    if (status == STATUS_OK) status = read_film(source, bench, out, fault);
    if (status == STATUS_OK) status = read_target(source, bench, out, fault);
    if (status == STATUS_OK) status = read_parts(source, recipe, &shelf, out, fault);
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
