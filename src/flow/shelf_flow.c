/* russet shelf show|keep|receive|count|sheet: the toners as the shop owns them. */
#include "flow/job_json.h"
#include "flow/place.h"
#include "flow/pricing.h"
#include "flow/shop_place.h"
#include "formats/json_in.h"
#include "formats/shelf_json.h"
#include "shop/document.h"
#include "shop/toner_store.h"
#include <math.h>
#include <string.h>

extern operation_flow shelf_toners_flow, shelf_show_flow, shelf_keep_flow, shelf_receive_flow,
    shelf_count_flow, shelf_sheet_flow;

enum { DAYS_BEFORE_EXPIRY = 60 };

/* ---- show ---- */

/* The day on the bottle is its last good one. */
static void note_lot(struct book *book, const struct lot_row *lot, json_t *reply) {
    struct fault note;
    char today[WALL_DAY_TEXT], soon[WALL_DAY_TEXT];
    if (lot->expires_day && strcmp(lot->expires_day, book_day(book, 0, today)) < 0) {
        FAULT(&note, SHELF_EXPIRED, lot->toner, lot->name, lot->expires_day);
        json_add_note(reply, &note);
    } else if (lot->expires_day && strcmp(lot->expires_day, book_day(book, DAYS_BEFORE_EXPIRY, soon)) < 0) {
        FAULT(&note, SHELF_EXPIRES, lot->toner, lot->name, lot->expires_day);
        json_add_note(reply, &note);
    }
    if (strcmp(lot->frost, "yes") == 0) {
        FAULT(&note, SHELF_FROZEN, lot->toner, lot->name);
        json_add_note(reply, &note);
    }
}

static json_t *lot_json(const struct lot_row *lot) {
    json_t *object = json_object();
    json_put_text(object, "id", lot->id);
    json_put_text(object, "name", lot->name);
    json_put_number(object, "left_g", (double)lot->stock_mg / 1000, 2);
    json_put_text(object, "received", lot->received_day);
    json_put_text(object, "expires", lot->expires_day);
    json_put_text(object, "frost", lot->frost);
    json_put_flag(object, "used_up", lot->used_up);
    json_put(object, "price_minor_per_kg",
             lot->price_minor_per_kg < 0 ? json_null() : json_integer(lot->price_minor_per_kg));
    json_put_text(object, "currency", lot->currency);
    return object;
}

/* What the fit knows of a toner: films, how far off they are, how sure its strength is. */
static void put_fit(const json_t *document, const char *id, json_t *object) {
    const json_t *fit = json_object_get(json_object_get(json_object_get(document, "fit"), "toners"), id),
                 *toner = json_object_get(json_object_get(document, "toners"), id);
    static const char *const from_fit[][2] = {{"films", "films"}, {"de00_mean", "fit_de00"}};
    for (size_t i = 0; i < 2; i++) {
        json_t *value = json_object_get(fit, from_fit[i][0]);
        json_put(object, from_fit[i][1], value ? json_incref(value) : json_null());
    }
    json_t *sd = json_object_get(toner, "strength_sd");
    json_put(object, "strength_sd", sd ? json_incref(sd) : json_null());
}

