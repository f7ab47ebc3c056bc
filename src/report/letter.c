#include "report/letter.h"
#include <stdio.h>

static const double MARGIN_SIDE = 20, MARGIN_TOP = 18, MARGIN_FOOT = 18, MOST = 1000, POINT_INDENT = 3.4;

struct page_type letter_type(double size_pt, bool bold, double grey, enum page_align align) {
    return (struct page_type){.size_pt = size_pt, .bold = bold, .grey = grey, .align = align};
}

static void draw_foot(struct letter *letter) {
    struct fault of;
    const double y = letter->size.height_mm - 10;
    const struct page_type small = letter_type(7, false, .4, PAGE_LEFT);
    page_line(letter->page, letter->left, y - 4, letter->right, y - 4, .1, .6);
    page_text(letter->page, letter->left, y, letter->width - 30, small, letter->foot);
    fault_set(&of, WORD_PAPER_SHEET_OF,
              (const char *const[]){COUNT_TEXT(letter->sheet), COUNT_TEXT(letter->sheets), NULL});
    page_text(letter->page, letter->right, y, 28, letter_type(7, false, .4, PAGE_RIGHT), of.text);
}

bool letter_need(struct letter *letter, double height_mm) {
    if (letter->y + height_mm <= letter->bottom) return false;
    draw_foot(letter);
    page_next(letter->page);
    letter->sheet++;
    letter->y = letter->top;
    return true;
}

static struct letter begin(struct page_size size, const char *title, const char *foot, unsigned sheets) {
    struct letter letter = {.page = page_new(PAGE_PDF, size, title),
                            .size = size,
                            .left = MARGIN_SIDE,
                            .right = size.width_mm - MARGIN_SIDE,
                            .width = size.width_mm - 2 * MARGIN_SIDE,
                            .top = MARGIN_TOP,
                            .bottom = size.height_mm - MARGIN_FOOT,
                            .y = MARGIN_TOP,
                            .sheet = 1,
                            .sheets = sheets,
                            .foot = foot};
    return letter;
}

enum status letter_draw(struct page_size size, const char *title, const char *foot, letter_compose *compose,
                        const void *what, struct text *out, struct fault *fault) {
    struct text counted = {0};
    struct letter letter = begin(size, title, foot, 0);
    compose(&letter, what);
    const unsigned sheets = letter.sheet;
    const enum status status = page_finish(letter.page, &counted, fault);
    text_free(&counted);
    if (status != STATUS_OK) return status;
    letter = begin(size, title, foot, sheets);
    compose(&letter, what);
    draw_foot(&letter);
    return page_finish(letter.page, out, fault);
}

/* As a point, whose text is the narrower: a little more than a paragraph at most. */
double letter_height(const struct letter *letter, double size_pt, const char *text) {
    return page_paragraph_height(letter->page, letter->width - POINT_INDENT,
                                 letter_type(size_pt, false, 0, PAGE_LEFT), text);
}

void letter_heading(struct letter *letter, const char *text, double first_mm) {
    struct page_type type = letter_type(10.5, true, 0, PAGE_LEFT);
    type.heading = 2;
    letter_need(letter, 3 + 6.5 + (first_mm > 6.5 ? first_mm : 6.5));
    letter->y += 3;
    page_text(letter->page, letter->left, letter->y + 4, letter->width, type, text);
    letter->y += 6.5;
}

static void paragraph_at(struct letter *letter, double indent, struct page_type type, const char *text) {
    const double width = letter->width - indent,
                 height = page_paragraph_height(letter->page, width, type, text);
    letter_need(letter, height);
    if (indent > 0)
        page_box(letter->page, letter->left + .3, letter->y + type.size_pt * .2, (struct page_size){1.1, 1.1},
                 .2);
    page_paragraph(letter->page, letter->left + indent, letter->y, (struct page_size){width, MOST}, type,
                   text);
    letter->y += height;
}

void letter_paragraph(struct letter *letter, double size_pt, double grey, const char *text) {
    paragraph_at(letter, 0, letter_type(size_pt, false, grey, PAGE_LEFT), text);
    letter->y += 1.2;
}

void letter_strong(struct letter *letter, double size_pt, const char *text) {
    paragraph_at(letter, 0, letter_type(size_pt, true, 0, PAGE_LEFT), text);
    letter->y += 1.2;
}

void letter_point(struct letter *letter, double size_pt, const char *text) {
    page_open(letter->page, "L");
    paragraph_at(letter, POINT_INDENT, letter_type(size_pt, false, .1, PAGE_LEFT), text);
    page_close(letter->page, "L");
    letter->y += .9;
}

void letter_rule(struct letter *letter, double width_mm, double grey) {
    page_line(letter->page, letter->left, letter->y, letter->right, letter->y, width_mm, grey);
}
