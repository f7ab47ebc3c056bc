/* russet toners show: a shelf -> kind `shelf`: what a person asks of it. For each toner its own colour as an
 * opaque film, a tint of 1 : 15 with white (when there is a white), the film that hides, and how sure its
 * strength is. Predicted in the geometry that the drawdowns were read in. */
#include "flow/operation.h"
#include "flow/place.h"
#include "formats/json_out.h"
#include "paint/predict.h"
#include <math.h>

extern operation_flow toners_show_flow;

static const double tint_part = 1.0 / 16;

static struct lab look(const struct shelf *shelf, const double part[]) {
    const struct film_case film = {
        .film_um = (double)INFINITY, .geometry = shelf->geometry, .sheen_gu = (double)NAN};
    struct spectrum seen;
    predict_reflectance(shelf, part, &film, &seen);
    return lab_of_spectrum(&seen, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

static int white_of(const struct shelf *shelf) {
    for (size_t i = 0; i < shelf->count; i++)
        if (shelf->toner[i].role == ROLE_WHITE) return (int)i;
    return -1;
}

static void put_film(json_t *object, const struct shelf *shelf, const double part[]) {
    const double film = shelf->relative_s
                            ? (double)NAN
                            : predict_film_to_hide(shelf, part, shelf->geometry, (double)NAN, NULL, 0);
    if (isfinite(film))
        json_put_number(object, "film_um_to_hide", film, 1);
    else
        json_put_null(object, "film_um_to_hide");
}

static json_t *toner_json(const struct shelf *shelf, size_t i, int white) {
    const struct toner *toner = &shelf->toner[i];
    double part[SHELF_MOST] = {0};
    json_t *t = json_object();
    json_put_text(t, "name", toner->name);
    json_put_text(t, "role", toner_role_name(toner->role));
    json_put_text(t, "lot", toner->lot[0] ? toner->lot : NULL);
    part[i] = 1;
    const bool clear = toner->role == ROLE_BINDER;
    json_put(t, "lab", clear ? json_null() : json_lab(look(shelf, part)));
    if (clear)
        json_put_null(t, "film_um_to_hide");
    else
        put_film(t, shelf, part);
    if (white >= 0 && (size_t)white != i && !clear) {
        part[i] = tint_part, part[white] = 1 - tint_part;
        json_put(t, "tint_lab", json_lab(look(shelf, part)));
    } else {
        json_put_null(t, "tint_lab");
    }
    if (toner->strength_sd > 0)
        json_put_number(t, "strength_sd", toner->strength_sd, DIGITS_LAB);
    else
        json_put_null(t, "strength_sd");
    return t;
}

enum status toners_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct shelf shelf;
    const enum status status = place_read_shelf(around, request_text(request, "TONERS"), &shelf, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_start("shelf"), *toners = json_object(), *surface = json_object();
    json_put_text(object, "geometry", geometry_name(shelf.geometry));
    json_put_number(surface, "k1", shelf.surface.k1, DIGITS_FRACTION);
    json_put_number(surface, "k2", shelf.surface.k2, DIGITS_FRACTION);
    json_put(object, "surface", surface);
    json_put_flag(object, "relative_s", shelf.relative_s);
    for (size_t i = 0; i < shelf.count; i++)
        json_put(toners, shelf.toner[i].id, toner_json(&shelf, i, white_of(&shelf)));
    json_put(object, "toners", toners);
    *reply = object;
    return STATUS_OK;
}