static enum status put_toner(struct book *book, const struct toner_row *toner, const json_t *document,
                             struct arena *arena, json_t *reply, json_t *list, struct fault *fault) {
    struct lot_row *lot;
    struct safety_sheet *sheet;
    size_t lots, sheets;
    enum status status = toner_store_lots(book, toner->id, arena, &lot, &lots, fault);
    if (status == STATUS_OK) status = toner_store_sheets(book, toner->id, arena, &sheet, &sheets, fault);
    if (status != STATUS_OK) return status;
    json_t *object = json_object(), *of = json_array();
    json_put_text(object, "id", toner->id);
    json_put_text(object, "name", toner->name);
    json_put_text(object, "role", toner->role);
    if (toner->density_g_ml > 0)
        json_put_number(object, "density_g_ml", toner->density_g_ml, 3);
    else
        json_put_null(object, "density_g_ml");
    put_fit(document, toner->id, object);
    json_put_number(object, "left_g", (double)toner->stock_mg / 1000, 2);
    json_put_number(object, "warn_g", (double)toner->warn_mg / 1000, 2);
    json_put_text(object, "safety_sheet", sheets ? sheet[0].sha256 : NULL);
    for (size_t i = 0; i < lots; i++) {
        json_array_append_new(of, lot_json(&lot[i]));
        if (!lot[i].used_up) note_lot(book, &lot[i], reply);
    }
    json_put(object, "lots", of);
    json_array_append_new(list, object);
    if (toner->warn_mg > 0 && toner->stock_mg < toner->warn_mg) {
        struct fault note;
        FAULT(&note, SHELF_LOW, toner->id, NUMBER_TEXT((double)toner->stock_mg / 1000),
              NUMBER_TEXT((double)toner->warn_mg / 1000));
        json_add_note(reply, &note);
    }
    return STATUS_OK;
}

static enum status put_shelf(struct book *book, bool whole, struct arena *arena, json_t *reply,
                             json_t **document, struct fault *fault) {
    struct shelf_entry kept;
    bool found;
    const enum status status = toner_store_last(book, "toners", arena, &kept, &found, fault);
    if (status != STATUS_OK) return status;
    if (found && document_read(kept.document, document, NULL) != STATUS_OK) *document = NULL;
    json_t *films = json_object_get(json_object_get(*document, "fit"), "films");
    json_put(reply, "films", films ? json_incref(films) : json_null());
    json_put_text(reply, "shelf_words", found ? kept.words : NULL);
    json_put_local(book, reply, "shelf_at_local", found ? kept.at_ms : 0);
    json_put_text(reply, "shelf", found ? kept.id : NULL);
    json_put_time(reply, "shelf_at", found ? kept.at_ms : 0);
    if (whole) json_put_document(reply, "toners_document", found ? kept.document : NULL);
    return STATUS_OK;
}

static enum status put_drawdowns(struct book *book, struct arena *arena, json_t *reply, struct fault *fault) {
    struct shelf_entry kept;
    bool found;
    const enum status status = toner_store_last(book, "drawdowns", arena, &kept, &found, fault);
    if (status != STATUS_OK) return status;
    json_t *document = NULL;
    if (found && document_read(kept.document, &document, NULL) != STATUS_OK) document = NULL;
    json_put_text(reply, "drawdowns", json_string_value(json_object_get(document, "file")));
    json_put_local(book, reply, "drawdowns_at_local", found ? kept.at_ms : 0);
    json_decref(document);
    return STATUS_OK;
}

static enum status show(struct book *book, bool whole, struct arena *arena, json_t *reply,
                        struct fault *fault) {
    struct toner_row *toner;
    size_t count = 0;
    json_t *list = json_array(), *document = NULL;
    enum status status = put_shelf(book, whole, arena, reply, &document, fault);
    if (status == STATUS_OK) status = put_drawdowns(book, arena, reply, fault);
    if (status == STATUS_OK) status = toner_store_list(book, arena, &toner, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        status = put_toner(book, &toner[i], document, arena, reply, list, fault);
    json_decref(document);
    json_put(reply, "toners", list);
    return status;
}

enum status shelf_show_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    struct book *book;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("shelf");
    status = show(book, request_flag(request, "--toners"), around->arena, *reply, fault);
    book_close(book);
    return status;
}

enum status shelf_toners_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct book *book;
    struct shelf_entry kept;
    bool found;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = toner_store_last(book, "toners", around->arena, &kept, &found, fault);
    if (status == STATUS_OK && !found) status = FAULT0(fault, SHELF_NONE_KEPT);
    if (status == STATUS_OK) status = document_read(kept.document, reply, fault);
    book_close(book);
    return status;
}

