/* A card for photographs on paper, true to a millimetre: drawn from its geometry, with a ruler in either
 * direction to check the printer by, and a second sheet that says what to do. */
#ifndef RUSSET_REPORT_CARD_SHEET_H
#define RUSSET_REPORT_CARD_SHEET_H

#include "report/page.h"
#include "surface/photo_card.h"

enum card_look { LOOK_OWN, LOOK_FRAME, LOOK_CHART, LOOK_START, LOOK_OTHER };

struct card_line { /* a line of the list on the second sheet */
    const char *id, *text;
    struct lab lab;
    bool has_lab;
};

struct card_sheet {
    const struct photo_card *card;
    enum card_look look;
    struct page_size paper; /* PAGE_A4 or PAGE_LETTER */
    double hole_mm[4];      /* x, y, width, height to cut out for a chart; width 0: none */
    size_t steps, lines;
    const char *const *step; /* what to do, in order */
    const struct card_line *line;
};

/* Does the card fit on the paper with its rulers? */
bool card_sheet_fits(const struct photo_card *card, struct page_size paper);
/* Where the card's top left lies on the first sheet. */
void card_sheet_origin(const struct photo_card *card, struct page_size paper, double *x_mm, double *y_mm);

enum status card_sheet_draw(const struct card_sheet *sheet, enum page_kind kind, struct text *out,
                            struct fault *fault) MUST_USE;

#endif
