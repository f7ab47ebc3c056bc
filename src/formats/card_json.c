/* A card as JSON:
 *
 *     {"russet", "kind": "card", "format": 1, "name", "size_mm": [w, h],
 *      "tags": [{"family": "36h11", "id", "corners_mm": [[x, y] * 4]}],
 *      "patches": [{"id", "center_mm": [x, y], "size_mm", "role": "neutral|colour|black-trap",
 *                   "reflectance": [31] or "lab": [L, a, b] (D65, 10 degrees) or neither: not measured yet,
 *                   "lab_sd": how far off that may be, left out when it was measured}],
 *      "places": [{"id", "center_mm", "size_mm", "dab", "over", "parts_g": {"<toner>": g}}],
 *      "surround": {"y": 0.18} or null, "window_mm": {"center": [x, y], "size": s} or null}
 *
 * Refused: a tag, patch, place or window that does not lie on the card, corners that are not a square's from
 * top left clockwise, an id twice, a place over another that is not a bare one. */
#include "formats/card_json.h"
#include "formats/card_fields.h"
#include "formats/json_in.h"
#include "formats/json_out.h"
#include "formats/text_in.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { DIGITS_MM = 4 };

/* ---- out ---- */

static json_t *tag_json(const struct photo_tag *tag) {
    json_t *t = json_object(), *corners = json_array();
    json_put_text(t, "family", "36h11");
    json_put_count(t, "id", tag->id);
    for (int i = 0; i < 4; i++) json_array_append_new(corners, json_numbers(tag->corner_mm[i], 2, DIGITS_MM));
    json_put(t, "corners_mm", corners);
    return t;
}

static json_t *patch_json(const struct photo_patch *patch) {
    json_t *p = json_object();
    json_put_text(p, "id", patch->id);
    json_put(p, "center_mm", json_numbers(patch->center_mm, 2, DIGITS_MM));
    json_put_number(p, "size_mm", patch->size_mm, DIGITS_MM);
    json_put_text(p, "role", patch_role_name(patch->role));
    if (patch->known == KNOWN_SPECTRUM) json_put(p, "reflectance", json_spectrum(&patch->reflectance));
    if (patch->known == KNOWN_LAB) json_put(p, "lab", json_lab(patch->lab));
    if (patch->known != KNOWN_NOT && patch->lab_sd > 0)
        json_put_number(p, "lab_sd", patch->lab_sd, DIGITS_LAB);
    return p;
}

void card_put_place(json_t *object, const struct photo_place *place) {
    json_put_text(object, "id", place->id);
    if (place->parts == 0) return;
    json_t *parts = json_object();
    json_put_text(object, "dab", place->dab);
    json_put_text(object, "over", place->over);
    for (int i = 0; i < place->parts; i++)
        json_put_number(parts, place->part[i].toner, place->part[i].g, DIGITS_FRACTION);
    json_put(object, "parts_g", parts);
}

static json_t *place_json(const struct photo_place *place) {
    json_t *p = json_object();
    card_put_place(p, place);
    json_put(p, "center_mm", json_numbers(place->center_mm, 2, DIGITS_MM));
    json_put_number(p, "size_mm", place->size_mm, DIGITS_MM);
    return p;
}

void card_put(json_t *object, const struct photo_card *card) {
    json_t *tags = json_array(), *patches = json_array(), *places = json_array();
    for (int i = 0; i < card->tags; i++) json_array_append_new(tags, tag_json(&card->tag[i]));
    for (int i = 0; i < card->patches; i++) json_array_append_new(patches, patch_json(&card->patch[i]));
    for (int i = 0; i < card->places; i++) json_array_append_new(places, place_json(&card->place[i]));
    json_put_text(object, "name", card->name);
    json_put(object, "size_mm", json_numbers(card->size_mm, 2, DIGITS_MM));
    json_put(object, "tags", tags);
    json_put(object, "patches", patches);
    if (card->places > 0)
        json_put(object, "places", places);
    else
        json_decref(places);
    json_t *surround = card->surround_y > 0 ? json_object() : json_null();
    if (card->surround_y > 0) json_put_number(surround, "y", card->surround_y, DIGITS_FRACTION);
    json_put(object, "surround", surround);
    json_t *window = card->has_window ? json_object() : json_null();
    if (card->has_window) {
        json_put(window, "center", json_numbers(card->window_center_mm, 2, DIGITS_MM));
        json_put_number(window, "size", card->window_mm, DIGITS_MM);
    }
    json_put(object, "window_mm", window);
}

