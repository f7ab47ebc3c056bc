/* A price is a whole number of minor units (cents) for a kilogram: money never passes through a fraction. The
 * currency is a code of three capital letters (ISO 4217). Keys that are not known are named in a note, so
 * that a slip does not pass in silence. */
#include "formats/about_json.h"
#include "formats/json_in.h"
#include "formats/text_in.h"
#include "formats/toner_text.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { KNOWN_MOST = 256 };

static enum status check_head(const json_t *root, const char *kind, const char *file, struct fault *fault) {
    if (!json_is_object(root)) return FAULT(fault, JSON_NOT_OBJECT, file, kind);
    return json_object_get(root, "kind") ? json_check_kind(root, kind, file, fault) : STATUS_OK;
}

static enum toner_role role_of_id(const char *id) {
    if (strcmp(id, "binder") == 0) return ROLE_BINDER;
    if (strcmp(id, "white") == 0) return ROLE_WHITE;
    return strcmp(id, "black") == 0 ? ROLE_BLACK : ROLE_COLOUR;
}

void about_default(struct toner *toner) {
    for (const struct toner_text *text = toner_texts; text->key; text++) toner_text_in(toner, text)[0] = 0;
    snprintf(toner->name, sizeof toner->name, "%s", toner->id);
    toner->role = role_of_id(toner->id);
    toner->density_g_ml = 0;
    toner->price_minor_per_kg = -1;
    toner->solids = 0;
}

/* A text that fits its place, when it is there. */
static enum status read_text(const json_t *object, const char *key, struct json_place place, char *out,
                             size_t room, struct fault *fault) {
    const json_t *value = json_object_get(object, key);
    const char *text;
    if (!value || json_is_null(value)) return STATUS_OK;
    const enum status status = json_get_text(object, key, place, &text, fault);
    if (status != STATUS_OK) return status;
    if (strlen(text) >= room)
        return FAULT(fault, ABOUT_TEXT_LONG, place.file, SHOWN_TEXT(place.path), key,
                     COUNT_TEXT((long long)room - 1));
    memcpy(out, text, strlen(text) + 1);
    return STATUS_OK;
}

static enum status read_role(const json_t *object, struct json_place place, struct toner *toner,
                             struct fault *fault) {
    char role[24] = "";
    const enum status status = read_text(object, "role", place, role, sizeof role, fault);
    if (status != STATUS_OK || role[0] == 0 || toner_role_from_name(role, &toner->role)) return status;
    return FAULT(fault, ABOUT_ROLE, place.file, SHOWN_TEXT(place.path), SHOWN_TEXT(role));
}

static enum status read_price(const json_t *object, struct json_place place, struct toner *toner,
                              struct fault *fault) {
    const json_t *price = json_object_get(object, "price_minor_per_kg");
    if (!price || json_is_null(price)) return STATUS_OK;
    if (!json_is_integer(price) || json_integer_value(price) < 0 ||
        json_integer_value(price) > 1000000000000LL)
        return FAULT(fault, ABOUT_PRICE, place.file, SHOWN_TEXT(place.path));
    toner->price_minor_per_kg = json_integer_value(price);
    return STATUS_OK;
}

static enum status read_toner(const json_t *object, const char *id, const char *file, struct toner *toner,
                              struct fault *fault) {
    char path[80];
    if (!toner_id_is_good(id)) return FAULT(fault, ABOUT_TONER_ID, file, SHOWN_TEXT(id));
    snprintf(path, sizeof path, "toners.%s", id);
    const struct json_place place = {file, path};
    if (!json_is_object(object)) return FAULT(fault, ABOUT_NOT_OBJECT, file, path);
    memcpy(toner->id, id, strlen(id) + 1);
    about_default(toner);
    enum status status = STATUS_OK;
    for (const struct toner_text *text = toner_texts; text->key && status == STATUS_OK; text++)
        status = read_text(object, text->key, place, toner_text_in(toner, text), text->room, fault);
    if (status == STATUS_OK) status = read_role(object, place, toner, fault);
    if (status == STATUS_OK) status = read_price(object, place, toner, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(object, "density_g_ml", 0.3, 10, 0, place, &toner->density_g_ml, fault);
    if (status == STATUS_OK)
        status = json_get_number_or(object, "solids", 0, 1, 0, place, &toner->solids, fault);
    return status;
}

static bool is_known_key(const char *key) {
    static const char *const known[] = {"density_g_ml", "price_minor_per_kg", "role", "solids"};
    for (const struct toner_text *text = toner_texts; text->key; text++)
        if (strcmp(text->key, key) == 0) return true;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(known[i], key) == 0) return true;
    return false;
}

static void list_unknown_keys(json_t *object, const char *id, struct text *list) {
    const char *key;
    json_t *value;
    json_object_foreach(object, key, value) {
        if (!is_known_key(key) && list->length < 250)
            text_format(list, "%s%s.%s", list->length ? ", " : "", id, SHOWN_TEXT(key));
    }
}

