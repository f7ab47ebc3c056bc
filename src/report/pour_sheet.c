/* Layout of the pour sheet, A5 upright, in millimetres from the top left. The figure that is read at the
 * scale (the running reading) is the largest; the target and the prediction touch, so that the eye can
 * compare them; cautions stand where the hand goes last. */
#include "report/pour_sheet.h"
#include <math.h>
#include <stdio.h>

static const double LEFT = 10, RIGHT = 138, WIDTH = 128;
static const double SWATCH_TOP = 27, SWATCH_HEIGHT = 27, SWATCH_WIDTH = 26;
static const double TABLE_TOP = 64, TABLE_BOTTOM = 148;
/* Name and detail of a toner in one size: programs that go by where things stand then read them as one cell.
 */
static const double NAME_PT = 9.5;

static const char *word(enum word id) {
    return word_sentence(id);
}

static struct page_type type(double size_pt, bool bold, double grey, enum page_align align) {
    return (struct page_type){.size_pt = size_pt, .bold = bold, .grey = grey, .align = align};
}

static void grams(char *out, size_t n, double g, int decimals, bool unit) {
    snprintf(out, n, unit ? "%.*f g" : "%.*f", decimals, g);
}

static void draw_head(struct page *page, const struct pour_sheet *sheet) {
    char total[40];
    grams(total, sizeof total, sheet->total_g, sheet->decimals, true);
    page_text(page, LEFT, 12.5, 0, type(7, false, .4, PAGE_LEFT),
              sheet->kind ? sheet->kind : word(WORD_SHEET_KIND));
    struct page_type title = type(17, true, 0, PAGE_LEFT);
    title.heading = true;
    page_text(page, LEFT, 19.5, 90, title, sheet->title);
    page_text(page, LEFT, 24, 90, type(7.5, false, .3, PAGE_LEFT), sheet->subtitle);
    page_text(page, RIGHT, 12.5, 0, type(7, false, .4, PAGE_RIGHT),
              sheet->total ? sheet->total : word(WORD_SHEET_BATCH));
    page_text(page, RIGHT, 19.5, 36, type(17, true, 0, PAGE_RIGHT), total);
}

static const char *predicted_word(const struct pour_sheet *sheet) {
    return sheet->second ? sheet->second : word(WORD_SHEET_PREDICTED);
}

static void draw_swatch(struct page *page, double x, struct lab lab, const char *label) {
    const struct screen_colour colour = screen_of_lab(lab);
    char text[60];
    page_swatch(page, x, SWATCH_TOP, (struct page_size){SWATCH_WIDTH, SWATCH_HEIGHT}, colour);
    snprintf(text, sizeof text, "%s, L* a* b*", label);
    page_text(page, x, SWATCH_TOP + SWATCH_HEIGHT + 3.2, SWATCH_WIDTH, type(6.5, false, .3, PAGE_LEFT), text);
    snprintf(text, sizeof text, "%.1f  %.1f  %.1f%s", lab.l, lab.a, lab.b, colour.out_of_reach ? " *" : "");
    page_text(page, x, SWATCH_TOP + SWATCH_HEIGHT + 6.2, SWATCH_WIDTH, type(6.5, false, .3, PAGE_LEFT), text);
}

/* The target is a broad grey band, the recipe a thin black line in it: where they part is seen at once. */
static void draw_curves(struct page *page, const struct pour_sheet *sheet) {
    const struct page_curve curve[] = {{&sheet->target, .72, 1.5, 0}, {&sheet->predicted, 0, .4, 0}};
    const double x = LEFT + 2 * SWATCH_WIDTH + 10, w = RIGHT - x, key = SWATCH_TOP + SWATCH_HEIGHT + 6.2;
    const struct page_type small = type(6.5, false, .3, PAGE_LEFT);
    const size_t first = sheet->has_target_curve ? 0 : 1;
    page_curves(page, x, SWATCH_TOP + 2, (struct page_size){w, SWATCH_HEIGHT - 2}, curve + first, 2 - first);
    page_line(page, x, key - .8, x + 6, key - .8, .4, 0);
    page_text(page, x + 7, key, 0, small, predicted_word(sheet));
    if (sheet->has_target_curve) {
        page_line(page, x + 27, key - .8, x + 33, key - .8, 1.5, .72);
        page_text(page, x + 34, key, 0, small, word(WORD_SHEET_TARGET));
    }
    if (!isfinite(sheet->de00)) return;
    char text[40];
    snprintf(text, sizeof text, "\u0394E00  %.2f", sheet->de00);
    page_text(page, RIGHT, SWATCH_TOP - .8, 0, type(8, true, 0, PAGE_RIGHT), text);
}

