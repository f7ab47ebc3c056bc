/* Two columns of cards, 92 mm by 31 mm each: the steps side by side without a gap, so that the eye runs from
 * masstone to tint; beside them their curves, the masstone's the darkest; above them the name. */
#include "report/swatch.h"
#include <math.h>
#include <stdio.h>

static const double LEFT = 10, TOP = 24, CARD_WIDTH = 98, CARD_HEIGHT = 31.5, STEP_WIDTH = 16.5,
                    STEP_HEIGHT = 15.5;
enum { COLUMNS = 2, ROWS_A4 = 8 };

static struct page_type type(double size_pt, bool bold, double grey, enum page_align align) {
    return (struct page_type){.size_pt = size_pt, .bold = bold, .grey = grey, .align = align};
}

static double whole(double x) {
    return round(x) + 0.0; /* no -0 */
}

static void draw_step(struct page *page, double x, double y, const struct swatch_step *step) {
    const struct screen_colour colour = screen_of_lab(step->lab);
    char text[60];
    page_swatch(page, x, y, (struct page_size){STEP_WIDTH, STEP_HEIGHT}, colour);
    page_text(page, x, y + STEP_HEIGHT + 2.7, STEP_WIDTH - 1, type(5, false, .3, PAGE_LEFT), step->label);
    snprintf(text, sizeof text, "%.0f %.0f %.0f%s", whole(step->lab.l), whole(step->lab.a),
             whole(step->lab.b), colour.out_of_reach ? " *" : "");
    page_text(page, x, y + STEP_HEIGHT + 5.1, STEP_WIDTH - 1, type(5, false, .3, PAGE_LEFT), text);
}

static void draw_card(struct page *page, double x, double y, const struct swatch *swatch) {
    struct page_curve curve[SWATCH_STEPS_MOST];
    page_text(page, x, y, 62, type(9.5, true, 0, PAGE_LEFT), swatch->name);
    page_text(page, x + CARD_WIDTH - 8, y, 26, type(6, false, .4, PAGE_RIGHT), swatch->detail);
    for (size_t i = 0; i < swatch->step_count; i++) {
        draw_step(page, x + STEP_WIDTH * (double)i, y + 2, &swatch->step[i]);
        curve[i] = (struct page_curve){&swatch->step[i].reflectance, .3 * (double)i, .4, 0};
    }
    const double left = x + 3 * STEP_WIDTH + 4;
    page_curves(page, left, y + 4.5, (struct page_size){x + CARD_WIDTH - 8 - left, STEP_HEIGHT - 2.5}, curve,
                swatch->step_count);
}

static bool any_out_of_reach(const struct swatch_sheet *sheet) {
    for (size_t i = 0; i < sheet->count; i++)
        for (size_t k = 0; k < sheet->swatch[i].step_count; k++)
            if (screen_of_lab(sheet->swatch[i].step[k].lab).out_of_reach) return true;
    return false;
}

static void draw_head(struct page *page, const struct swatch_sheet *sheet, double foot) {
    struct page_type title = type(15, true, 0, PAGE_LEFT);
    title.heading = true;
    page_text(page, LEFT, 14.5, 180, title, sheet->title);
    page_line(page, LEFT, 17.2, PAGE_A4.width_mm - LEFT, 17.2, .3, 0);
    if (any_out_of_reach(sheet))
        page_text(page, LEFT, foot, 180, type(6, false, .3, PAGE_LEFT),
                  word_sentence(WORD_SWATCH_OUT_OF_REACH));
}

enum status swatch_draw(const struct swatch_sheet *sheet, enum page_kind kind, struct text *out,
                        struct fault *fault) {
    const size_t rows = (sheet->count + COLUMNS - 1) / COLUMNS;
    struct page_size size = PAGE_A4;
    if (kind != PAGE_PDF) size.height_mm = TOP + CARD_HEIGHT * (double)(rows ? rows : 1) + 6;
    const size_t rows_here = kind == PAGE_PDF ? ROWS_A4 : rows;
    struct page *page = page_new(kind, size, sheet->title);
    draw_head(page, sheet, size.height_mm - 5);
    for (size_t i = 0; i < sheet->count; i++) {
        const size_t row = i / COLUMNS;
        if (i && i % (COLUMNS * rows_here) == 0) {
            page_next(page);
            draw_head(page, sheet, size.height_mm - 5);
        }
        draw_card(page, LEFT + CARD_WIDTH * (double)(i % COLUMNS),
                  TOP + CARD_HEIGHT * (double)(row % rows_here), &sheet->swatch[i]);
    }
    return page_finish(page, out, fault);
}
