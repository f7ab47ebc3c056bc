/* From the top: who writes, to whom, what and when; the lines; net, tax by rate, total; then what the
 * customer should know before signing. Amounts stand in one column each, ends under each other. */
#include "report/bill.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double AMOUNT = 32, ROW = 5.6; /* mm: width of an amount column, height of a row */

static const char *word(enum word id) {
    return word_sentence(id);
}

/* In a column whose head names the currency: without the code. */
static const char *amount_text(char out[MONEY_TEXT], const struct bill *bill, int64_t minor) {
    struct money money = {minor, ""};
    memcpy(money.currency, bill->currency, sizeof money.currency);
    money_text_grouped(out, money);
    out[strlen(out) - strlen("\u00a0") - strlen(bill->currency)] = 0;
    return out;
}

static double columns_of(const struct bill *bill) {
    return bill->range ? 2 * AMOUNT : AMOUNT;
}

static void draw_amounts(struct letter *l, const struct bill *bill, double y, struct page_type type,
                         int64_t low, int64_t high) {
    char text[MONEY_TEXT];
    type.align = PAGE_RIGHT;
    page_text(l->page, l->right - (bill->range ? AMOUNT : 0), y, AMOUNT - 2, type,
              amount_text(text, bill, low));
    if (bill->range) page_text(l->page, l->right, y, AMOUNT - 2, type, amount_text(text, bill, high));
}

static void draw_block(struct letter *l, double x, double width, const char *const line[], size_t count,
                       bool first_bold) {
    for (size_t i = 0; i < count; i++)
        page_text(l->page, x, l->y + 4.4 * (double)i, width,
                  letter_type(9, i == 0 && first_bold, .1, PAGE_LEFT), line[i]);
}

static void draw_head(struct letter *l, const struct bill *bill) {
    struct page_type title = letter_type(20, true, 0, PAGE_LEFT);
    char line[200];
    title.heading = 1;
    l->y += 6;
    snprintf(line, sizeof line, "%s %s", bill->kind, bill->number);
    page_text(l->page, l->left, l->y, l->width * .55, title, line);
    draw_block(l, l->left + l->width * .6, l->width * .4, bill->shop, bill->shop_count, true);
    page_text(l->page, l->left, l->y + 7, l->width * .55, letter_type(11, false, .25, PAGE_LEFT),
              bill->title);
    if (*bill->mark)
        page_text(l->page, l->left, l->y + 13, l->width * .55, letter_type(9, true, 0, PAGE_LEFT),
                  bill->mark);
    const double shop = 4.4 * (double)bill->shop_count;
    l->y += shop > 18 ? shop + 4 : 22;
}

static void draw_parties(struct letter *l, const struct bill *bill) {
    const double x = l->left + l->width * .6;
    char line[200];
    page_text(l->page, l->left, l->y, 60, letter_type(7, false, .4, PAGE_LEFT), word(WORD_BILL_FOR));
    l->y += 4.6;
    draw_block(l, l->left, l->width * .55, bill->customer, bill->customer_count, true);
    for (size_t i = 0; i < bill->fact_count; i++) {
        const double y = l->y + 4.4 * (double)i;
        snprintf(line, sizeof line, "%s: %s", bill->fact[i][0], bill->fact[i][1]);
        page_text(l->page, x, y, l->width * .4, letter_type(9, false, 0, PAGE_LEFT), line);
    }
    const size_t rows = bill->customer_count > bill->fact_count ? bill->customer_count : bill->fact_count;
    l->y += 4.4 * (double)rows + 6;
}

static void draw_table_head(struct letter *l, const struct bill *bill) {
    struct page_type small = letter_type(7.5, false, .35, PAGE_LEFT);
    char name[80];
    page_open(l->page, "TR");
    page_text(l->page, l->left, l->y + 3.6, l->width - columns_of(bill), small, word(WORD_BILL_WHAT));
    small.align = PAGE_RIGHT;
    snprintf(name, sizeof name, "%s%s", bill->range ? word(WORD_BILL_FROM) : "", bill->currency);
    page_text(l->page, l->right - (bill->range ? AMOUNT : 0), l->y + 3.6, AMOUNT, small, name);
    snprintf(name, sizeof name, "%s%s", word(WORD_BILL_TO), bill->currency);
    if (bill->range) page_text(l->page, l->right, l->y + 3.6, AMOUNT, small, name);
    page_close(l->page, "TR");
    l->y += 5.2;
    letter_rule(l, .35, 0);
    l->y += .6;
}

/* What and detail in one paragraph: cells of one line are read row by row also by programs that go by where
 * things stand. */
