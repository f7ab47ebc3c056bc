#include "flow/operation.h"
#include "flow/papers.h"
#include "flow/say.h"
#include "report/coat_card.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static double at(const json_t *array, size_t i) {
    return json_number_value(json_array_get(array, i));
}

static void fill_gun(const json_t *reply, struct coat_card *card) {
    const json_t *gun = json_object_get(reply, "gun"), *distance = json_object_get(gun, "distance_mm");
    card->has_gun = gun != NULL;
    card->speed_m_s = say_number(gun, "speed_m_s");
    card->stroke_s = say_number(gun, "stroke_s");
    card->step_mm = say_number(gun, "step_mm");
    card->strokes = gun ? (unsigned)say_number(gun, "strokes") : 0;
    card->flow_ml_min = say_number(gun, "flow_ml_min");
    card->fan_mm = say_number(gun, "fan_mm");
    card->overlap = say_number(gun, "overlap");
    card->distance_low_mm = at(distance, 0);
    card->distance_high_mm = at(distance, 1);
}

static void fill_rows(const json_t *reply, struct coat_card *card) {
    const json_t *plan = json_object_get(reply, "plan");
    const double hides_at = say_number(reply, "hides_at_coat");
    for (size_t i = 0; i < json_array_size(plan) && i < COAT_CARD_ROWS_MOST; i++) {
        const json_t *coat = json_array_get(plan, i), *pot = json_object_get(coat, "pot");
        card->row[card->row_count++] = (struct coat_card_row){
            say_number(coat, "start_s"),          say_number(coat, "flash_s"),
            say_number(coat, "film_um"),          say_string(coat, "start"),
            say_number(coat, "coat") == hides_at, pot ? (unsigned)json_integer_value(pot) : 0};
    }
}

/* Notes about assumptions stay on the screen; the card has room for what the hands must do. */
/* What stands on the card already, in its head or among the cautions, is no note. */
static bool is_for_the_card(const char *id) {
    static const char *const left_out[] = {"amount-common-practice", "amount-density-assumed",
                                           "pot-never-sealed", "coats-wait"};
    for (size_t i = 0; i < sizeof left_out / sizeof left_out[0]; i++)
        if (strcmp(id, left_out[i]) == 0) return false;
    return true;
}

static void fill_notes(const json_t *reply, struct coat_card *card) {
    const json_t *notes = json_object_get(reply, "notes");
    for (size_t i = 0; i < json_array_size(notes) && card->note_count < COAT_CARD_NOTES_MOST; i++) {
        const json_t *note = json_array_get(notes, i);
        if (is_for_the_card(say_string(note, "id")))
            card->note[card->note_count++] = say_string(note, "text");
    }
}

static void fill_cautions(struct coat_card *card) {
    if (!isnan(card->pot_life_s))
        card->caution[card->caution_count++] = word_sentence(WORD_CAUTION_CROSSLINKER);
    const enum word always[] = {WORD_CAUTION_SPRAY_MIST, WORD_CAUTION_IGNITION, WORD_CAUTION_SANDING,
                                WORD_CAUTION_WARMTH,     WORD_CAUTION_AIRBAG,   WORD_CAUTION_SHEETS_FIRST};
    for (size_t i = card->has_gun ? 0 : 1; i < sizeof always / sizeof always[0]; i++)
        card->caution[card->caution_count++] = word_sentence(always[i]);
}

static enum page_kind kind_of(enum paper paper) {
    return paper == PAPER_SVG ? PAGE_SVG : paper == PAPER_PNG ? PAGE_PNG : PAGE_PDF;
}

enum status coat_card_paper(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    char subtitle[160];
    const char *title = say_string(reply, "title"), *by = say_string(reply, "by");
    snprintf(subtitle, sizeof subtitle, "%g m\u00b2%s%s, %.0f \u00b5m dry", say_number(reply, "area_m2"),
             *by ? " by " : "", by, say_number(reply, "film_um"));
    struct coat_card card = {.title = *title ? title : word_sentence(WORD_CARD_UNTITLED),
                             .subtitle = subtitle,
                             .total_ml = say_number(reply, "wet_ml"),
                             .coat_ml = say_number(reply, "coat_ml"),
                             .wet_um = say_number(reply, "wet_um"),
                             .dry_um = say_number(reply, "dry_um"),
                             .first_pot_ends = say_string(reply, "first_pot_ends"),
                             .pot_life_s = say_number(reply, "pot_life_s")};
    const json_t *air = json_object_get(reply, "air");
    card.has_air = air != NULL;
    card.air_go = json_is_true(json_object_get(air, "go"));
    card.margin_k = say_number(air, "margin_k");
    card.drying_index = say_number(air, "drying_index");
    fill_gun(reply, &card);
    fill_rows(reply, &card);
    fill_notes(reply, &card);
    fill_cautions(&card);
    return coat_card_draw(&card, kind_of(paper), out, fault);
}
