#include "report/ring_sheet.h"

/* Millimetres on A5: two columns of fields, 22 mm each, where the dab is put beside a swatch of what it
 * should look like. */
static const double LEFT = 12, TOP = 34, COLUMN = 64, ROW = 37, FIELD = 22, SWATCH = 8, GRAMS = 11.5,
                    NUMBER = 6;

static void draw_dab(struct page *page, const struct ring_sheet_dab *dab, size_t index) {
    const double x = LEFT + COLUMN * (double)(index % 2), y = TOP + ROW * (double)(index / 2);
    const struct page_type number = {20, true, false, 0, PAGE_LEFT}, words = {9, true, false, 0, PAGE_LEFT},
                           grams = {9, true, false, 0, PAGE_RIGHT}, name = {8, false, false, 0.15, PAGE_LEFT};
    const char digit[2] = {(char)('0' + index), 0};
    page_line(page, x, y, x + FIELD, y, 0.3, 0.4);
    page_line(page, x, y + FIELD, x + FIELD, y + FIELD, 0.3, 0.4);
    page_line(page, x, y, x, y + FIELD, 0.3, 0.4);
    page_line(page, x + FIELD, y, x + FIELD, y + FIELD, 0.3, 0.4);
    const double right = x + FIELD + 3, width = COLUMN - FIELD - 5;
    page_swatch(page, right + width - SWATCH, y, (struct page_size){SWATCH, SWATCH}, screen_of_lab(dab->lab));
    page_text(page, right, y + 13, NUMBER, number, digit); /* one line with its words, also when read aloud */
    page_text(page, right + NUMBER, y + 13, width - NUMBER, words, dab->says);
    for (size_t i = 0; i < dab->adds; i++) {
        const double line = y + 18 + 4 * (double)i;
        page_text(page, right + GRAMS, line, GRAMS, grams, dab->add[i].grams);
        page_text(page, right + GRAMS + 1.5, line, width - GRAMS - 1.5, name, dab->add[i].name);
    }
}

enum status ring_sheet_draw(const struct ring_sheet *sheet, enum page_kind kind, struct text *out,
                            struct fault *fault) {
    struct page *page = page_new(kind, PAGE_A5, sheet->title);
    const struct page_type title = {18, true, true, 0, PAGE_LEFT}, plain = {9, false, false, 0.15, PAGE_LEFT};
    page_text(page, LEFT, 18, 124, title, sheet->title);
    page_text(page, LEFT, 25, 124, plain, sheet->subtitle);
    for (size_t i = 0; i < sheet->count && i < RING_SHEET_DABS; i++) draw_dab(page, &sheet->dab[i], i);
    const struct page_type small = {8, false, false, 0.15, PAGE_LEFT};
    page_paragraph(page, LEFT, 181, (struct page_size){124, 24}, small, sheet->how);
    return page_finish(page, out, fault);
}