/* ---- and back ---- */

struct reader {
    const char *file;
    struct photo_card *card;
    struct fault *fault;
};

static bool is_left_out(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return !value || json_is_null(value);
}

/* A square around center_mm that must lie on the card. */
static enum status read_square(const struct reader *r, const json_t *object, struct json_place at,
                               const char *center_key, const char *size_key, double center[2], double *size) {
    enum status status = json_get_numbers(object, center_key, 2, 0, CARD_SIDE_MOST_MM, at, center, r->fault);
    if (status == STATUS_OK)
        status = json_get_number(object, size_key, .5, CARD_SIDE_MOST_MM, at, size, r->fault);
    if (status != STATUS_OK) return status;
    for (int i = 0; i < 2; i++)
        if (center[i] - *size / 2 < -1e-6 || center[i] + *size / 2 > r->card->size_mm[i] + 1e-6)
            return FAULT(r->fault, CARD_OUTSIDE, r->file, at.path, NUMBER_TEXT(r->card->size_mm[0]),
                         NUMBER_TEXT(r->card->size_mm[1]));
    return STATUS_OK;
}

/* ---- tags ---- */

static enum status read_corners(const struct reader *r, const json_t *tag, struct json_place at,
                                double corner[4][2]) {
    const json_t *corners = json_object_get(tag, "corners_mm");
    if (!json_is_array(corners) || json_array_size(corners) != 4)
        return FAULT(r->fault, CARD_CORNERS, r->file, at.path);
    for (size_t i = 0; i < 4; i++) {
        const json_t *pair = json_array_get(corners, i);
        if (!json_is_array(pair) || json_array_size(pair) != 2)
            return FAULT(r->fault, CARD_CORNERS, r->file, at.path);
        for (size_t k = 0; k < 2; k++) {
            const json_t *value = json_array_get(pair, k);
            const double mm = json_is_number(value) ? json_number_value(value) : (double)NAN;
            if (isnan(mm)) return FAULT(r->fault, CARD_CORNERS, r->file, at.path);
            if (!(mm >= -1e-6 && mm <= r->card->size_mm[k] + 1e-6))
                return FAULT(r->fault, CARD_OUTSIDE, r->file, at.path, NUMBER_TEXT(r->card->size_mm[0]),
                             NUMBER_TEXT(r->card->size_mm[1]));
            corner[i][k] = mm;
        }
    }
    return STATUS_OK;
}

/* Four right turns to the right (y is down), four sides alike: a square from one of its corners, clockwise.
 */
static bool is_square(const double c[4][2]) {
    const double side = hypot(c[1][0] - c[0][0], c[1][1] - c[0][1]);
    if (!(side >= 2)) return false;
    for (int i = 0; i < 4; i++) {
        const double *a = c[i], *b = c[(i + 1) % 4], *d = c[(i + 2) % 4];
        const double turn = (b[0] - a[0]) * (d[1] - b[1]) - (b[1] - a[1]) * (d[0] - b[0]);
        if (!(turn > .97 * side * side && turn < 1.03 * side * side)) return false;
        if (!(fabs(hypot(b[0] - a[0], b[1] - a[1]) - side) < .03 * side)) return false;
    }
    return true;
}

static enum status read_tag(const struct reader *r, const json_t *tag, struct json_place at,
                            struct photo_tag *out) {
    const char *family;
    double id;
    if (!json_is_object(tag)) return FAULT(r->fault, CARD_NOT_OBJECT, r->file, at.path);
    enum status status = json_get_text(tag, "family", at, &family, r->fault);
    if (status != STATUS_OK) return status;
    if (strcmp(family, "36h11") != 0)
        return FAULT(r->fault, CARD_FAMILY, r->file, at.path, SHOWN_TEXT(family));
    status = json_get_number(tag, "id", 0, CARD_TAG_LAST, at, &id, r->fault);
    if (status == STATUS_OK) status = read_corners(r, tag, at, out->corner_mm);
    if (status != STATUS_OK) return status;
    out->id = (int)id;
    if (id != floor(id)) return FAULT(r->fault, CARD_TAG_ID, r->file, at.path, NUMBER_TEXT(id));
    for (int i = 0; i < r->card->tags; i++)
        if (r->card->tag[i].id == out->id)
            return FAULT(r->fault, CARD_TAG_TWICE, r->file, at.path, COUNT_TEXT(out->id));
    return is_square((const double(*)[2])out->corner_mm) ? STATUS_OK
                                                         : FAULT(r->fault, CARD_NOT_SQUARE, r->file, at.path);
}

