/* Sheet one: what it is, before and after side by side, the proof. Then what was done and with what, what to
 * expect, the cure in a frame of its own, care, cautions, guarantee, signatures, and the digest of the twin.
 */
#include "report/record_paper.h"
#include <math.h>

static const double GAP = 6; /* mm between the two photographs */

static const char *word(enum word id) {
    return word_sentence(id);
}

static void draw_head(struct letter *l, const struct record_paper *r) {
    struct page_type title = letter_type(22, true, 0, PAGE_LEFT);
    title.heading = 1;
    page_text(l->page, l->left, l->y + 3, l->width * .6, letter_type(8, false, .4, PAGE_LEFT),
              word(WORD_RECORD_KIND));
    page_text(l->page, l->left, l->y + 12, l->width * .72, title, r->title);
    page_text(l->page, l->right, l->y + 3, l->width * .38, letter_type(9, true, 0, PAGE_RIGHT), r->shop);
    page_text(l->page, l->right, l->y + 7.4, l->width * .26, letter_type(9, false, .2, PAGE_RIGHT),
              r->number);
    l->y += 16;
    letter_rule(l, .5, 0);
    l->y += 2;
}

/* Label beside value, two to a row: read aloud, each label is followed by its value. A long value goes on
 * below. */
static void draw_facts(struct letter *l, const struct record_paper *r) {
    const double column = l->width / 2, label = 24, value = column - label - 3, line = 5.4;
    const struct page_type type = letter_type(9.5, false, 0, PAGE_LEFT);
    double row = 0;
    for (size_t i = 0; i < r->fact_count; i++) {
        const double x = l->left + column * (double)(i % 2),
                     high = page_paragraph_height(l->page, value, type, r->fact[i][1]);
        if (i % 2 == 0) l->y += row, row = 0;
        page_text(l->page, x, l->y + 4, label - 2, letter_type(8, false, .4, PAGE_LEFT), r->fact[i][0]);
        page_paragraph(l->page, x + label, l->y + .6, (struct page_size){value, high + .1}, type,
                       r->fact[i][1]);
        row = fmax(row, fmax(line, high + .6));
    }
    if (r->fact_count) l->y += row + 3.1;
}

static void draw_pair(struct letter *l, const struct record_paper *r, size_t first) {
    const double width = (l->width - GAP) / 2, height = width * 3 / 4;
    letter_need(l, height + 6);
    for (size_t i = first; i < first + 2 && i < r->picture_count; i++) {
        const double x = l->left + (i % 2 ? width + GAP : 0);
        page_box(l->page, x, l->y, (struct page_size){width, height}, .93);
        if (r->picture[i].width)
            page_image(l->page, x, l->y, (struct page_size){width, height}, &r->picture[i]);
        page_text(l->page, x, l->y + height + 4, width, letter_type(8, i % 2, .2, PAGE_LEFT), r->caption[i]);
    }
    l->y += height + 7;
}

/* Sound and repair touch: a likeness of what was measured. */
static void draw_spot(struct letter *l, const struct record_spot *spot) {
    const double side = 15, x = l->left + 2 * side + 4, width = l->width - 2 * side - 4;
    letter_need(l, side + 2);
    page_swatch(l->page, l->left, l->y, (struct page_size){side, side - 2}, spot->sound);
    page_swatch(l->page, l->left + side, l->y, (struct page_size){side, side - 2}, spot->repair);
    page_text(l->page, x, l->y + 3.4, width, letter_type(9, true, 0, PAGE_LEFT), spot->name);
    page_text(l->page, x, l->y + 7.8, width, letter_type(9, false, .1, PAGE_LEFT), spot->verdict);
    page_text(l->page, x, l->y + 11.8, width, letter_type(7.5, false, .4, PAGE_LEFT), spot->figures);
    l->y += side;
}

static void draw_proof(struct letter *l, const struct record_paper *r) {
    if (!*r->proof) return;
    letter_heading(l, word(WORD_RECORD_PROOF), letter_height(l, 9.5, r->proof));
    if (r->unproved)
        letter_strong(l, 9.5, r->proof);
    else
        letter_paragraph(l, 9.5, 0, r->proof);
    for (size_t i = 0; i < r->spot_count; i++) draw_spot(l, &r->spot[i]);
    if (r->spot_count) letter_paragraph(l, 7, .4, word(WORD_RECORD_SWATCHES));
}

static const double SIGNED_MM = 34, DIGEST_MM = 8;
enum { KEPT_POINTS = 2 };

/* The signatures never stand alone on a sheet: the last points of what comes before them go along. */
static double tail_height(const struct letter *l, const struct record_list *list, size_t from) {
    double height = 0;
    for (size_t i = from; i < list->count; i++) height += letter_height(l, 9, list->text[i]) + .9;
    return height + SIGNED_MM + DIGEST_MM;
}

static void draw_list(struct letter *l, enum word heading, const struct record_list *list, bool last) {
    const size_t tail = list->count > KEPT_POINTS ? list->count - KEPT_POINTS : 0;
    if (!list->count) return;
    letter_heading(l, word(heading),
                   last && tail == 0 ? tail_height(l, list, 0) : letter_height(l, 9, list->text[0]));
    for (size_t i = 0; i < list->count; i++) {
        if (last && i == tail && i) letter_need(l, tail_height(l, list, tail));
        letter_point(l, 9, list->text[i]);
    }
}

