/* Card on paper. Nothing on the grey but what must be there: the grey is the flat field of the photograph.
 * Marks for the knife are thin and outside of what is sampled; names stand where a dab or a patch covers
 * them, or on the second sheet. */
#include "report/card_sheet.h"
#include "surface/tag_cells.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double grey = .4627; /* sRGB of Y = .18: 118 of 255 (IEC 61966-2-1) */
static const double top_mm = 11, margin_mm = 6, ruler_mm = 100;

bool card_sheet_fits(const struct photo_card *card, struct page_size paper) {
    return card->size_mm[0] <= paper.width_mm - 2 * 15 && card->size_mm[1] <= paper.height_mm - top_mm - 15;
}

void card_sheet_origin(const struct photo_card *card, struct page_size paper, double *x, double *y) {
    *x = (paper.width_mm - card->size_mm[0]) / 2;
    *y = top_mm;
}

struct sheet {
    struct page *page;
    const struct card_sheet *what;
    double x, y; /* of the card's top left */
};

static void outline(const struct sheet *s, double x, double y, double w, double h, double line, double ink) {
    page_line(s->page, x, y, x + w, y, line, ink);
    page_line(s->page, x + w, y, x + w, y + h, line, ink);
    page_line(s->page, x + w, y + h, x, y + h, line, ink);
    page_line(s->page, x, y + h, x, y, line, ink);
}

/* ---- what lies on the card ---- */

static void draw_tag(const struct sheet *s, const struct photo_tag *tag) {
    bool cell[TAG_CELLS][TAG_CELLS];
    const double side =
        hypot(tag->corner_mm[1][0] - tag->corner_mm[0][0], tag->corner_mm[1][1] - tag->corner_mm[0][1]);
    const double module = side / (TAG_CELLS - 2 * TAG_BORDER);
    const double x = s->x + tag->corner_mm[0][0] - module, y = s->y + tag->corner_mm[0][1] - module;
    tag_cells(tag->id, cell);
    page_box(s->page, x, y, (struct page_size){module * TAG_CELLS, module * TAG_CELLS}, 1);
    page_cells(s->page, x, y, module, &cell[0][0], TAG_CELLS, TAG_CELLS);
}

/* A patch to be covered: white, with its name in the middle. */
static void draw_patch(const struct sheet *s, const struct photo_patch *patch) {
    const double half = patch->size_mm / 2, x = s->x + patch->center_mm[0], y = s->y + patch->center_mm[1];
    const bool trap = patch->role == PATCH_BLACK_TRAP;
    page_box(s->page, x - half, y - half, (struct page_size){patch->size_mm, patch->size_mm}, trap ? 0 : 1);
    if (s->what->look == LOOK_START || trap) return;
    const struct page_type type = {.size_pt = 7, .grey = .45, .align = PAGE_CENTRE};
    page_text(s->page, x, y + 1, patch->size_mm - 1, type, patch->id);
}

/* A dab is drawn once, at its place over black: the left half black, the right half paper. */
static void draw_place(const struct sheet *s, const struct photo_place *place) {
    const double half = 6, x = s->x + place->center_mm[0], y = s->y + place->center_mm[1];
    const bool black = strcmp(place->over, "bare-black") == 0 || strcmp(place->id, "bare-black") == 0;
    page_box(s->page, x - half, y - half, (struct page_size){2 * half, 2 * half}, black ? 0 : 1);
    if (place->parts == 0 || !black) return;
    char name[160];
    if (place->parts == 1)
        snprintf(name, sizeof name, "%s", place->part[0].toner);
    else
        snprintf(name, sizeof name, "%s 1 : %g %s", place->part[0].toner, place->part[1].g,
                 place->part[1].toner);
    page_text(s->page, x - half, y - half - 1.1, 4 * half, (struct page_type){.size_pt = 6}, name);
}

static void draw_window(const struct sheet *s) {
    const struct photo_card *card = s->what->card;
    const double side = card->window_mm, x = s->x + card->window_center_mm[0] - side / 2,
                 y = s->y + card->window_center_mm[1] - side / 2;
    page_box(s->page, x, y, (struct page_size){side, side}, 1);
    outline(s, x, y, side, side, .15, 0);
    page_text(s->page, x + side / 2, y + side / 2 + .8, side - 3,
              (struct page_type){.size_pt = 6, .grey = .45, .align = PAGE_CENTRE},
              word_sentence(WORD_CARD_CUT_OUT));
}

static void draw_hole(const struct sheet *s) {
    const double *hole = s->what->hole_mm;
    if (!(hole[2] > 0)) return;
    page_box(s->page, s->x + hole[0], s->y + hole[1], (struct page_size){hole[2], hole[3]}, 1);
    outline(s, s->x + hole[0], s->y + hole[1], hole[2], hole[3], .15, 0);
    for (int i = 0; i < s->what->card->patches; i++) {
        const struct photo_patch *patch = &s->what->card->patch[i];
        page_text(s->page, s->x + patch->center_mm[0], s->y + patch->center_mm[1] + 1, 0,
                  (struct page_type){.size_pt = 6, .grey = .6, .align = PAGE_CENTRE}, patch->id);
    }
    page_text(s->page, s->x + hole[0] + hole[2] / 2, s->y + hole[1] + 2.6, hole[2] - 3,
              (struct page_type){.size_pt = 6, .grey = .45, .align = PAGE_CENTRE},
              word_sentence(WORD_CARD_CUT_OUT));
}

