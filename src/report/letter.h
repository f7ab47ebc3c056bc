/* A paper of several sheets: margins, headings, paragraphs, points and rows from the top down, a new sheet
 * when the rest does not fit, and on each foot the name of the paper and "2 of 3". It is composed twice: the
 * first time counts the sheets. */
#ifndef RUSSET_REPORT_LETTER_H
#define RUSSET_REPORT_LETTER_H

#include "report/page.h"

struct letter {
    struct page *page;
    struct page_size size;
    double left, right, width, top, bottom, y; /* mm; y: where the next thing begins */
    unsigned sheet, sheets;                    /* sheets 0: not counted yet */
    const char *foot;
};

typedef void letter_compose(struct letter *letter, const void *what);
enum status letter_draw(struct page_size size, const char *title, const char *foot, letter_compose *compose,
                        const void *what, struct text *out, struct fault *fault) MUST_USE;

/* Begins a new sheet when less than height_mm is left. True when it did. */
bool letter_need(struct letter *letter, double height_mm);
/* A heading stands with the first thing below it, which is so high: never alone at the foot of a sheet. */
void letter_heading(struct letter *letter, const char *text, double first_mm);
/* How high a paragraph or a point of that text is. */
double letter_height(const struct letter *letter, double size_pt, const char *text);
void letter_paragraph(struct letter *letter, double size_pt, double grey, const char *text);
void letter_strong(struct letter *letter, double size_pt, const char *text); /* a paragraph in bold */
/* A paragraph with a small square before it. */
void letter_point(struct letter *letter, double size_pt, const char *text);
void letter_rule(struct letter *letter, double width_mm, double grey);
/* What stands in a box of that width: its height. */
struct page_type letter_type(double size_pt, bool bold, double grey, enum page_align align);

#endif
