/* The correction as a sheet beside the scale, and the ring as a card for its dabs. */
#include "base/memory.h"
#include "flow/colour_of_reply.h"
#include "flow/papers.h"
#include "flow/pot_flow.h"
#include "flow/say.h"
#include "report/pour_sheet.h"
#include "report/ring_sheet.h"
#include "trade/cautions.h"
#include <math.h>
#include <string.h>

static size_t fill_cautions(const json_t *reply, const char *caution[], size_t most) {
    enum word words[CAUTIONS_MOST];
    const struct pour_work work = {.thinned = false, .crosslinker = CROSSLINKER_NONE};
    size_t n = 0;
    const json_t *notes = json_object_get(reply, "notes");
    for (size_t i = 0; i < json_array_size(notes) && n < most; i++)
        caution[n++] = say_string(json_array_get(notes, i), "text");
    const size_t count = cautions_of_pour(&work, words);
    for (size_t i = 0; i < count && n < most; i++) caution[n++] = word_sentence(words[i]);
    return n;
}

static enum status draw_correction(const json_t *reply, struct text *out, struct fault *fault) {
    struct fault subtitle;
    char left[32], total[32];
    const double step = say_number(reply, "scale_step_g");
    const int digits = scale_decimals(step);
    snprintf(left, sizeof left, "%.*f", digits, say_number(reply, "remains_g"));
    snprintf(total, sizeof total, "%.*f", digits, say_number(reply, "total_g"));
    FAULT(&subtitle, SHEET_CORRECTION_SUB, left, total);
    struct pour_sheet sheet = {.title = word_sentence(WORD_SHEET_CORRECTION),
                               .subtitle = subtitle.text,
                               .kind = word_sentence(WORD_SHEET_CORRECTION_KIND),
                               .total = word_sentence(WORD_SHEET_CORRECTION_ADD),
                               .second = word_sentence(WORD_SHEET_CORRECTED),
                               .decimals = digits,
                               .qr = ""};
    const json_t *additions = json_object_get(reply, "additions");
    double reading = 0;
    for (size_t i = 0; i < json_array_size(additions) && i < SHEET_STEPS_MOST; i++) {
        const json_t *entry = json_array_get(additions, i);
        const double g = say_number(entry, "g"), window = say_number(entry, "window_g");
        reading += g;
        sheet.step[sheet.step_count++] =
            (struct sheet_step){say_string(entry, "name"), "", g, reading, window, window};
    }
    sheet.total_g = reading;
    sheet.has_target = true;
    sheet.target_lab = lab_of_reply(json_object_get(reply, "target_lab"));
    sheet.predicted_lab = lab_of_reply(json_object_get(reply, "lab_after"));
    sheet.has_target_curve = json_is_array(json_object_get(reply, "target_reflectance"));
    spectrum_of_reply(json_object_get(reply, "target_reflectance"), &sheet.target);
    spectrum_of_reply(json_object_get(reply, "reflectance_after"), &sheet.predicted);
    sheet.de00 = say_number(reply, "de00_after");
    sheet.caution_count = fill_cautions(reply, sheet.caution, SHEET_CAUTIONS_MOST);
    return pour_sheet_draw(&sheet, PAGE_PDF, out, fault);
}

static void fill_dab(const json_t *dab, int digits, struct ring_sheet_dab *out) {
    const json_t *additions = json_object_get(dab, "additions");
    out->says = say_string(dab, "says");
    out->lab = lab_of_reply(json_object_get(dab, "lab"));
    for (size_t k = 0; k < json_array_size(additions) && k < RING_SHEET_ADDS; k++) {
        struct ring_sheet_add *add = &out->add[out->adds++];
        snprintf(add->grams, sizeof add->grams, "%.*f g", digits,
                 say_number(json_array_get(additions, k), "g"));
        const json_t *entry = json_array_get(additions, k);
        snprintf(add->name, sizeof add->name, "%s%s", say_string(entry, "toner"), /* short: no name is cut */
                 say_number(entry, "fraction") < 1 ? " let down" : "");
    }
}

/* What is stirred first, then what is done with the dabs. */
static void how_of_ring(const json_t *reply, struct text *out) {
    const json_t *list = json_object_get(reply, "let_downs");
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i);
        text_format(out, "%s, %s: %.4g g into %.4g g %s. ", say_string(one, "toner"),
                    word_sentence(WORD_NOTE_LET_DOWN), say_number(one, "toner_g"),
                    say_number(one, "binder_g"), say_string(one, "binder"));
    }
    text_add(out, word_sentence(WORD_SHEET_RING_HOW));
}

static enum status draw_ring(const json_t *reply, struct text *out, struct fault *fault) {
    struct text how = {0};
    how_of_ring(reply, &how);
    struct ring_sheet sheet = {.title = word_sentence(WORD_SHEET_RING), .how = how.data};
    struct fault subtitle;
    char each[32], all[32], step[32];
    const json_t *dabs = json_object_get(reply, "dabs");
    const double step_g = say_number(reply, "scale_step_g");
    snprintf(each, sizeof each, "%.2f", say_number(json_array_get(dabs, 0), "pot_g"));
    snprintf(all, sizeof all, "%.1f", say_number(reply, "spends_g"));
    snprintf(step, sizeof step, "%g", step_g);
    FAULT(&subtitle, SHEET_RING_SUB, each, all, step);
    sheet.subtitle = subtitle.text;
    for (size_t i = 0; i < json_array_size(dabs) && i < RING_SHEET_DABS; i++)
        fill_dab(json_array_get(dabs, i), scale_decimals(step_g), &sheet.dab[sheet.count++]);
    const enum status status = ring_sheet_draw(&sheet, PAGE_PDF, out, fault);
    text_free(&how);
    return status;
}

enum status adjust_paper(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    (void)paper; /* PDF is the only one in the table */
    return strcmp(say_string(reply, "kind"), "ring") == 0 ? draw_ring(reply, out, fault)
                                                          : draw_correction(reply, out, fault);
}