static void draw_colours(struct page *page, const struct pour_sheet *sheet) {
    if (sheet->has_target) draw_swatch(page, LEFT, sheet->target_lab, word(WORD_SHEET_TARGET));
    draw_swatch(page, sheet->has_target ? LEFT + SWATCH_WIDTH : LEFT, sheet->predicted_lab,
                predicted_word(sheet));
    if (sheet->has_target)
        page_line(page, LEFT + SWATCH_WIDTH, SWATCH_TOP - 1.4, LEFT + SWATCH_WIDTH, SWATCH_TOP - .4, .25, .3);
    draw_curves(page, sheet);
}

static void draw_table_head(struct page *page, double y) {
    const struct page_type small = type(7, false, .4, PAGE_RIGHT);
    page_text(page, 82, y, 0, small, word(WORD_SHEET_POUR));
    page_text(page, 113, y, 0, small, word(WORD_SHEET_TO_READING));
    page_text(page, RIGHT, y, 0, small, word(WORD_SHEET_WINDOW));
    page_tick_box(page, LEFT, y - 3.4, 3.6);
    page_text(page, LEFT + 6, y, 54, type(8.5, true, 0, PAGE_LEFT), word(WORD_SHEET_STIR));
    page_line(page, LEFT, y + 2, RIGHT, y + 2, .4, 0);
}

static void draw_window(struct page *page, double y, const struct sheet_step *step, int decimals) {
    char plus[40], minus[40];
    if (fabs(step->plus_g - step->minus_g) < .5 * pow(10, -decimals)) {
        snprintf(plus, sizeof plus, "\u00b1 %.*f", decimals, step->plus_g);
        page_text(page, RIGHT, y, 22, type(10, false, 0, PAGE_RIGHT), plus);
        return;
    }
    snprintf(plus, sizeof plus, "+ %.*f", decimals, step->plus_g);
    snprintf(minus, sizeof minus, "\u2013 %.*f", decimals, step->minus_g);
    page_text(page, RIGHT, y - 2.1, 22, type(8.5, false, 0, PAGE_RIGHT), plus);
    page_text(page, RIGHT, y + 1.9, 22, type(8.5, false, 0, PAGE_RIGHT), minus);
}

static void draw_step(struct page *page, double y, double height, const struct sheet_step *step,
                      int decimals) {
    char text[40];
    const double middle = y + height / 2, large = fmin(19, height * 1.75);
    const bool has_detail = step->detail[0] != 0;
    page_tick_box(page, LEFT, middle - 2, 4);
    struct page_type name = type(has_detail ? NAME_PT : 11, true, 0, PAGE_LEFT);
    name.size_pt = page_text_size(page, 47, name, step->name);
    page_text(page, LEFT + 6, middle + (has_detail ? -.4 : 1.4), 47, name, step->name);
    if (has_detail)
        page_text(page, LEFT + 6, middle + 3.5, 47, type(name.size_pt, false, .3, PAGE_LEFT), step->detail);
    grams(text, sizeof text, step->pour_g, decimals, false);
    page_text(page, 82, middle + 1.7, 17, type(12, false, 0, PAGE_RIGHT), text);
    grams(text, sizeof text, step->reading_g, decimals, false);
    page_text(page, 113, middle + large * .125, 30, type(large, true, 0, PAGE_RIGHT), text);
    draw_window(page, middle + 1.5, step, decimals);
    page_line(page, LEFT, y + height, RIGHT, y + height, .1, .7);
}

static void draw_table(struct page *page, const struct pour_sheet *sheet) {
    draw_table_head(page, TABLE_TOP + 3);
    const double top = TABLE_TOP + 5, room = TABLE_BOTTOM - top;
    const double height = fmin(11.5, room / (double)(sheet->step_count ? sheet->step_count : 1));
    for (size_t i = 0; i < sheet->step_count; i++)
        draw_step(page, top + height * (double)i, height, &sheet->step[i], sheet->decimals);
}

