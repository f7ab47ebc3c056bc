/* The handover record: what a customer takes home and a shop finds again in ten years. */
#ifndef RUSSET_REPORT_RECORD_PAPER_H
#define RUSSET_REPORT_RECORD_PAPER_H

#include "report/letter.h"

enum { RECORD_ROWS_MOST = 200, RECORD_SPOTS_MOST = 60, RECORD_PICTURES_MOST = 6 };

struct record_row {
    const char *what, *detail; /* "toner name", "lot 12, 14.20 g" */
};

struct record_spot {
    const char *name;
    struct screen_colour sound, repair;
    const char *figures; /* "dE00 0.42 in daylight, 0.61 in lamp light, gloss +0.1 GU" */
    const char *verdict; /* in plain words */
};

struct record_list {
    size_t count;
    const char *text[RECORD_ROWS_MOST];
};

struct record_paper {
    struct page_size size;
    const char *title, *shop, *number; /* number: "Job 7" */
    size_t fact_count;
    const char *fact[12][2]; /* "Piece", "helm seat" */
    size_t picture_count;    /* before, after, before, after ...; width 0: none there */
    struct page_picture picture[RECORD_PICTURES_MOST];
    const char *caption[RECORD_PICTURES_MOST];
    const char *more_pictures; /* that the job keeps; NULL when all are shown */
    struct record_list done, expect, care, cautions, remarks;
    size_t used_count, guarantee_count, spot_count;
    struct record_row used[RECORD_ROWS_MOST], guarantee[RECORD_ROWS_MOST];
    struct record_spot spot[RECORD_SPOTS_MOST];
    const char *proof;  /* the verdict of the final check in one sentence; "" when none was made */
    bool unproved;      /* something was not checked: the sentence that says it stands out */
    const char *cure;   /* "" when nothing was coated */
    const char *digest; /* of the machine-readable twin */
};

enum status record_paper_draw(const struct record_paper *record, struct text *out,
                              struct fault *fault) MUST_USE;

#endif
