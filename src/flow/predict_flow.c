/* russet predict: a mix from the shelf, seen as an opaque film or as a film over a backing. */
#include "flow/note.h"
#include "flow/place.h"
#include "formats/json_out.h"
#include "paint/predict.h"
#include <math.h>
#include <string.h>

extern operation_flow predict_flow;

struct prediction {
    struct shelf shelf;
    double part[SHELF_MOST], mass_g[SHELF_MOST];
    struct film_case film;
    bool has_backing;
    double coat_um;
};

static const char *ids_of(const struct shelf *shelf, struct arena *arena) {
    struct text ids = {0};
    for (size_t i = 0; i < shelf->count; i++) text_format(&ids, "%s%s", i ? ", " : "", shelf->toner[i].id);
    const char *kept = arena_text(arena, ids.data ? ids.data : "", ids.length);
    text_free(&ids);
    return kept;
}

static enum status read_parts(const struct surroundings *around, const struct request *request,
                              struct prediction *p, struct fault *fault) {
    size_t count;
    const struct part_text *parts = request_parts(request, "--parts", &count);
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        const int toner = shelf_find(&p->shelf, parts[i].id);
        if (toner < 0)
            return FAULT(fault, PREDICT_TONER_UNKNOWN, request_text(request, "--toners"), parts[i].id,
                         ids_of(&p->shelf, around->arena));
        p->mass_g[toner] = parts[i].value;
        sum += parts[i].value;
    }
    if (!(sum > 0)) return FAULT0(fault, PREDICT_NOTHING);
    for (size_t i = 0; i < p->shelf.count; i++) p->part[i] = p->mass_g[i] / sum;
    return STATUS_OK;
}

static enum status read_backing(const struct surroundings *around, const struct request *request,
                                struct prediction *p, struct fault *fault) {
    const char *place = request_text(request, "--backing");
    p->has_backing = place != NULL;
    if (!place) return STATUS_OK;
    struct reading backing;
    const enum status status = place_read(around, place, p->film.geometry, &backing, fault);
    if (status != STATUS_OK) return status;
    if (!backing.has_spectrum) return FAULT(fault, PREDICT_BACKING_NO_SPECTRUM, place);
    if (p->film.geometry == GEOMETRY_UNKNOWN) p->film.geometry = backing.geometry;
    if (backing.geometry != GEOMETRY_UNKNOWN && backing.geometry != p->film.geometry)
        return FAULT(fault, PREDICT_GEOMETRY_DIFFERS, place, geometry_name(backing.geometry),
                     geometry_name(p->film.geometry));
    p->film.backing = backing.reflectance;
    return STATUS_OK;
}

static enum status check_together(const struct request *request, struct fault *fault) {
    const bool backing = request_has(request, "--backing"), film = request_has(request, "--film-um");
    if (backing && !film) return FAULT0(fault, PREDICT_BACKING_ALONE);
    if (film && !backing) return FAULT0(fault, PREDICT_FILM_ALONE);
    return STATUS_OK;
}

static enum status read_all(const struct surroundings *around, const struct request *request,
                            struct prediction *p, struct fault *fault) {
    enum status status = check_together(request, fault);
    if (status == STATUS_OK)
        status = place_read_shelf(around, request_text(request, "--toners"), &p->shelf, fault);
    if (status != STATUS_OK) return status;
    p->film.film_um = request_number(request, "--film-um", (double)INFINITY);
    p->film.sheen_gu = request_number(request, "--sheen-gu", (double)NAN);
    p->film.geometry = p->shelf.geometry;
    p->coat_um = request_number(request, "--coat-um", 6);
    const char *geometry = request_text(request, "--geometry");
    if (geometry && !geometry_from_name(geometry, &p->film.geometry)) p->film.geometry = GEOMETRY_UNKNOWN;
    status = read_parts(around, request, p, fault);
    return status == STATUS_OK ? read_backing(around, request, p, fault) : status;
}

