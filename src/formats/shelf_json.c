/* A shelf as JSON:
 *
 *     {"russet", "kind": "toners", "format": 1,
 *      "geometry": "sci", "surface": {"k1", "k2", "sheen_return"}, "beam": {"forward"} or null, "topcoat":
 * {"haze_per_decade", "sheen_gu", "returned"} or null (the last two only when they were read), "relative_s":
 * false, "currency": "EUR" or null, "toners": {"white": {"name", "lot", "role", "density_g_ml",
 * "price_minor_per_kg", "solids", "bend", "crowd", "lean", "strength_sd", "k": [31], "s": [31], "prior":
 * {"strength_sd", "scatter_sd", "shape_sd", "invented", "source"} (left out when there is none)}, ...},
 * "shifts": {"dry": {"ln_r": [5], "sd", "pairs"}, ...}, "cards": [{"parts": {"white": .57, ...}, "lots":
 * {"white": 1, ...}, "geometry", "film_um", "sheen_gu", "backing": [31], "measured": [31]}, ...],
 * "camera": {"x": [31], "y": [31], "z": [31]} (left out when there is none)}
 *
 * cards: what the shelf learnt from, left out when there are none; lots names the toners of a card that were
 * of another lot than the shelf's (1, 2, ... in the order they came); film_um and backing null: opaque.
 *
 * The order of the toners is the order of the shelf. What is not known is null. K and S have 9 significant
 * digits: a shelf that was written and read again is the same to them, and writing it once more gives the
 * same bytes. */
#include "formats/shelf_json.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/text_in.h"
#include "formats/toner_text.h"
#include "paint/calibrate.h"
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { DIGITS_KNOWN = -9, LOTS_MOST = 400 };

static void put_known(json_t *object, const char *key, double value, bool known) {
    if (known)
        json_put_number(object, key, value, DIGITS_KNOWN);
    else
        json_put_null(object, key);
}

static json_t *prior_json(const struct toner_prior *prior) {
    json_t *p = json_object();
    json_put_number(p, "strength_sd", prior->strength_sd, DIGITS_KNOWN);
    json_put_number(p, "scatter_sd", prior->scatter_sd, DIGITS_KNOWN);
    json_put_number(p, "shape_sd", prior->shape_sd, DIGITS_KNOWN);
    json_put_flag(p, "invented", prior->invented);
    json_put_text(p, "source", prior->source);
    return p;
}

static json_t *toner_json(const struct toner *toner) {
    json_t *t = json_object();
    for (const struct toner_text *text = toner_texts; text->key; text++) {
        const char *said = toner_text_of(toner, text);
        json_put_text(t, text->key, said[0] ? said : NULL);
    }
    json_put_text(t, "role", toner_role_name(toner->role));
    put_known(t, "density_g_ml", toner->density_g_ml, toner->density_g_ml > 0);
    if (toner->price_minor_per_kg >= 0)
        json_put_count(t, "price_minor_per_kg", toner->price_minor_per_kg);
    else
        json_put_null(t, "price_minor_per_kg");
    put_known(t, "solids", toner->solids, toner->solids > 0);
    json_put_number(t, "bend", toner->bend, DIGITS_KNOWN);
    json_put_number(t, "crowd", toner->crowd, DIGITS_KNOWN);
    if (toner->lean != 0) json_put_number(t, "lean", toner->lean, DIGITS_KNOWN);
    put_known(t, "strength_sd", toner->strength_sd, toner->strength_sd > 0);
    json_put(t, "k", json_numbers(toner->k, BANDS, DIGITS_KS));
    json_put(t, "s", json_numbers(toner->s, BANDS, DIGITS_KS));
    if (toner->prior.on) json_put(t, "prior", prior_json(&toner->prior));
    return t;
}

static json_t *surface_json(const struct surface *surface) {
    json_t *s = json_object();
    json_put_number(s, "k1", surface->k1, DIGITS_KNOWN);
    json_put_number(s, "k2", surface->k2, DIGITS_KNOWN);
    json_put_number(s, "sheen_return", surface->sheen_return, DIGITS_KNOWN);
    if (surface->oblique != 0) json_put_number(s, "oblique", surface->oblique, DIGITS_KNOWN);
    return s;
}