/* What goes in last, under the table. Returns where the next thing may start. */
static double draw_additions(struct page *page, const struct pour_sheet *sheet, double y) {
    if (!sheet->addition_count) return y;
    page_text(page, LEFT, y, 80, type(8.5, true, 0, PAGE_LEFT), word(WORD_SHEET_LAST));
    y += 5.2;
    for (size_t i = 0; i < sheet->addition_count; i++, y += 5) {
        char text[60];
        page_tick_box(page, LEFT, y - 3, 3.4);
        page_text(page, LEFT + 6, y, 42, type(9, false, 0, PAGE_LEFT), sheet->addition[i].name);
        snprintf(text, sizeof text, "%.3g %%", sheet->addition[i].percent);
        page_text(page, 66, y, 0, type(9, false, .3, PAGE_RIGHT), text);
        grams(text, sizeof text, sheet->addition[i].amount_g, sheet->decimals, true);
        page_text(page, 86, y, 0, type(9, true, 0, PAGE_RIGHT), text);
    }
    return y + 1;
}

/* From the first caution on, as many as fit whole above `bottom`; returns the first that did not. */
static size_t draw_cautions(struct page *page, const struct pour_sheet *sheet, size_t first, double y,
                            struct page_size room, double size_pt) {
    const struct page_type small = type(size_pt, false, .1, PAGE_LEFT);
    const double bottom = y + room.height_mm, width = room.width_mm - 2.5, dot = size_pt * .15;
    for (size_t i = first; i < sheet->caution_count; i++) {
        const double height = page_paragraph_height(page, width, small, sheet->caution[i]);
        if (y + height > bottom) return i;
        page_box(page, LEFT, y + size_pt * .16, (struct page_size){dot, dot}, 0);
        page_paragraph(page, LEFT + 2.5, y, (struct page_size){width, height + .1}, small, sheet->caution[i]);
        y += height + .6;
    }
    return sheet->caution_count;
}

/* What the first page had no room for: never left out. */
static void draw_overleaf(struct page *page, const struct pour_sheet *sheet, size_t first) {
    if (page_kind_of(page) != PAGE_PDF) return;
    page_next(page);
    page_text(page, LEFT, 12.5, 0, type(7, false, .4, PAGE_LEFT), word(WORD_SHEET_OVERLEAF));
    page_text(page, LEFT, 19.5, WIDTH, type(13, true, 0, PAGE_LEFT), sheet->title);
    draw_cautions(page, sheet, first, 26, (struct page_size){WIDTH, 174}, 9);
}

static enum status draw_foot(struct page *page, const struct pour_sheet *sheet, struct fault *fault) {
    const double side = 46, width = WIDTH - (sheet->qr[0] ? side : 0);
    const double y = draw_additions(page, sheet, TABLE_BOTTOM + 6) - 2.2;
    const size_t left = draw_cautions(page, sheet, 0, y, (struct page_size){width, 202.5 - y}, 6.3);
    const bool more = left < sheet->caution_count;
    if (more)
        page_text(page, LEFT + 2.5, 204.5, width, type(6.3, true, .1, PAGE_LEFT), word(WORD_SHEET_MORE));
    enum status status = STATUS_OK;
    if (sheet->qr[0]) {
        page_text(page, RIGHT - side / 2 + 2, 204.5, side, type(6.5, false, .3, PAGE_CENTRE),
                  word(WORD_SHEET_QR));
        status = page_qr(page, RIGHT - side + 2.5, 157, side, sheet->qr, fault);
    }
    if (more) draw_overleaf(page, sheet, left);
    return status;
}

enum status pour_sheet_draw(const struct pour_sheet *sheet, enum page_kind kind, struct text *out,
                            struct fault *fault) {
    struct page *page = page_new(kind, PAGE_A5, sheet->title);
    draw_head(page, sheet);
    draw_colours(page, sheet);
    draw_table(page, sheet);
    struct fault own = {0};
    const enum status drawn = draw_foot(page, sheet, &own);
    const enum status finished = page_finish(page, out, fault);
    if (drawn != STATUS_OK && fault) *fault = own;
    return drawn != STATUS_OK ? drawn : finished;
}