static void draw_line(struct letter *l, const struct bill *bill, const struct bill_line *line) {
    const double width = l->width - columns_of(bill) - 3;
    const struct page_type type = letter_type(9.5, false, 0, PAGE_LEFT);
    struct text what = {0};
    text_format(&what, "%s%s%s", line->what, *line->detail ? " \u00b7 " : "", line->detail);
    const double high = page_paragraph_height(l->page, width, type, what.data);
    if (letter_need(l, high + 2)) draw_table_head(l, bill);
    page_open(l->page, "TR");
    page_paragraph(l->page, l->left, l->y + .7, (struct page_size){width, 100}, type, what.data);
    draw_amounts(l, bill, l->y + 4.6, type, line->low, line->high);
    page_close(l->page, "TR");
    text_free(&what);
    l->y += high + 1.6;
    letter_rule(l, .08, .75);
}

static void draw_total(struct letter *l, const struct bill *bill, const char *name, bool bold, int64_t low,
                       int64_t high) {
    const struct page_type type = letter_type(bold ? 11.5 : 9, bold, bold ? 0 : .2, PAGE_LEFT);
    page_open(l->page, "TR");
    page_text(l->page, l->left, l->y + 4.2, l->width - columns_of(bill), type, name);
    draw_amounts(l, bill, l->y + 4.2, type, low, high);
    page_close(l->page, "TR");
    l->y += bold ? ROW + 1.5 : ROW - .6;
}

static void draw_totals(struct letter *l, const struct bill *bill) {
    letter_need(l, ROW * (3 + (double)bill->low.rate_count));
    l->y += 1;
    if (bill->tax_included)
        draw_total(l, bill, word(WORD_BILL_TOTAL), true, bill->low.gross, bill->high.gross);
    else
        draw_total(l, bill, word(WORD_BILL_NET), false, bill->low.net, bill->high.net);
    for (size_t i = 0; i < bill->low.rate_count; i++) {
        struct fault name;
        char rate[32];
        if (bill->low.rate[i].rate_ppm == 0) continue;
        fault_set(&name, bill->tax_included ? WORD_BILL_TAX_IN_IT : WORD_BILL_TAX,
                  (const char *const[]){rate_text(rate, bill->low.rate[i].rate_ppm), NULL});
        draw_total(l, bill, name.text, false, bill->low.rate[i].tax, bill->high.rate[i].tax);
    }
    if (!bill->tax_included) {
        letter_rule(l, .35, 0);
        l->y += .8;
        draw_total(l, bill, word(WORD_BILL_TOTAL), true, bill->low.gross, bill->high.gross);
    }
}

/* Room for a hand; where little is left a little less, so that no sheet holds a signature alone. */
static void draw_signature(struct letter *l) {
    letter_need(l, 14);
    l->y += fmin(16, l->bottom - l->y - 6);
    page_line(l->page, l->left, l->y, l->left + 70, l->y, .2, .3);
    page_line(l->page, l->left + 80, l->y, l->left + 110, l->y, .2, .3);
    page_text(l->page, l->left, l->y + 3.6, 70, letter_type(7, false, .4, PAGE_LEFT),
              word(WORD_BILL_ACCEPTED_BY));
    page_text(l->page, l->left + 80, l->y + 3.6, 30, letter_type(7, false, .4, PAGE_LEFT),
              word(WORD_PAPER_DATE));
    l->y += 6;
}

static void compose(struct letter *l, const void *what) {
    const struct bill *bill = what;
    draw_head(l, bill);
    draw_parties(l, bill);
    page_open(l->page, "Table");
    draw_table_head(l, bill);
    for (size_t i = 0; i < bill->line_count; i++) draw_line(l, bill, &bill->line[i]);
    draw_totals(l, bill);
    page_close(l->page, "Table");
    for (size_t i = 0; i < bill->section_count; i++) {
        const struct bill_section *section = &bill->section[i];
        letter_heading(l, section->heading, section->count ? letter_height(l, 9, section->text[0]) : 0);
        for (size_t k = 0; k < section->count; k++)
            if (section->count == 1)
                letter_paragraph(l, 9, .1, section->text[k]);
            else
                letter_point(l, 9, section->text[k]);
    }
    if (bill->signature) draw_signature(l);
}

enum status bill_draw(const struct bill *bill, struct text *out, struct fault *fault) {
    struct text name = {0};
    text_format(&name, "%s %s \u00b7 %s", bill->kind, bill->number, bill->title);
    const enum status status = letter_draw(bill->size, name.data, name.data, compose, bill, out, fault);
    text_free(&name);
    return status;
}