static json_t *topcoat_json(const struct topcoat *topcoat) {
    if (!topcoat->measured) return json_null();
    json_t *t = json_object();
    json_put_number(t, "haze_per_decade", topcoat->haze_per_decade, DIGITS_KNOWN);
    if (topcoat->sheens == 0) return t;
    json_put(t, "sheen_gu", json_numbers(topcoat->sheen_gu, topcoat->sheens, DIGITS_KNOWN));
    json_put(t, "returned", json_numbers(topcoat->returned, topcoat->sheens, DIGITS_KNOWN));
    return t;
}

static json_t *beam_json(const struct beam *beam) {
    if (!beam->on) return json_null();
    json_t *b = json_object();
    json_put_number(b, "forward", beam->forward, DIGITS_KNOWN);
    return b;
}

static void put_shifts(json_t *object, const struct shelf *shelf) {
    json_t *shifts = json_object();
    for (int i = STATE_DRY; i < STATE_COUNT; i++) {
        const struct shift *shift = &shelf->shift[i];
        if (shift->pairs <= 0) continue;
        json_t *s = json_object();
        json_put(s, "ln_r", json_numbers(shift->ln_r, SHIFT_TERMS, DIGITS_KNOWN));
        json_put_number(s, "sd", shift->sd, DIGITS_KNOWN);
        json_put_count(s, "pairs", shift->pairs);
        json_put(shifts, card_state_name((enum card_state)i), s);
    }
    if (json_object_size(shifts) > 0)
        json_put(object, "shifts", shifts);
    else
        json_decref(shifts);
}

static json_t *card_json(const struct shelf *shelf, const struct card *card) {
    json_t *c = json_object(), *parts = json_object(), *lots = json_object();
    const bool opaque = isinf(card->film.film_um);
    for (size_t i = 0; i < shelf->count; i++) {
        if (card->part[i] <= 0) continue;
        json_put_number(parts, shelf->toner[i].id, card->part[i], DIGITS_KNOWN);
        if (card->lot && card->lot[i] > 0) json_put_count(lots, shelf->toner[i].id, card->lot[i]);
    }
    json_put(c, "parts", parts);
    json_put(c, "lots", lots);
    json_put_text(c, "geometry", geometry_name(card->film.geometry));
    put_known(c, "film_um", card->film.film_um, !opaque);
    put_known(c, "sheen_gu", card->film.sheen_gu, isfinite(card->film.sheen_gu));
    json_put(c, "backing", opaque ? json_null() : json_spectrum(&card->film.backing));
    json_put(c, "measured", json_spectrum(&card->measured));
    return c;
}

static void put_cards(json_t *object, const struct shelf *shelf) {
    if (shelf->cards == 0) return;
    json_t *cards = json_array();
    for (size_t i = 0; i < shelf->cards; i++) json_array_append_new(cards, card_json(shelf, &shelf->card[i]));
    json_put(object, "cards", cards);
}

static void put_camera(json_t *object, const struct weights *camera) {
    if (!camera) return;
    json_t *c = json_object();
    json_put(c, "x", json_numbers(camera->x, BANDS, DIGITS_KNOWN));
    json_put(c, "y", json_numbers(camera->y, BANDS, DIGITS_KNOWN));
    json_put(c, "z", json_numbers(camera->z, BANDS, DIGITS_KNOWN));
    json_put(object, "camera", c);
}

void shelf_put(json_t *object, const struct shelf *shelf) {
    json_put_text(object, "geometry", geometry_name(shelf->geometry));
    json_put(object, "surface", surface_json(&shelf->surface));
    json_put(object, "beam", beam_json(&shelf->beam));
    json_put(object, "topcoat", topcoat_json(&shelf->topcoat));
    json_put_flag(object, "relative_s", shelf->relative_s);
    json_put_text(object, "currency", shelf->currency[0] ? shelf->currency : NULL);
    json_t *toners = json_object();
    for (size_t i = 0; i < shelf->count; i++)
        json_put(toners, shelf->toner[i].id, toner_json(&shelf->toner[i]));
    json_put(object, "toners", toners);
    put_shifts(object, shelf);
    put_cards(object, shelf);
    put_camera(object, shelf->camera);
}