/* ---- keep ---- */

static enum status put_known_toner(struct book *book, const struct toner *toner, struct arena *arena,
                                   struct fault *fault) {
    struct toner_row row, before;
    const bool known = toner_store_get(book, toner->id, arena, &before, NULL) == STATUS_OK;
    row = (struct toner_row){.id = toner->id,
                             .name = toner->name,
                             .role = toner_role_name(toner->role),
                             .density_g_ml = toner->density_g_ml > 0 ? toner->density_g_ml : (double)NAN,
                             .warn_mg = known ? before.warn_mg : 0,
                             .words = known ? before.words : "",
                             .about = known ? before.about : "{}"};
    return toner_store_put(book, &row, fault);
}

static enum status keep(struct book *book, const struct request *request, const struct shelf *shelf,
                        const char *document, struct arena *arena, struct fault *fault) {
    struct shelf_entry entry = {
        .kind = "toners", .document = document, .words = request_text(request, "--words")};
    if (!entry.words) entry.words = "";
    enum status status = toner_store_log(book, &entry, fault);
    for (size_t i = 0; i < shelf->count && status == STATUS_OK; i++)
        status = put_known_toner(book, &shelf->toner[i], arena, fault);
    return status;
}

static enum status change_book(const struct surroundings *around, const struct request *request,
                               enum status (*change)(struct book *, const struct surroundings *,
                                                     const struct request *, const char **toner,
                                                     struct fault *),
                               json_t **reply, struct fault *fault) {
    struct book *book;
    enum status status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    status = book_begin(book, fault);
    const char *changed = NULL;
    if (status == STATUS_OK) status = book_end(book, change(book, around, request, &changed, fault), fault);
    if (status == STATUS_OK) status = show(book, false, around->arena, *reply = json_start("shelf"), fault);
    if (status == STATUS_OK) json_put_text(*reply, "changed", changed); /* NULL: the whole shelf */
    book_close(book);
    return status;
}

static enum status keep_change(struct book *book, const struct surroundings *around,
                               const struct request *request, const char **changed, struct fault *fault) {
    struct shelf shelf;
    struct bytes bytes;
    json_t *document = NULL;
    const char *file = request_text(request, "TONERS");
    enum status status = disk_read(around->disk, file, DISK_TEXT_MIB, around->arena, &bytes, fault);
    if (status == STATUS_OK) status = shelf_read(&bytes, around->arena, &shelf, fault);
    if (status == STATUS_OK) status = json_read(&bytes, &document, fault);
    if (status == STATUS_OK)
        status = keep(book, request, &shelf, document_text(document, around->arena), around->arena, fault);
    json_decref(document);
    *changed = NULL;
    return status;
}

enum status shelf_keep_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                            struct fault *fault) {
    return change_book(around, request, keep_change, reply, fault);
}

/* ---- receive, count, sheet ---- */

static enum status set_warning(struct book *book, const struct request *request, struct toner_row *toner,
                               struct fault *fault) {
    if (!request_has(request, "--warn-g")) return STATUS_OK;
    toner->warn_mg = llround(1000 * request_number(request, "--warn-g", 0));
    return toner_store_put(book, toner, fault);
}

/* A kilogram's price in the currency that is said, else in the shop's; minor -1 when none was said. */
static enum status read_price(struct book *book, const struct request *request, struct arena *arena,
                              struct money *out, struct fault *fault) {
    const char *text = request_text(request, "--price"), *currency = request_text(request, "--currency");
    struct pricing pricing;
    if (!text && !currency) return STATUS_OK;
    if (!text) return FAULT0(fault, SHELF_PRICE_CURRENCY);
    if (!currency && pricing_read(book, arena, &pricing, NULL) == STATUS_OK)
        currency = arena_text(arena, pricing.currency, strlen(pricing.currency));
    if (!currency) return FAULT0(fault, SHELF_PRICE_CURRENCY);
    if (money_exponent(currency) < 0) return FAULT(fault, SHELF_LOT_CURRENCY, currency);
    const enum status status = money_read("--price", text, currency, out, fault);
    if (status == STATUS_OK && out->minor < 0) return FAULT(fault, QUOTE_RATE, "price", "0 or more");
    return status;
}