static enum status read_currency(const json_t *root, const struct about *about, const char *file,
                                 char currency[4], struct fault *fault) {
    const json_t *value = json_object_get(root, "currency");
    const char *text = json_string_value(value);
    for (size_t i = 0; !text && i < about->count; i++)
        if (about->toner[i].price_minor_per_kg >= 0) return FAULT(fault, ABOUT_CURRENCY, file, "missing");
    if (!value || json_is_null(value)) return STATUS_OK;
    if (!text || strlen(text) != 3 || strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != 3)
        return FAULT(fault, ABOUT_CURRENCY, file, text ? SHOWN_TEXT(text) : "no text");
    memcpy(currency, text, 4);
    return STATUS_OK;
}

static enum status read_toners(json_t *toners, const char *file, struct arena *arena, struct about *out,
                               struct fault *fault) {
    struct text unknown = {0};
    const char *id;
    json_t *object;
    enum status status = STATUS_OK;
    out->toner = arena_need(arena, json_object_size(toners), sizeof *out->toner);
    json_object_foreach(toners, id, object) {
        status = read_toner(object, id, file, &out->toner[out->count++], fault);
        if (status != STATUS_OK) break;
        list_unknown_keys(object, id, &unknown);
    }
    if (status == STATUS_OK && unknown.length) {
        struct fault *note = arena_need(arena, 1, sizeof *note);
        FAULT(note, ABOUT_KEYS, file, unknown.data);
        out->note = note;
        out->note_count = 1;
    }
    text_free(&unknown);
    return status;
}

static enum status read_root(json_t *root, const char *file, struct arena *arena, struct about *out,
                             struct fault *fault) {
    enum status status = check_head(root, "about", file, fault);
    if (status != STATUS_OK) return status;
    json_t *toners = json_object_get(root, "toners");
    if (!json_is_object(toners)) return FAULT(fault, ABOUT_NOT_OBJECT, file, "toners");
    if (json_object_size(toners) > KNOWN_MOST) return FAULT(fault, ABOUT_MANY, file, COUNT_TEXT(KNOWN_MOST));
    status = read_toners(toners, file, arena, out, fault);
    return status == STATUS_OK ? read_currency(root, out, file, out->currency, fault) : status;
}

enum status about_read(const struct bytes *bytes, struct arena *arena, struct about *out,
                       struct fault *fault) {
    json_t *root;
    struct about about = {0};
    enum status status = json_read(bytes, &root, fault);
    if (status != STATUS_OK) return status;
    status = read_root(root, bytes->name, arena, &about, fault);
    json_decref(root);
    if (status == STATUS_OK) *out = about;
    return status;
}

static void copy_label(struct toner *to, const struct toner *from) {
    for (const struct toner_text *text = toner_texts; text->key; text++)
        memcpy(toner_text_in(to, text), toner_text_of(from, text), text->room);
    to->role = from->role;
    to->density_g_ml = from->density_g_ml;
    to->price_minor_per_kg = from->price_minor_per_kg;
    to->solids = from->solids;
}

bool about_apply(const struct about *about, const char *file, struct shelf *shelf, struct fault *note) {
    struct text strangers = {0};
    for (size_t i = 0; i < shelf->count; i++) about_default(&shelf->toner[i]);
    for (size_t i = 0; about && i < about->count; i++) {
        const int at = shelf_find(shelf, about->toner[i].id);
        if (at >= 0)
            copy_label(&shelf->toner[at], &about->toner[i]);
        else if (strangers.length < 250)
            text_format(&strangers, "%s%s", strangers.length ? ", " : "", about->toner[i].id);
    }
    if (about) memcpy(shelf->currency, about->currency, sizeof shelf->currency);
    const bool noted = strangers.length > 0;
    if (noted) FAULT(note, ABOUT_STRANGERS, file, strangers.data);
    text_free(&strangers);
    return noted;
}

/* Stock
 * -------------------------------------------------------------------------------------------------------------------
 */

static enum status read_stock(json_t *stock, const struct shelf *shelf, const char *file, double stock_g[],
                              struct text *strangers, struct fault *fault) {
    const char *id;
    json_t *value;
    json_object_foreach(stock, id, value) {
        double mass_g;
        const enum status status =
            json_get_number(stock, id, 0, 1e6, (struct json_place){file, "stock"}, &mass_g, fault);
        if (status != STATUS_OK) return status;
        const int at = shelf_find(shelf, id);
        if (at >= 0)
            stock_g[at] = mass_g;
        else if (strangers->length < 250)
            text_format(strangers, "%s%s", strangers->length ? ", " : "", SHOWN_TEXT(id));
    }
    return STATUS_OK;
}

enum status stock_read(const struct bytes *bytes, const struct shelf *shelf, double stock_g[], bool *noted,
                       struct fault *note, struct fault *fault) {
    json_t *root;
    struct text strangers = {0};
    for (size_t i = 0; i < shelf->count; i++) stock_g[i] = (double)INFINITY;
    *noted = false;
    enum status status = json_read(bytes, &root, fault);
    if (status == STATUS_OK) status = check_head(root, "stock", bytes->name, fault);
    json_t *stock = json_object_get(root, "stock");
    if (status == STATUS_OK && !json_is_object(stock)) status = FAULT(fault, STOCK_NOT_OBJECT, bytes->name);
    if (status == STATUS_OK) status = read_stock(stock, shelf, bytes->name, stock_g, &strangers, fault);
    *noted = status == STATUS_OK && strangers.length > 0;
    if (*noted) FAULT(note, STOCK_STRANGERS, bytes->name, strangers.data);
    text_free(&strangers);
    json_decref(root);
    return status;
}
