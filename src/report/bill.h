/* Quote and invoice: one layout, A4 or Letter. A quote shows a range (from .. to), an invoice one figure. */
#ifndef RUSSET_REPORT_BILL_H
#define RUSSET_REPORT_BILL_H

#include "report/letter.h"
#include "trade/tax.h"

enum { BILL_LINES_MOST = 220, BILL_NOTES_MOST = 40, BILL_ADDRESS_MOST = 8 };

struct bill_line {
    const char *what, *detail; /* detail "" or one smaller line below */
    int64_t low, high;         /* as written; high is not shown when the bill has no range */
};

struct bill {
    struct page_size size;
    const char *kind;   /* "Quote", "Invoice" */
    const char *number; /* "Q 7" */
    const char *title;  /* of the job */
    const char *mark;   /* "" or what is stamped beside the title: "accepted 2026-11-25" */
    size_t fact_count;
    const char *fact[BILL_ADDRESS_MOST][2]; /* "Date", "2026-11-25" */
    size_t shop_count, customer_count;
    const char *shop[BILL_ADDRESS_MOST], *customer[BILL_ADDRESS_MOST];
    char currency[4];
    bool range, tax_included;
    size_t line_count;
    struct bill_line line[BILL_LINES_MOST];
    struct tax low, high;
    size_t section_count;
    struct bill_section {
        const char *heading;
        size_t count;
        const char *text[BILL_NOTES_MOST];
    } section[8];
    bool signature; /* a line to accept it on */
};

enum status bill_draw(const struct bill *bill, struct text *out, struct fault *fault) MUST_USE;

#endif