static enum status receive_change(struct book *book, const struct surroundings *around,
                                  const struct request *request, const char **changed, struct fault *fault) {
    struct toner_row toner;
    char today[WALL_DAY_TEXT];
    struct money price = {.minor = -1};
    enum status status = read_price(book, request, around->arena, &price, fault);
    if (status != STATUS_OK) return status;
    struct lot_row lot = {.toner = request_text(request, "TONER"),
                          .name = request_text(request, "--lot"),
                          .received_day = book_day(book, 0, today),
                          .expires_day = request_text(request, "--expires"),
                          .price_minor_per_kg = price.minor,
                          .currency = price.minor < 0 ? NULL : price.currency,
                          .frost = request_text(request, "--frost"),
                          .words = "",
                          .about = "{}"};
    status = shop_day_check("--expires", lot.expires_day, fault);
    if (status == STATUS_OK) status = toner_store_get(book, lot.toner, around->arena, &toner, fault);
    *changed = lot.toner;
    if (status == STATUS_OK) status = set_warning(book, request, &toner, fault);
    if (status == STATUS_OK) status = toner_store_add_lot(book, &lot, fault);
    struct stock_move move = {.lot = lot.id,
                              .mg = llround(1000 * request_number(request, "--g", 0)),
                              .reason = "received",
                              .words = ""};
    return status == STATUS_OK ? toner_store_move(book, &move, fault) : status;
}

enum status shelf_receive_flow(const struct surroundings *around, const struct request *request,
                               json_t **reply, struct fault *fault) {
    return change_book(around, request, receive_change, reply, fault);
}

static enum status count_change(struct book *book, const struct surroundings *around,
                                const struct request *request, const char **changed, struct fault *fault) {
    struct lot_row lot;
    enum status status = toner_store_find_lot(book, request_text(request, "LOT"), around->arena, &lot, fault);
    if (status != STATUS_OK) return status;
    const long long now_mg = llround(1000 * request_number(request, "--g", 0));
    struct stock_move move = {
        .lot = lot.id, .mg = now_mg - lot.stock_mg, .reason = request_text(request, "--reason"), .words = ""};
    if (move.mg != 0) status = toner_store_move(book, &move, fault);
    lot.used_up = now_mg == 0;
    *changed = lot.toner;
    return status == STATUS_OK ? toner_store_change_lot(book, &lot, fault) : status;
}

enum status shelf_count_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    return change_book(around, request, count_change, reply, fault);
}

static enum status sheet_change(struct book *book, const struct surroundings *around,
                                const struct request *request, const char **changed, struct fault *fault) {
    char sha256[SHA256_TEXT];
    const char *file = request_text(request, "FILE"), *slash = strrchr(file, '/');
    struct safety_sheet sheet = {.toner = request_text(request, "TONER"),
                                 .sha256 = sha256,
                                 .name = slash ? slash + 1 : file,
                                 .issued_day = request_text(request, "--issued")};
    struct toner_row toner;
    *changed = sheet.toner;
    enum status status = shop_day_check("--issued", sheet.issued_day, fault);
    if (status == STATUS_OK) status = toner_store_get(book, sheet.toner, around->arena, &toner, fault);
    if (status == STATUS_OK) status = photographs_keep_from(book, around->disk, file, sha256, fault);
    return status == STATUS_OK ? toner_store_add_sheet(book, &sheet, fault) : status;
}

enum status shelf_sheet_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    return change_book(around, request, sheet_change, reply, fault);
}
