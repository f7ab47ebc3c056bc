/* The pour sheet: what stands beside the scale. A5, read at arm's length, ticked with a pencil. */
#ifndef RUSSET_REPORT_POUR_SHEET_H
#define RUSSET_REPORT_POUR_SHEET_H

#include "report/page.h"

enum { SHEET_STEPS_MOST = 12, SHEET_CAUTIONS_MOST = 12, SHEET_ADDITIONS_MOST = 4 };

struct sheet_step {
    const char *name;   /* as on the label, UTF-8, any length */
    const char *detail; /* small, under the name: ml, or how the let-down is made; "" for none */
    double pour_g, reading_g, minus_g, plus_g;
};

struct sheet_addition { /* goes by per cent into what is sprayed, after the colour is approved */
    const char *name;
    double percent, amount_g;
};

struct pour_sheet {
    const char *title, *subtitle; /* what it is for; the batch, scale ... */
    const char *kind, *total;     /* small, over the title and the total; NULL: a pour sheet, in the cup */
    const char *second;           /* what the predicted colour is called; NULL: this recipe */
    int decimals;                 /* of the scale's step: 2 for .01 g */
    double total_g;
    size_t step_count;
    struct sheet_step step[SHEET_STEPS_MOST];
    struct lab target_lab, predicted_lab;
    bool has_target;       /* a Lab of the target is known */
    bool has_target_curve; /* and its reflectance */
    struct spectrum target, predicted;
    double de00;    /* NAN: not known */
    double spray_g; /* what the additions are worked out for */
    size_t addition_count;
    struct sheet_addition addition[SHEET_ADDITIONS_MOST];
    size_t caution_count;
    const char *caution[SHEET_CAUTIONS_MOST];
    const char *qr; /* the recipe as text; "" for none */
};

enum status pour_sheet_draw(const struct pour_sheet *sheet, enum page_kind kind, struct text *out,
                            struct fault *fault) MUST_USE;

#endif
