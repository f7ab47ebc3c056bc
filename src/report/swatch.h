/* The toners of a shelf as they look: masstone and let-downs, with their curves. */
#ifndef RUSSET_REPORT_SWATCH_H
#define RUSSET_REPORT_SWATCH_H

#include "report/page.h"

enum { SWATCH_STEPS_MOST = 3 };

struct swatch_step {
    const char *label; /* "masstone", "1 in 10 white" */
    struct lab lab;
    struct spectrum reflectance;
};

struct swatch {
    const char *name, *detail; /* as on the label; id and lot */
    size_t step_count;
    struct swatch_step step[SWATCH_STEPS_MOST];
};

struct swatch_sheet {
    const char *title;
    size_t count;
    const struct swatch *swatch;
};

/* PDF: A4, as many sheets as needed; SVG and PNG: one sheet as high as needed. */
enum status swatch_draw(const struct swatch_sheet *sheet, enum page_kind kind, struct text *out,
                        struct fault *fault) MUST_USE;

#endif
