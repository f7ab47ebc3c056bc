/* russet toners start: Colour Index names or families -> kind `toners`: the shelf as shelf_put writes it,
 * every toner with its prior; "unit": the assumption that turned the table's relative unit into films. */
#include "flow/operation.h"
#include "flow/say.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/pigment.h"
#include <stdint.h>
#include <stdio.h>
#include <string.h>

extern operation_flow toners_start_flow;
extern operation_say toners_start_say;

enum { FAMILIES_ROOM = 600 };

/* "white=PW6" */
static enum status read_entry(const struct surroundings *around, const char *entry, size_t n,
                              struct shelf *shelf, struct fault *fault) {
    const char *text = arena_text(around->arena, entry, n), *equals = strchr(text, '=');
    char families[FAMILIES_ROOM], bad[48];
    if (!equals || equals == text || equals[1] == 0) return FAULT(fault, START_NOT_PAIR, text);
    const char *id = arena_text(around->arena, text, (size_t)(equals - text));
    if (!toner_id_is_good(id)) return FAULT(fault, START_ID, id);
    if (shelf_find(shelf, id) >= 0) return FAULT(fault, START_TWICE, id);
    if (shelf->count == SHELF_MOST) return FAULT(fault, START_MANY, COUNT_TEXT(SHELF_MOST));
    struct toner *toner = &shelf->toner[shelf->count];
    pigment_families(families, sizeof families);
    if (!pigment_blend(equals + 1, toner->k, toner->s, &toner->prior, &toner->role, bad))
        return FAULT(fault, START_PIGMENT, id, bad, families);
    snprintf(toner->id, sizeof toner->id, "%s", id);
    snprintf(toner->name, sizeof toner->name, "%s", id);
    toner->price_minor_per_kg = -1;
    toner->strength_sd = toner->prior.strength_sd;
    shelf->count++;
    return STATUS_OK;
}

static void add_notes(json_t *reply, const struct shelf *shelf) {
    struct text invented = {0};
    struct fault note;
    bool white = false;
    for (size_t i = 0; i < shelf->count; i++) {
        white = white || shelf->toner[i].role == ROLE_WHITE;
        if (shelf->toner[i].prior.invented)
            text_format(&invented, "%s%s", invented.length ? ", " : "", shelf->toner[i].id);
    }
    if (invented.length) FAULT(&note, START_INVENTED, invented.data), json_add_note(reply, &note);
    if (!white) FAULT0(&note, START_NO_WHITE), json_add_note(reply, &note);
    FAULT0(&note, START_NEXT), json_add_note(reply, &note);
    text_free(&invented);
}

enum status toners_start_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct shelf shelf = {.toner = arena_need(around->arena, SHELF_MOST, sizeof *shelf.toner)};
    for (const char *at = request_text(request, "--index"); at;) {
        const char *comma = strchr(at, ',');
        const size_t n = comma ? (size_t)(comma - at) : strlen(at);
        const enum status status = read_entry(around, at, n, &shelf, fault);
        if (status != STATUS_OK) return status;
        at = comma ? comma + 1 : NULL;
    }
    pigment_shelf(&shelf);
    *reply = json_start("toners");
    shelf_put(*reply, &shelf);
    json_t *unit = json_object();
    json_put_text(unit, "source", word_sentence(WORD_START_SOURCE));
    json_put_number(unit, "white_s_per_um", PIGMENT_WHITE_S_PER_UM, DIGITS_LAB);
    json_put(*reply, "unit", unit);
    add_notes(*reply, &shelf);
    return STATUS_OK;
}

void toners_start_say(const json_t *reply, struct text *out) {
    const json_t *toners = json_object_get(reply, "toners");
    const char *id;
    json_t *toner;
    text_format(out, "%zu toners started without a measurement\n", json_object_size(toners));
    text_format(out, "  %-20s %-8s %-9s %-7s %s\n", "toner", "role", "strength", "shape", "from");
    json_object_foreach((json_t *)(uintptr_t)toners, id, toner) {
        const json_t *prior = json_object_get(toner, "prior");
        char strength[24], shape[24];
        snprintf(strength, sizeof strength, "x/: %.1f", 1 + say_number(prior, "strength_sd") / .69);
        snprintf(shape, sizeof shape, "%.0f %%", 100 * say_number(prior, "shape_sd"));
        text_format(out, "  %-20s %-8s %-9s %-7s %s%s\n", id, say_string(toner, "role"), strength, shape,
                    say_string(prior, "source"),
                    json_is_true(json_object_get(prior, "invented")) ? "  (invented curve)" : "");
    }
    say_notes(reply, out);
}