/* ---- patches ---- */

static enum status read_value(const struct reader *r, const json_t *patch, struct json_place at,
                              struct photo_patch *out) {
    const struct view view = {LIGHT_D65, OBSERVER_10};
    const bool spectrum = !is_left_out(patch, "reflectance"), lab = !is_left_out(patch, "lab");
    double value[3] = {0};
    enum status status = STATUS_OK;
    if (spectrum && lab) return FAULT(r->fault, CARD_TWO_VALUES, r->file, at.path);
    if (spectrum)
        status = json_get_numbers(patch, "reflectance", BANDS, 0, 1.5, at, out->reflectance.band, r->fault);
    if (lab) status = json_get_numbers(patch, "lab", 3, -200, 200, at, value, r->fault);
    if (status != STATUS_OK) return status;
    if (lab && !(value[0] >= 0 && value[0] <= 130))
        return FAULT(r->fault, CARD_LIGHTNESS, r->file, at.path, NUMBER_TEXT(value[0]));
    if (spectrum) out->lab = lab_of_spectrum(&out->reflectance, weights_of(view));
    if (lab) out->lab = (struct lab){value[0], value[1], value[2], view};
    out->known = spectrum ? KNOWN_SPECTRUM : lab ? KNOWN_LAB : KNOWN_NOT;
    return json_get_number_or(patch, "lab_sd", 0, 50, 0, at, &out->lab_sd, r->fault);
}

static enum status read_patch(const struct reader *r, const json_t *patch, struct json_place at,
                              struct photo_patch *out) {
    const char *role;
    if (!json_is_object(patch)) return FAULT(r->fault, CARD_NOT_OBJECT, r->file, at.path);
    enum status status = card_read_id(patch, at, out->id, r->fault);
    if (status == STATUS_OK)
        status = read_square(r, patch, at, "center_mm", "size_mm", out->center_mm, &out->size_mm);
    if (status == STATUS_OK) status = json_get_text(patch, "role", at, &role, r->fault);
    if (status != STATUS_OK) return status;
    if (!patch_role_from_name(role, &out->role))
        return FAULT(r->fault, CARD_ROLE, r->file, at.path, SHOWN_TEXT(role));
    if (photo_card_patch(r->card, out->id) >= 0)
        return FAULT(r->fault, CARD_ID_TWICE, r->file, at.path, SHOWN_TEXT(out->id));
    return read_value(r, patch, at, out);
}

/* ---- places ---- */

static enum status read_place(const struct reader *r, const json_t *place, struct json_place at,
                              struct photo_place *out) {
    if (!json_is_object(place)) return FAULT(r->fault, CARD_NOT_OBJECT, r->file, at.path);
    enum status status = card_read_labels(place, at, out, r->fault);
    if (status == STATUS_OK)
        status = read_square(r, place, at, "center_mm", "size_mm", out->center_mm, &out->size_mm);
    if (status != STATUS_OK) return status;
    if (photo_card_place(r->card, out->id) >= 0)
        return FAULT(r->fault, CARD_ID_TWICE, r->file, at.path, SHOWN_TEXT(out->id));
    return STATUS_OK;
}

/* A dab lies over a bare place of the card, or over "" when it is opaque. */
static enum status check_places(const struct reader *r) {
    for (int i = 0; i < r->card->places; i++) {
        const struct photo_place *place = &r->card->place[i];
        if (place->over[0] == 0) continue;
        const int over = photo_card_place(r->card, place->over);
        if (over < 0 || r->card->place[over].parts > 0 || place->parts == 0)
            return FAULT(r->fault, CARD_OVER, r->file, SHOWN_TEXT(place->id), SHOWN_TEXT(place->over));
    }
    return STATUS_OK;
}