/* ---- and back ---- */

static bool is_left_out(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return !value || json_is_null(value);
}

/* A text that fits its place; "" when it is left out or null. */
static enum status read_text(const json_t *object, const char *key, struct json_place place, char *out,
                             size_t room, struct fault *fault) {
    const char *text = "";
    out[0] = 0;
    if (is_left_out(object, key)) return STATUS_OK;
    const enum status status = json_get_text(object, key, place, &text, fault);
    if (status != STATUS_OK) return status;
    if (strlen(text) >= room)
        return FAULT(fault, SHELF_TEXT_LONG, place.file, place.path, key, COUNT_TEXT((long long)room - 1));
    memcpy(out, text, strlen(text) + 1);
    return STATUS_OK;
}

static enum status read_labels(const json_t *t, struct json_place place, struct toner *toner,
                               struct fault *fault) {
    const char *role;
    enum status status = STATUS_OK;
    for (const struct toner_text *text = toner_texts; text->key && status == STATUS_OK; text++)
        status = read_text(t, text->key, place, toner_text_in(toner, text), text->room, fault);
    if (status == STATUS_OK) status = json_get_text(t, "role", place, &role, fault);
    if (status != STATUS_OK) return status;
    if (toner->name[0] == 0) snprintf(toner->name, sizeof toner->name, "%s", toner->id);
    if (toner_role_from_name(role, &toner->role)) return STATUS_OK;
    return FAULT(fault, SHELF_ROLE, place.file, place.path, SHOWN_TEXT(role));
}