static json_t *parts_json(const struct prediction *p) {
    json_t *parts = json_array();
    for (size_t i = 0; i < p->shelf.count; i++) {
        if (!(p->mass_g[i] > 0)) continue;
        json_t *part = json_object();
        json_put_text(part, "toner", p->shelf.toner[i].id);
        json_put_number(part, "mass_fraction", p->part[i], DIGITS_FRACTION);
        json_put_number(part, "g", p->mass_g[i], 4);
        json_array_append_new(parts, part);
    }
    return parts;
}

static void put_or_null(json_t *object, const char *key, double value, int digits) {
    if (isfinite(value))
        json_put_number(object, key, value, digits);
    else
        json_put_null(object, key);
}

static void put_colour(json_t *reply, const struct prediction *p) {
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    struct spectrum reflectance;
    predict_reflectance(&p->shelf, p->part, &p->film, &reflectance);
    json_put(reply, "reflectance", json_spectrum(&reflectance));
    json_put(reply, "lab", json_lab(lab_of_spectrum(&reflectance, weights)));
}

static void put_hiding(json_t *reply, const struct prediction *p) {
    const double film_um = predict_film_to_hide(&p->shelf, p->part, p->film.geometry, p->film.sheen_gu,
                                                &p->film.backing, p->has_backing ? 1 : 0);
    const double ratio =
        p->shelf.relative_s ? (double)NAN : predict_contrast_ratio(&p->shelf, p->part, &p->film);
    put_or_null(reply, "contrast_ratio", ratio, DIGITS_FRACTION);
    put_or_null(reply, "film_um_to_hide", film_um, 2);
    if (isfinite(film_um))
        json_put_count(reply, "coats_to_hide", llround(predict_coats(film_um, p->coat_um)));
    else
        json_put_null(reply, "coats_to_hide");
    json_put_number(reply, "coat_um", p->coat_um, 2);
    if (isinf(film_um)) NOTE(reply, NOTE_NEVER_HIDES, NULL);
    if (isinf(film_um) && isinf(p->film.film_um)) NOTE(reply, NOTE_OPAQUE_NEVER_SEEN, NULL);
}

static void add_notes(json_t *reply, const struct prediction *p, double asked_film_um) {
    const struct shelf *shelf = &p->shelf;
    if (shelf->relative_s) NOTE(reply, NOTE_S_RELATIVE, NULL);
    if (shelf->relative_s && isfinite(asked_film_um))
        NOTE(reply, NOTE_TAKEN_AS_OPAQUE, NUMBER_TEXT(asked_film_um));
    if (shelf->geometry != GEOMETRY_UNKNOWN && shelf->geometry != p->film.geometry)
        NOTE(reply, NOTE_GEOMETRY_CARRIED, geometry_name(shelf->geometry), geometry_name(p->film.geometry));
    if (isfinite(p->film.sheen_gu) && !shelf->topcoat.measured)
        NOTE(reply, NOTE_SHEEN_MODELLED, NUMBER_TEXT(p->film.sheen_gu));
}

enum status predict_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                         struct fault *fault) {
    struct prediction *p = arena_need(around->arena, 1, sizeof *p);
    const enum status status = read_all(around, request, p, fault);
    if (status != STATUS_OK) return status;
    const double asked_film_um = p->film.film_um;
    if (p->shelf.relative_s)
        p->film.film_um = (double)INFINITY; /* how deep a film is seen into is not known */
    json_t *object = json_start("prediction");
    json_put(object, "parts", parts_json(p));
    json_put_text(object, "geometry", geometry_name(p->film.geometry));
    put_or_null(object, "film_um", p->film.film_um, 2);
    put_or_null(object, "sheen_gu", p->film.sheen_gu, 1);
    put_colour(object, p);
    put_hiding(object, p);
    add_notes(object, p, asked_film_um);
    *reply = object;
    return STATUS_OK;
}