/* Millimetres on the card's upper edge, between the tags. */
static void draw_scale(const struct sheet *s) {
    const double first = s->what->look == LOOK_START ? 30 : 25, last = s->what->card->size_mm[0] - first;
    for (int mm = 0; first + mm <= last; mm++) {
        const double x = s->x + first + mm;
        page_line(s->page, x, s->y, x, s->y + (mm % 10 == 0 ? 2.4 : mm % 5 == 0 ? 1.7 : 1.1), .12, 0);
    }
}

static void draw_card(const struct sheet *s) {
    const struct photo_card *card = s->what->card;
    page_box(s->page, s->x, s->y, (struct page_size){card->size_mm[0], card->size_mm[1]}, grey);
    draw_scale(s);
    for (int i = 0; i < card->tags; i++) draw_tag(s, &card->tag[i]);
    draw_hole(s);
    for (int i = 0; i < card->patches && !(s->what->hole_mm[2] > 0); i++) draw_patch(s, &card->patch[i]);
    for (int i = 0; i < card->places; i++) draw_place(s, &card->place[i]);
    if (card->has_window) draw_window(s);
}

/* ---- around the card ---- */

static void draw_rulers(const struct sheet *s) {
    const struct card_sheet *what = s->what;
    const double y = s->y + what->card->size_mm[1] + 4, x = (what->paper.width_mm - ruler_mm) / 2;
    const double left = margin_mm + 1, down = s->y + 10;
    for (int mm = 0; mm <= (int)ruler_mm; mm++) {
        const double tick = mm % 10 == 0 ? 3 : mm % 5 == 0 ? 2.2 : 1.4;
        page_line(s->page, x + mm, y, x + mm, y + tick, .15, 0);
        if (what->card->size_mm[1] > ruler_mm + 10 || mm <= 60)
            page_line(s->page, left, down + mm, left + tick, down + mm, .15, 0);
    }
    const struct page_type small = {.size_pt = 6, .align = PAGE_CENTRE};
    page_text(s->page, x, y + 5.6, 0, small, "0");
    page_text(s->page, x + ruler_mm, y + 5.6, 0, small, "100 mm");
    page_text(s->page, x + ruler_mm / 2, y + 5.8, ruler_mm - 16, small, word_sentence(WORD_CARD_CHECK_RULER));
}

static void draw_title(const struct sheet *s) {
    static const enum word title[] = {WORD_CARD_TITLE_OWN, WORD_CARD_TITLE_FRAME, WORD_CARD_TITLE_CHART,
                                      WORD_CARD_TITLE_START, WORD_CARD_TITLE_OTHER};
    page_text(s->page, margin_mm + 4, 8.5, s->what->paper.width_mm - 2 * margin_mm - 8,
              (struct page_type){.size_pt = 10, .bold = true, .heading = true},
              word_sentence(title[s->what->look]));
}

static void draw_line(struct page *page, double x, double y, const struct card_line *line) {
    if (line->has_lab) page_swatch(page, x, y - 3.4, (struct page_size){6, 4.4}, screen_of_lab(line->lab));
    page_text(page, x + 8, y, 11, (struct page_type){.size_pt = 8, .bold = true}, line->id);
    page_text(page, x + 20, y, 154, (struct page_type){.size_pt = 8}, line->text);
}

/* The second sheet: what to do, and the list. */
static void draw_second(struct page *page, const struct card_sheet *what) {
    const double left = 16, width = what->paper.width_mm - 2 * left;
    double y = 16;
    page_text(page, left, y, width, (struct page_type){.size_pt = 12, .bold = true, .heading = true},
              word_sentence(WORD_CARD_WHAT_TO_DO));
    y += 4;
    for (size_t i = 0; i < what->steps; i++) {
        char number[24];
        snprintf(number, sizeof number, "%zu", i + 1);
        page_text(page, left, y + 3.6, 6, (struct page_type){.size_pt = 9, .bold = true}, number);
        y += 1.6 + page_paragraph(page, left + 7, y, (struct page_size){width - 7, 40},
                                  (struct page_type){.size_pt = 9}, what->step[i]);
    }
    y += 6;
    for (size_t i = 0; i < what->lines; i++, y += 6) {
        if (y > what->paper.height_mm - 14) page_next(page), y = 18;
        draw_line(page, left, y, &what->line[i]);
    }
}

enum status card_sheet_draw(const struct card_sheet *what, enum page_kind kind, struct text *out,
                            struct fault *fault) {
    struct sheet s = {.page = page_new(kind, what->paper, word_sentence(WORD_CARD_TITLE_OTHER)),
                      .what = what};
    card_sheet_origin(what->card, what->paper, &s.x, &s.y);
    draw_title(&s);
    draw_card(&s);
    draw_rulers(&s);
    if (kind == PAGE_PDF && what->steps > 0) {
        page_next(s.page);
        draw_second(s.page, what);
    }
    return page_finish(s.page, out, fault);
}