/* ---- the whole ---- */

enum list { LIST_TAGS, LIST_PATCHES, LIST_PLACES };
static const char *const list_key[] = {"tags", "patches", "places"};
static const int list_most[] = {CARD_TAGS_MOST, CARD_PATCHES_MOST, CARD_PLACES_MOST};

static enum status read_item(const struct reader *r, enum list list, const json_t *item,
                             struct json_place at) {
    struct photo_card *card = r->card;
    enum status status = STATUS_OK;
    if (list == LIST_TAGS) status = read_tag(r, item, at, &card->tag[card->tags]);
    if (list == LIST_PATCHES) status = read_patch(r, item, at, &card->patch[card->patches]);
    if (list == LIST_PLACES) status = read_place(r, item, at, &card->place[card->places]);
    if (status != STATUS_OK) return status;
    card->tags += list == LIST_TAGS, card->patches += list == LIST_PATCHES,
        card->places += list == LIST_PLACES;
    return STATUS_OK;
}

static enum status read_list(const struct reader *r, const json_t *root, enum list list) {
    const json_t *items = json_object_get(root, list_key[list]);
    if (is_left_out(root, list_key[list])) return STATUS_OK;
    if (!json_is_array(items)) return FAULT(r->fault, CARD_NOT_LIST, r->file, list_key[list]);
    if (json_array_size(items) > (size_t)list_most[list])
        return FAULT(r->fault, CARD_TOO_MANY, r->file, COUNT_TEXT(json_array_size(items)), list_key[list],
                     COUNT_TEXT(list_most[list]));
    for (size_t i = 0; i < json_array_size(items); i++) {
        char path[40];
        snprintf(path, sizeof path, "%s[%zu]", list_key[list], i);
        const enum status status =
            read_item(r, list, json_array_get(items, i), (struct json_place){r->file, path});
        if (status != STATUS_OK) return status;
    }
    return STATUS_OK;
}

static enum status read_head(const struct reader *r, const json_t *root) {
    struct photo_card *card = r->card;
    const json_t *surround = json_object_get(root, "surround"), *window = json_object_get(root, "window_mm");
    enum status status = json_get_numbers(root, "size_mm", 2, 10, CARD_SIDE_MOST_MM,
                                          (struct json_place){r->file, ""}, card->size_mm, r->fault);
    if (status == STATUS_OK)
        status = card_read_name(root, (struct json_place){r->file, "name"}, "name", card->name, r->fault);
    if (status == STATUS_OK && !is_left_out(root, "surround"))
        status = json_is_object(surround)
                     ? json_get_number(surround, "y", .01, 1, (struct json_place){r->file, "surround"},
                                       &card->surround_y, r->fault)
                     : FAULT(r->fault, CARD_NOT_OBJECT, r->file, "surround");
    if (status != STATUS_OK || is_left_out(root, "window_mm")) return status;
    card->has_window = true;
    return json_is_object(window) ? read_square(r, window, (struct json_place){r->file, "window_mm"},
                                                "center", "size", card->window_center_mm, &card->window_mm)
                                  : FAULT(r->fault, CARD_NOT_OBJECT, r->file, "window_mm");
}

static enum status read_card(const struct reader *r, const json_t *root) {
    enum status status = json_check_kind(root, "card", r->file, r->fault);
    if (status == STATUS_OK) status = read_head(r, root);
    for (int list = LIST_TAGS; list <= LIST_PLACES && status == STATUS_OK; list++)
        status = read_list(r, root, (enum list)list);
    if (status == STATUS_OK) status = check_places(r);
    if (status != STATUS_OK) return status;
    if (r->card->patches + r->card->places == 0) return FAULT(r->fault, CARD_EMPTY, r->file);
    return STATUS_OK;
}

enum status card_read(const struct bytes *bytes, struct arena *arena, struct photo_card **out,
                      struct fault *fault) {
    json_t *root = NULL;
    const struct reader r = {bytes->name, arena_need(arena, 1, sizeof *r.card), fault};
    enum status status = json_read(bytes, &root, fault);
    if (status == STATUS_OK) status = read_card(&r, root);
    if (status == STATUS_OK) *out = r.card;
    json_decref(root);
    return status;
}
