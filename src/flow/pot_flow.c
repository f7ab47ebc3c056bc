#include "flow/pot_flow.h"
#include "base/text.h"
#include "flow/recipe_brief.h"
#include "formats/json_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Without anything learnt: a wet card may read 6 % off, a dry one without its topcoat 3 % (from memory,
 * editable). */
static const double unlearnt_sd[STATE_COUNT] = {0, 0.03, 0.06};

enum status unknown_toner(const struct shelf *shelf, const char *where, const char *id, struct fault *fault) {
    struct text there = {0};
    for (size_t i = 0; i < shelf->count; i++) text_format(&there, "%s%s", i ? ", " : "", shelf->toner[i].id);
    const enum status status = FAULT(fault, POT_TONER_UNKNOWN, where, id, there.data ? there.data : "none");
    text_free(&there);
    return status;
}

enum status pot_from_parts(const struct shelf *shelf, const struct part_text *parts, size_t count,
                           const char *where, double pot_g[], struct fault *fault) {
    for (size_t i = 0; i < count; i++) {
        const int toner = shelf_find(shelf, parts[i].id);
        if (toner < 0) return unknown_toner(shelf, where, parts[i].id, fault);
        pot_g[toner] += parts[i].value;
    }
    return STATUS_OK;
}

/* What `pour` wrote down as in the cup; let-downs are counted in it by what is in them. */
static enum status pot_from_pour(const json_t *pour, const char *place, const struct shelf *shelf,
                                 double pot_g[], struct fault *fault) {
    const json_t *poured = json_object_get(pour, "poured");
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(poured) && status == STATUS_OK; i++) {
        const json_t *part = json_array_get(poured, i);
        const char *id = json_string_value(json_object_get(part, "toner"));
        const struct part_text one = {id ? id : "", json_number_value(json_object_get(part, "g"))};
        status = pot_from_parts(shelf, &one, 1, place, pot_g, fault);
    }
    return status;
}

/* The grams that a match planned. */
static enum status pot_from_match(const json_t *match, unsigned long long rank, const char *place,
                                  const struct shelf *shelf, double pot_g[], struct fault *fault) {
    struct recipe_brief recipe;
    enum status status = recipe_brief_take(match, rank, place, &recipe, fault);
    const json_t *parts = status == STATUS_OK ? json_object_get(recipe.object, "parts") : NULL;
    for (size_t i = 0; i < json_array_size(parts) && status == STATUS_OK; i++) {
        const json_t *part = json_array_get(parts, i);
        const char *id = json_string_value(json_object_get(part, "toner"));
        const struct part_text one = {id ? id : "", json_number_value(json_object_get(part, "g"))};
        status = pot_from_parts(shelf, &one, 1, place, pot_g, fault);
    }
    json_decref(recipe.object);
    return status;
}

enum status pot_from_recipe(const struct surroundings *around, const char *place, const struct shelf *shelf,
                            double pot_g[], bool *is_pour, struct fault *fault) {
    const char *path;
    unsigned long long rank;
    json_t *object;
    enum status status = recipe_place_read(around, place, &path, &rank, &object, fault);
    const char *kind = json_string_value(json_object_get(object, "kind"));
    *is_pour = kind && strcmp(kind, "pour") == 0 && path == place;
    if (status == STATUS_OK)
        status = *is_pour ? pot_from_pour(object, place, shelf, pot_g, fault)
                          : pot_from_match(object, rank, path, shelf, pot_g, fault);
    json_decref(object);
    return status;
}

double card_trust_sd(const struct shelf *shelf, enum card_state state) {
    return state != STATE_COATED && shelf->shift[state].pairs > 0 ? shelf->shift[state].sd
                                                                  : unlearnt_sd[state];
}

struct result result_of_pot(const struct shelf *shelf, const double pot_g[], enum card_state state,
                            const struct film_case *film, const struct spectrum *measured,
                            struct arena *arena) {
    const char **toner = arena_need(arena, shelf->count, sizeof *toner),
               **lot = arena_need(arena, shelf->count, sizeof *lot);
    double *mass_g = arena_need(arena, shelf->count, sizeof *mass_g);
    size_t n = 0;
    for (size_t i = 0; i < shelf->count; i++) {
        if (pot_g[i] <= 0) continue;
        toner[n] = shelf->toner[i].id;
        lot[n] = shelf->toner[i].lot;
        mass_g[n++] = pot_g[i];
    }
    return (struct result){
        "card",         "",       n, toner, mass_g, lot, state, film->geometry, film->film_um, film->backing,
        film->sheen_gu, *measured};
}

enum status card_of_result(const struct result *result, const struct shelf *shelf, struct arena *arena,
                           struct card *out, struct fault *fault) {
    double *part = arena_need(arena, shelf->count, sizeof *part), sum = 0;
    for (size_t i = 0; i < result->toners; i++) {
        const int toner = shelf_find(shelf, result->toner[i]);
        if (toner < 0) return unknown_toner(shelf, result->id, result->toner[i], fault);
        part[toner] += result->mass_g[i];
        sum += result->mass_g[i];
    }
    for (size_t i = 0; i < shelf->count; i++) part[i] /= sum;
    *out = (struct card){
        .part = part, .measured = result->measured, .trust_sd = card_trust_sd(shelf, result->state)};
    shelf_shift(shelf, result->state, &out->measured);
    out->film = (struct film_case){result->film_um, result->backing, result->geometry, result->sheen_gu};
    return STATUS_OK;
}

/* A correction's result is "card" in every file: the file tells them apart. */
static void name_by_file(struct result_set *set, size_t from, const char *path) {
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    for (size_t i = from; i < set->count; i++)
        if (strcmp(set->result[i].id, "card") == 0) set->result[i].id = name;
}

enum status results_from_request(const struct surroundings *around, const struct request *request,
                                 const char *argument, struct result_set *out, struct fault *fault) {
    for (size_t i = 0; i < request_count(request, argument); i++) {
        struct bytes bytes;
        enum status status = disk_read(around->disk, request_text_at(request, argument, i), DISK_TEXT_MIB,
                                       around->arena, &bytes, fault);
        const size_t before = out->count;
        if (status == STATUS_OK) status = results_read(&bytes, around->arena, out, fault);
        if (status != STATUS_OK) return status;
        name_by_file(out, before, request_text_at(request, argument, i));
    }
    return STATUS_OK;
}

int scale_decimals(double step_g) {
    int decimals = 0;
    while (decimals < 6 && fabs(step_g - floor(step_g + 0.5)) > 1e-6 * step_g) step_g *= 10, decimals++;
    return decimals;
}

const char *cause_text(const struct shelf *shelf, const struct outlier *o, struct fault *out) {
    const char *id = o->toner >= 0 ? shelf->toner[o->toner].id : "";
    char times[24], percent[24];
    snprintf(times, sizeof times, "%.0f", o->factor);
    snprintf(percent, sizeof percent, "%.0f", 100 * o->factor);
    if (o->toner < 0 || o->explained < 0.5)
        FAULT0(out, CAUSE_NO_TONER);
    else if (o->factor < 0.15)
        FAULT(out, CAUSE_HARDLY_ANY, id);
    else if (o->factor < 1)
        FAULT(out, CAUSE_PART_OF_IT, id, percent);
    else if (o->factor > 6)
        FAULT(out, CAUSE_MANY_TIMES, id, times);
    else
        FAULT(out, CAUSE_MORE_OF_IT, id, percent);
    return out->text;
}
