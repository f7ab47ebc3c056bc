/* The card for a ring of dabs: A5, a field for each dab with its number, its words and its grams. */
#ifndef RUSSET_REPORT_RING_SHEET_H
#define RUSSET_REPORT_RING_SHEET_H

#include "report/page.h"

enum { RING_SHEET_DABS = 8, RING_SHEET_ADDS = 5 };

struct ring_sheet_add {
    char grams[24]; /* "0.03 g" */
    char name[60];  /* "white", "black let down" */
};

struct ring_sheet_dab {
    const char *says; /* "lighter" */
    size_t adds;      /* 0 for the pot as it is */
    struct ring_sheet_add add[RING_SHEET_ADDS];
    struct lab lab; /* predicted, D65/10 */
};

struct ring_sheet {
    const char *title, *subtitle, *how;
    size_t count;
    struct ring_sheet_dab dab[RING_SHEET_DABS];
};

enum status ring_sheet_draw(const struct ring_sheet *sheet, enum page_kind kind, struct text *out,
                            struct fault *fault) MUST_USE;

#endif
