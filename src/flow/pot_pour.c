#include "flow/pot_pour.h"
#include "flow/pot_json.h"
#include "formats/json_out.h"
#include "shop/lot_choice.h"
#include <math.h>
#include <string.h>

static void warn_when_low(struct pot_desk *desk, const char *toner) {
    struct toner_row row;
    if (toner_store_get(desk->book, toner, desk->arena, &row, NULL) != STATUS_OK) return;
    if (row.warn_mg <= 0 || row.stock_mg >= row.warn_mg) return;
    json_t *low = json_object();
    json_put_text(low, "toner", toner);
    json_put_number(low, "left_g", (double)row.stock_mg / 1000, 2);
    json_array_append_new(desk->low, low);
}

static enum status pour_from(struct pot_desk *desk, const char *pot, const char *toner,
                             const struct lot_share *share, struct fault *fault) {
    struct fault note;
    struct pour_row row = {
        .pot = pot, .toner = toner, .lot = share->lot.id, .mg = share->mg, .entry = desk->entry};
    const enum status status = pot_store_pour(desk->book, &row, fault);
    if (status != STATUS_OK) return status;
    if (share->expired) {
        FAULT(&note, POUR_LOT_EXPIRED, toner, share->lot.name, share->lot.expires_day);
        json_add_note(desk->said, &note);
    }
    if (share->frozen) {
        FAULT(&note, POUR_LOT_FROZEN, toner, share->lot.name);
        json_add_note(desk->said, &note);
    }
    return status;
}

static void say_short(struct pot_desk *desk, const char *toner, long long mg, long long short_mg) {
    struct fault note;
    FAULT(&note, POUR_LOTS_SHORT, NUMBER_TEXT((double)mg / 1000), toner,
          NUMBER_TEXT((double)(mg - short_mg) / 1000), NUMBER_TEXT((double)short_mg / 1000));
    json_add_note(desk->said, &note);
}

static enum status pour_one(struct pot_desk *desk, const char *pot, const char *toner, long long mg,
                            struct fault *fault) {
    struct lot_choice choice;
    enum status status = lot_choose(desk->book, toner, mg, desk->arena, &choice, fault);
    for (size_t i = 0; i < choice.count && status == STATUS_OK; i++)
        status = pour_from(desk, pot, toner, &choice.share[i], fault);
    if (status != STATUS_OK || choice.short_mg == 0) return status;
    if (choice.any) say_short(desk, toner, mg, choice.short_mg);
    struct pour_row row = {.pot = pot, .toner = toner, .mg = choice.short_mg, .entry = desk->entry};
    return pot_store_pour(desk->book, &row, fault);
}

enum status pot_pour_list(struct pot_desk *desk, const char *pot, const json_t *list, struct fault *fault) {
    enum status status = STATUS_OK;
    for (size_t i = 0; i < json_array_size(list) && status == STATUS_OK; i++) {
        const json_t *item = json_array_get(list, i);
        const char *toner = json_string_value(json_object_get(item, "toner"));
        const double g = json_number_value(json_object_get(item, "g"));
        if (!toner || !isfinite(g) || g >= 1e6 || llround(1000 * g) <= 0) continue;
        status = pour_one(desk, pot, toner, llround(1000 * g), fault);
        if (status == STATUS_OK) warn_when_low(desk, toner);
    }
    return status;
}

/* A correction that is put right was not poured so. */
static enum status take_back_added(struct pot_desk *desk, const char *replaced, struct fault *fault) {
    const char *id;
    long long mg;
    struct pot_row pot;
    struct fault note;
    enum status status = pot_store_added(desk->book, replaced, desk->arena, &id, &mg, fault);
    if (status != STATUS_OK || !id) return status;
    status = pot_store_take_back_added(desk->book, replaced, id, fault);
    if (status == STATUS_OK) status = pot_store_get(desk->book, id, desk->arena, &pot, fault);
    if (status != STATUS_OK) return status;
    FAULT(&note, POT_ADDED_BACK, NUMBER_TEXT((double)mg / 1000), pot_label(&pot, desk->arena),
          NUMBER_TEXT((double)pot.poured_mg / 1000));
    json_add_note(desk->said, &note);
    return status;
}

enum status pot_take_back(struct pot_desk *desk, const char *replaced, struct pot_row *old,
                          struct fault *fault) {
    bool found;
    long long mg;
    struct fault note;
    enum status status = pot_store_of_entry(desk->book, replaced, desk->arena, old, &found, fault);
    if (status == STATUS_OK && !found) status = take_back_added(desk, replaced, fault);
    if (status != STATUS_OK || !found) return old->id[0] = 0, status;
    status = pot_store_take_back(desk->book, old->id, &mg, fault);
    if (status != STATUS_OK) return status;
    FAULT(&note, POT_TAKEN_BACK, pot_label(old, desk->arena), NUMBER_TEXT((double)mg / 1000));
    json_add_note(desk->said, &note);
    return status;
}

static enum status carry_events(struct pot_desk *desk, const struct pot_row *old, const char *pot,
                                struct fault *fault) {
    struct pot_event *event;
    size_t count;
    enum status status = pot_store_events(desk->book, old->id, desk->arena, &event, &count, fault);
    for (size_t i = 0; i < count && status == STATUS_OK; i++) {
        struct pot_event same = event[i];
        same.id[0] = 0;
        same.pot = pot;
        status = pot_store_log(desk->book, &same, fault);
    }
    return status;
}

enum status pot_carry(struct pot_desk *desk, const struct pot_row *old, const char *pot, bool *added,
                      struct fault *fault) {
    struct pour_row *pour;
    size_t count;
    enum status status = pot_store_pours(desk->book, old->id, desk->arena, &pour, &count, fault);
    *added = false;
    for (size_t i = pot_first_pours(old, pour, count); i < count && status == STATUS_OK; i++) {
        struct pour_row same = pour[i];
        same.id[0] = 0;
        same.at_ms = 0;
        same.pot = pot;
        *added = true;
        status = pot_store_pour(desk->book, &same, fault);
    }
    return status == STATUS_OK ? carry_events(desk, old, pot, fault) : status;
}

enum status pot_is_there(const struct pot_row *pot, struct fault *fault) {
    if (pot->taken_back) return FAULT(fault, POT_WAS_TAKEN_BACK, pot->taken_back);
    return pot->emptied ? FAULT0(fault, POT_WAS_EMPTIED) : STATUS_OK;
}
