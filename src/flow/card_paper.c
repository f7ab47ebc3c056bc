/* The reply of `card` on paper: reads the card back out of its own JSON. */
#include "flow/papers.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "report/card_sheet.h"
#include <stdio.h>
#include <string.h>

enum { STEPS_MOST = 8 };

static const enum word steps_of[][STEPS_MOST] = {
    [LOOK_OWN] = {WORD_CARD_STEP_PRINT, WORD_CARD_STEP_OWN_SPRAY, WORD_CARD_STEP_OWN_GLUE,
                  WORD_CARD_STEP_OWN_TRAP, WORD_CARD_STEP_OWN_MEASURE},
    [LOOK_FRAME] = {WORD_CARD_STEP_PRINT, WORD_CARD_STEP_FRAME_CUT, WORD_CARD_STEP_FRAME_LAY,
                    WORD_CARD_STEP_PHOTO},
    [LOOK_CHART] = {WORD_CARD_STEP_PRINT, WORD_CARD_STEP_FRAME_CUT, WORD_CARD_STEP_CHART_LAY,
                    WORD_CARD_STEP_PHOTO},
    [LOOK_START] = {WORD_CARD_STEP_PRINT, WORD_CARD_STEP_START_MIX, WORD_CARD_STEP_START_DAB,
                    WORD_CARD_STEP_START_PHOTO, WORD_CARD_STEP_START_SPOT, WORD_CARD_STEP_START_EXPECT},
    [LOOK_OTHER] = {WORD_CARD_STEP_PRINT, WORD_CARD_STEP_PHOTO},
};

/* Who works on the page gives no commands. */
static const enum word start_on_page[STEPS_MOST] = {
    WORD_CARD_STEP_PRINT,           WORD_CARD_STEP_START_MIX,
    WORD_CARD_STEP_START_DAB,       WORD_CARD_STEP_START_PHOTO_PAGE,
    WORD_CARD_STEP_START_SPOT_PAGE, WORD_CARD_STEP_START_EXPECT_PAGE};

static const enum word *steps_for(const json_t *reply, enum card_look look) {
    const char *whom = json_string_value(json_object_get(reply, "steps_for"));
    return look == LOOK_START && whom && strcmp(whom, "page") == 0 ? start_on_page : steps_of[look];
}

static enum card_look look_of(const json_t *reply) {
    static const char *const name[] = {"own", "frame", "chart", "start"};
    const char *look = json_string_value(json_object_get(reply, "look"));
    for (int i = 0; i < LOOK_OTHER; i++)
        if (look && strcmp(look, name[i]) == 0) return (enum card_look)i;
    return LOOK_OTHER;
}

static enum status card_of(const json_t *reply, struct arena *arena, struct photo_card **card,
                           struct fault *fault) {
    struct text text = {0};
    enum status status = json_finish(reply, &text, fault);
    const struct bytes bytes = {(const unsigned char *)text.data, text.length, "card"};
    if (status == STATUS_OK) status = card_read(&bytes, arena, card, fault);
    text_free(&text);
    return status;
}

static void fill_line(const json_t *recipe, struct arena *arena, struct card_line *out) {
    const json_t *parts = json_object_get(recipe, "parts"), *lab = json_object_get(recipe, "lab");
    struct text text = {0};
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        text_format(&text, "%s%s %.2f g", i ? "   " : "", json_string_value(json_object_get(part, "toner")),
                    json_number_value(json_object_get(part, "g")));
    }
    out->id = json_string_value(json_object_get(recipe, "patch"));
    out->text = arena_text(arena, text.data ? text.data : "", text.length);
    out->has_lab = true;
    out->lab = (struct lab){json_number_value(json_array_get(lab, 0)),
                            json_number_value(json_array_get(lab, 1)),
                            json_number_value(json_array_get(lab, 2)),
                            {LIGHT_D65, OBSERVER_10}};
    text_free(&text);
}

static enum status draw(const json_t *reply, enum paper paper, struct arena *arena, struct text *out,
                        struct fault *fault) {
    const json_t *recipes = json_object_get(reply, "recipes"), *hole = json_object_get(reply, "hole_mm");
    const char *size = json_string_value(json_object_get(reply, "paper"));
    struct card_sheet sheet = {.look = look_of(reply),
                               .paper = size && strcmp(size, "letter") == 0 ? PAGE_LETTER : PAGE_A4};
    struct photo_card *card;
    const enum status status = card_of(reply, arena, &card, fault);
    if (status != STATUS_OK) return status;
    sheet.card = card;
    if (!card_sheet_fits(card, sheet.paper))
        return FAULT(fault, CARD_TOO_LARGE, NUMBER_TEXT(card->size_mm[0]), NUMBER_TEXT(card->size_mm[1]));
    for (size_t i = 0; i < 4 && json_array_size(hole) == 4; i++)
        sheet.hole_mm[i] = json_number_value(json_array_get(hole, i));
    const char *step[STEPS_MOST];
    const enum word *words = steps_for(reply, sheet.look);
    for (int i = 0; i < STEPS_MOST && words[i] != WORD_NONE; i++)
        step[sheet.steps++] = word_sentence(words[i]);
    struct card_line *line = arena_need(arena, json_array_size(recipes) + 1, sizeof *line);
    for (size_t i = 0; i < json_array_size(recipes); i++)
        fill_line(json_array_get(recipes, i), arena, &line[sheet.lines++]);
    sheet.step = step, sheet.line = line;
    const enum page_kind kind = paper == PAPER_PDF ? PAGE_PDF : paper == PAPER_SVG ? PAGE_SVG : PAGE_PNG;
    return card_sheet_draw(&sheet, kind, out, fault);
}

enum status card_paper(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    struct arena *arena = arena_new();
    const enum status status = draw(reply, paper, arena, out, fault);
    arena_free(arena);
    return status;
}