static const double SPLIT = .38, ROW_GAP = 1.4; /* of the width; mm under a row */

static double row_height(const struct letter *l, const struct record_row *row) {
    const struct page_type type = letter_type(9, false, 0, PAGE_LEFT);
    return fmax(page_paragraph_height(l->page, l->width * SPLIT - 3, type, row->what),
                page_paragraph_height(l->page, l->width * (1 - SPLIT), type, row->detail));
}

static void draw_row(struct letter *l, const struct record_row *row) {
    const double split = l->width * SPLIT;
    page_open(l->page, "TR");
    page_paragraph(l->page, l->left, l->y + .5, (struct page_size){split - 3, 200},
                   letter_type(9, false, 0, PAGE_LEFT), row->what);
    page_paragraph(l->page, l->left + split, l->y + .5, (struct page_size){l->width - split, 200},
                   letter_type(9, false, .2, PAGE_LEFT), row->detail);
    page_close(l->page, "TR");
    l->y += row_height(l, row) + ROW_GAP;
    letter_rule(l, .08, .75);
}

/* A table of up to half a sheet stays together; a longer one has its heading again on the next sheet.
 * `below`: what must stand on the sheet of its last row. */
static void draw_rows(struct letter *l, enum word heading, const struct record_row row[], size_t count,
                      double below) {
    double height = 0;
    if (!count) return;
    for (size_t i = 0; i < count; i++) height += row_height(l, &row[i]) + ROW_GAP;
    const bool together = height < .5 * (l->bottom - l->top);
    letter_heading(l, word(heading), together ? height + below : row_height(l, &row[0]) + ROW_GAP);
    page_open(l->page, "Table");
    for (size_t i = 0; i < count; i++) {
        if (l->y + row_height(l, &row[i]) + ROW_GAP + (i + 1 == count ? below : 0) > l->bottom) {
            page_close(l->page, "Table");
            letter_heading(l, word(heading), l->bottom - l->top); /* does not fit here: a new sheet */
            page_open(l->page, "Table");
        }
        draw_row(l, &row[i]);
    }
    page_close(l->page, "Table");
    l->y += 1;
}

static void draw_cure(struct letter *l, const struct record_paper *r) {
    if (!*r->cure) return;
    const struct page_type type = letter_type(10.5, true, 0, PAGE_LEFT);
    const double height = page_paragraph_height(l->page, l->width - 8, type, r->cure) + 6;
    letter_need(l, height + 4);
    l->y += 2;
    page_box(l->page, l->left, l->y, (struct page_size){l->width, height}, .92);
    page_paragraph(l->page, l->left + 4, l->y + 3, (struct page_size){l->width - 8, 200}, type, r->cure);
    l->y += height + 1;
}

static void draw_signatures(struct letter *l) {
    static const enum word who[] = {WORD_RECORD_SIGNED_SHOP, WORD_RECORD_SIGNED_CUSTOMER};
    const double width = (l->width - GAP) / 2;
    letter_need(l, SIGNED_MM);
    l->y += 22;
    for (int i = 0; i < 2; i++) {
        const double x = l->left + (width + GAP) * i;
        page_line(l->page, x, l->y, x + width, l->y, .2, .3);
        page_text(l->page, x, l->y + 3.6, width, letter_type(7, false, .4, PAGE_LEFT), word(who[i]));
    }
    l->y += 8;
}

static void compose(struct letter *l, const void *what) {
    const struct record_paper *r = what;
    const bool remarks = r->remarks.count > 0, guarantee = r->guarantee_count > 0;
    draw_head(l, r);
    draw_facts(l, r);
    for (size_t i = 0; i < r->picture_count; i += 2) draw_pair(l, r, i);
    if (r->more_pictures) letter_paragraph(l, 7, .4, r->more_pictures);
    draw_proof(l, r);
    draw_list(l, WORD_RECORD_DONE, &r->done, false);
    draw_rows(l, WORD_RECORD_USED, r->used, r->used_count, 0);
    draw_list(l, WORD_RECORD_EXPECT_HEAD, &r->expect, false);
    draw_cure(l, r);
    draw_list(l, WORD_RECORD_CARE_HEAD, &r->care, false);
    draw_list(l, WORD_RECORD_CAUTIONS, &r->cautions, !remarks && !guarantee);
    draw_rows(l, WORD_RECORD_GUARANTEE, r->guarantee, r->guarantee_count,
              remarks ? 0 : SIGNED_MM + DIGEST_MM);
    draw_list(l, WORD_RECORD_REMARKS, &r->remarks, true);
    draw_signatures(l);
    if (*r->digest) letter_paragraph(l, 7, .4, r->digest);
}

enum status record_paper_draw(const struct record_paper *record, struct text *out, struct fault *fault) {
    struct text name = {0};
    text_format(&name, "%s \u00b7 %s \u00b7 %s", word(WORD_RECORD_KIND), record->number, record->title);
    const enum status status = letter_draw(record->size, name.data, name.data, compose, record, out, fault);
    text_free(&name);
    return status;
}