static enum status read_numbers(const json_t *t, struct json_place place, struct toner *toner,
                                struct fault *fault) {
    double price = -1;
    enum status status =
        json_get_number_or(t, "density_g_ml", 0.1, 25, 0, place, &toner->density_g_ml, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(t, "price_minor_per_kg", 0, 1e12, -1, place, &price, fault);
    if (status == STATUS_OK) status = json_get_number_or(t, "solids", 0, 1, 0, place, &toner->solids, fault);
    if (status == STATUS_OK) status = json_get_number_or(t, "bend", 0, 1, 0, place, &toner->bend, fault);
    if (status == STATUS_OK) status = json_get_number_or(t, "crowd", 0, 100, 0, place, &toner->crowd, fault);
    if (status == STATUS_OK) status = json_get_number_or(t, "lean", -.75, .75, 0, place, &toner->lean, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(t, "strength_sd", 0, 10, 0, place, &toner->strength_sd, fault);
    if (status == STATUS_OK) status = json_get_numbers(t, "k", BANDS, 0, 1e6, place, toner->k, fault);
    if (status == STATUS_OK) status = json_get_numbers(t, "s", BANDS, 0, 1e6, place, toner->s, fault);
    toner->price_minor_per_kg = llround(price);
    return status;
}

static enum status read_prior(const json_t *t, struct json_place place, struct toner_prior *out,
                              struct fault *fault) {
    const json_t *p = json_object_get(t, "prior");
    char path[TONER_ID_MAX + 16];
    snprintf(path, sizeof path, "%s.prior", place.path);
    const struct json_place at = {place.file, path};
    if (is_left_out(t, "prior")) return STATUS_OK;
    if (!json_is_object(p)) return FAULT(fault, SHELF_PART_MISSING, place.file, path);
    enum status status = json_get_number(p, "strength_sd", 0, 10, at, &out->strength_sd, fault);
    if (status == STATUS_OK) status = json_get_number(p, "scatter_sd", 0, 10, at, &out->scatter_sd, fault);
    if (status == STATUS_OK) status = json_get_number(p, "shape_sd", 0, 10, at, &out->shape_sd, fault);
    if (status == STATUS_OK) status = read_text(p, "source", at, out->source, sizeof out->source, fault);
    out->invented = json_is_true(json_object_get(p, "invented"));
    out->on = true;
    return status;
}

static enum status read_toner(const json_t *t, const char *id, const char *file, struct toner *toner,
                              struct fault *fault) {
    if (!toner_id_is_good(id)) return FAULT(fault, SHELF_TONER_ID, file, SHOWN_TEXT(id));
    char path[TONER_ID_MAX + 8];
    snprintf(path, sizeof path, "toners.%s", id);
    const struct json_place place = {file, path};
    if (!json_is_object(t)) return FAULT(fault, SHELF_TONER_NOT_OBJECT, file, path);
    snprintf(toner->id, sizeof toner->id, "%s", id);
    enum status status = read_labels(t, place, toner, fault);
    if (status == STATUS_OK) status = read_numbers(t, place, toner, fault);
    return status == STATUS_OK ? read_prior(t, place, &toner->prior, fault) : status;
}

static enum status read_toners(const json_t *root, const char *file, struct arena *arena, struct shelf *out,
                               struct fault *fault) {
    json_t *toners = json_object_get(root, "toners");
    const size_t count = json_object_size(toners);
    if (count == 0) return FAULT(fault, SHELF_NO_TONERS, file);
    if (count > SHELF_MOST)
        return FAULT(fault, SHELF_TOO_MANY, file, COUNT_TEXT((long long)count), COUNT_TEXT(SHELF_MOST));
    out->toner = arena_need(arena, count, sizeof *out->toner);
    const char *id;
    json_t *toner;
    json_object_foreach(toners, id, toner) {
        const enum status status = read_toner(toner, id, file, &out->toner[out->count], fault);
        if (status != STATUS_OK) return status;
        out->count++;
    }
    return STATUS_OK;
}

static enum status read_sheens(const json_t *t, struct json_place place, struct topcoat *out,
                               struct fault *fault) {
    const json_t *gu = json_object_get(t, "sheen_gu");
    if (!gu || json_is_null(gu)) return STATUS_OK;
    out->sheens = json_is_array(gu) ? json_array_size(gu) : 0;
    if (out->sheens < 1 || out->sheens > TOPCOAT_SHEENS_MOST)
        return FAULT(fault, SHELF_SHEENS, place.file, COUNT_TEXT(TOPCOAT_SHEENS_MOST));
    enum status status = json_get_numbers(t, "sheen_gu", out->sheens, 0, 2000, place, out->sheen_gu, fault);
    if (status == STATUS_OK)
        status = json_get_numbers(t, "returned", out->sheens, 0, 1, place, out->returned, fault);
    for (size_t i = 1; i < out->sheens && status == STATUS_OK; i++)
        if (!(out->sheen_gu[i] > out->sheen_gu[i - 1]))
            status = FAULT(fault, SHELF_SHEENS, place.file, COUNT_TEXT(TOPCOAT_SHEENS_MOST));
    return status;
}

static enum status read_surface(const json_t *root, const char *file, struct shelf *out,
                                struct fault *fault) {
    const json_t *s = json_object_get(root, "surface"), *t = json_object_get(root, "topcoat");
    const struct json_place surface = {file, "surface"}, topcoat = {file, "topcoat"};
    if (!json_is_object(s)) return FAULT(fault, SHELF_PART_MISSING, file, "surface");
    enum status status = json_get_number(s, "k1", 0, 0.2, surface, &out->surface.k1, fault);
    if (status == STATUS_OK) status = json_get_number(s, "k2", 0, 0.95, surface, &out->surface.k2, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(s, "sheen_return", 0, 1, 0, surface, &out->surface.sheen_return, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(s, "oblique", -.2, .2, 0, surface, &out->surface.oblique, fault);
    if (status != STATUS_OK || is_left_out(root, "topcoat")) return status;
    if (!json_is_object(t)) return FAULT(fault, SHELF_PART_MISSING, file, "topcoat");
    out->topcoat.measured = true;
    status = json_get_number(t, "haze_per_decade", 0, 1, topcoat, &out->topcoat.haze_per_decade, fault);
    return status == STATUS_OK ? read_sheens(t, topcoat, &out->topcoat, fault) : status;
}

static enum status read_beam(const json_t *root, const char *file, struct shelf *out, struct fault *fault) {
    const json_t *b = json_object_get(root, "beam");
    const struct json_place place = {file, "beam"};
    if (is_left_out(root, "beam")) return STATUS_OK;
    if (!json_is_object(b)) return FAULT(fault, SHELF_PART_MISSING, file, "beam");
    out->beam.on = true;
    return json_get_number(b, "forward", 0, 0.75, place, &out->beam.forward, fault);
}

static enum status read_shift(const json_t *s, struct json_place place, struct shift *out,
                              struct fault *fault) {
    double pairs;
    if (!json_is_object(s)) return FAULT(fault, SHELF_PART_MISSING, place.file, place.path);
    /* a shelf of before has the cosines only */
    const bool cosines = json_array_size(json_object_get(s, "ln_r")) == SHIFT_COSINES;
    enum status status =
        json_get_numbers(s, "ln_r", cosines ? SHIFT_COSINES : SHIFT_TERMS, -5, 5, place, out->ln_r, fault);
    if (status == STATUS_OK) status = json_get_number(s, "sd", 0, 10, place, &out->sd, fault);
    if (status == STATUS_OK) status = json_get_number(s, "pairs", 1, 1e6, place, &pairs, fault);
    if (status == STATUS_OK) out->pairs = (int)pairs;
    return status;
}

static enum status read_shifts(const json_t *root, const char *file, struct shelf *out, struct fault *fault) {
    const json_t *shifts = json_object_get(root, "shifts");
    for (int i = STATE_DRY; i < STATE_COUNT; i++) {
        const char *state = card_state_name((enum card_state)i);
        char path[40];
        snprintf(path, sizeof path, "shifts.%s", state);
        if (is_left_out(shifts, state)) continue;
        const struct json_place place = {file, path};
        const enum status status = read_shift(json_object_get(shifts, state), place, &out->shift[i], fault);
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

/* Shares and lots of a card by the shelf's toners. */
static enum status read_card_parts(const json_t *c, struct json_place place, const struct shelf *shelf,
                                   struct arena *arena, struct card *out, struct fault *fault) {
    json_t *parts = json_object_get(c, "parts"), *share;
    const json_t *lots = json_object_get(c, "lots");
    double *part = arena_need(arena, shelf->count, sizeof *part), sum = 0;
    int *lot = arena_need(arena, shelf->count, sizeof *lot);
    const char *id;
    json_object_foreach(parts, id, share) {
        const int toner = shelf_find(shelf, id);
        double of_lot = 0;
        if (toner < 0) return FAULT(fault, SHELF_CARD_TONER, place.file, place.path, SHOWN_TEXT(id));
        enum status status = json_get_number(parts, id, 0, 1, place, &part[toner], fault);
        if (status == STATUS_OK && !is_left_out(lots, id))
            status = json_get_number(lots, id, 0, LOTS_MOST, place, &of_lot, fault);
        if (status != STATUS_OK) return status;
        lot[toner] = (int)of_lot;
        sum += part[toner];
    }
    if (!(sum > 0)) return FAULT(fault, SHELF_PART_MISSING, place.file, place.path);
    for (size_t i = 0; i < shelf->count && fabs(sum - 1) > 1e-6; i++) part[i] /= sum;
    out->part = part;
    out->lot = lot;
    return STATUS_OK;
}

static enum status read_card(const json_t *c, struct json_place place, const struct shelf *shelf,
                             struct arena *arena, struct card *out, struct fault *fault) {
    const char *geometry;
    if (!json_is_object(c)) return FAULT(fault, SHELF_PART_MISSING, place.file, place.path);
    enum status status = read_card_parts(c, place, shelf, arena, out, fault);
    if (status == STATUS_OK) status = json_get_text(c, "geometry", place, &geometry, fault);
    if (status == STATUS_OK && !geometry_from_name(geometry, &out->film.geometry))
        status = FAULT(fault, SHELF_GEOMETRY, place.file, SHOWN_TEXT(geometry));
    if (status == STATUS_OK)
        status =
            json_get_number_or(c, "film_um", 0.5, 1000, (double)INFINITY, place, &out->film.film_um, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(c, "sheen_gu", 0, 2000, (double)NAN, place, &out->film.sheen_gu, fault);
    if (status == STATUS_OK && isfinite(out->film.film_um))
        status = json_get_numbers(c, "backing", BANDS, 0, 2, place, out->film.backing.band, fault);
    if (status == STATUS_OK)
        status = json_get_numbers(c, "measured", BANDS, 0, 2, place, out->measured.band, fault);
    return status;
}

static enum status read_cards(const json_t *root, const char *file, struct arena *arena, struct shelf *out,
                              struct fault *fault) {
    const json_t *cards = json_object_get(root, "cards");
    const size_t count = json_array_size(cards);
    if (count == 0) return STATUS_OK;
    if (count > SHELF_CARDS_MOST)
        return FAULT(fault, SHELF_TOO_MANY_CARDS, file, COUNT_TEXT((long long)count),
                     COUNT_TEXT(SHELF_CARDS_MOST));
    struct card *card = arena_need(arena, count, sizeof *card);
    for (size_t i = 0; i < count; i++) {
        char path[32];
        snprintf(path, sizeof path, "cards[%zu]", i);
        const struct json_place place = {file, path};
        const enum status status = read_card(json_array_get(cards, i), place, out, arena, &card[i], fault);
        if (status != STATUS_OK) return status;
    }
    out->card = card;
    out->cards = count;
    return STATUS_OK;
}

static enum status read_camera(const json_t *root, const char *file, struct arena *arena, struct shelf *out,
                               struct fault *fault) {
    const json_t *c = json_object_get(root, "camera");
    const struct json_place place = {file, "camera"};
    if (is_left_out(root, "camera")) return STATUS_OK;
    if (!json_is_object(c)) return FAULT(fault, SHELF_PART_MISSING, file, "camera");
    struct weights *camera = arena_need(arena, 1, sizeof *camera);
    *camera = *weights_of((struct view){LIGHT_D65, OBSERVER_10});
    enum status status = json_get_numbers(c, "x", BANDS, -50, 50, place, camera->x, fault);
    if (status == STATUS_OK) status = json_get_numbers(c, "y", BANDS, -50, 50, place, camera->y, fault);
    if (status == STATUS_OK) status = json_get_numbers(c, "z", BANDS, -50, 50, place, camera->z, fault);
    out->camera = camera;
    return status;
}

static enum status read_head(const json_t *root, const char *file, struct shelf *out, struct fault *fault) {
    const struct json_place place = {file, ""};
    const char *geometry;
    char currency[16];
    enum status status = json_get_text(root, "geometry", place, &geometry, fault);
    if (status == STATUS_OK) status = read_text(root, "currency", place, currency, sizeof currency, fault);
    if (status != STATUS_OK) return status;
    if (strcmp(geometry, "unknown") != 0 && !geometry_from_name(geometry, &out->geometry))
        return FAULT(fault, SHELF_GEOMETRY, file, SHOWN_TEXT(geometry));
    const size_t n = strlen(currency);
    if (n != 0 && !(n == 3 && strspn(currency, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == 3))
        return FAULT(fault, SHELF_CURRENCY, file, SHOWN_TEXT(currency));
    memcpy(out->currency, currency, n + 1);
    out->relative_s = json_is_true(json_object_get(root, "relative_s"));
    return STATUS_OK;
}

static enum status shelf_from(const json_t *root, const char *file, struct arena *arena, struct shelf *out,
                              struct fault *fault) {
    struct shelf shelf = {0};
    enum status status = json_check_kind(root, "toners", file, fault);
    if (status == STATUS_OK) status = read_head(root, file, &shelf, fault);
    if (status == STATUS_OK) status = read_surface(root, file, &shelf, fault);
    if (status == STATUS_OK) status = read_beam(root, file, &shelf, fault);
    if (status == STATUS_OK) status = read_toners(root, file, arena, &shelf, fault);
    if (status == STATUS_OK) status = read_shifts(root, file, &shelf, fault);
    if (status == STATUS_OK) status = read_cards(root, file, arena, &shelf, fault);
    if (status == STATUS_OK) status = read_camera(root, file, arena, &shelf, fault);
    if (status == STATUS_OK) *out = shelf;
    return status;
}

enum status shelf_read(const struct bytes *bytes, struct arena *arena, struct shelf *out,
                       struct fault *fault) {
    json_t *root = NULL;
    enum status status = json_read(bytes, &root, fault);
    if (status == STATUS_OK) status = shelf_from(root, bytes->name, arena, out, fault);
    json_decref(root);
    return status;
}
