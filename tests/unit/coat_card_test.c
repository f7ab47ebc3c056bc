/* The coat card: the same bytes twice, any content, one sheet unless notes ask for a second. */
#include "check.h"
#include "report/coat_card.h"

static struct coat_card sample(void) {
    struct coat_card card = {.title = "cognac helm seat",
                             .subtitle = "0.6 m\u00b2 by gun",
                             .total_ml = 141,
                             .coat_ml = 22,
                             .wet_um = 24,
                             .dry_um = 6,
                             .has_gun = true,
                             .speed_m_s = 0.45,
                             .stroke_s = 2.2,
                             .step_mm = 100,
                             .flow_ml_min = 100,
                             .fan_mm = 200,
                             .overlap = 0.5,
                             .distance_low_mm = 150,
                             .distance_high_mm = 250,
                             .strokes = 6,
                             .first_pot_ends = "",
                             .pot_life_s = (double)NAN,
                             .row_count = 5};
    for (size_t i = 0; i < COAT_CARD_ROWS_MOST; i++)
        card.row[i] =
            (struct coat_card_row){600.0 * (double)i, 600, 6.0 * (double)(i + 1), "14:05", i == 3, 0};
    card.caution[card.caution_count++] = word_sentence(WORD_CAUTION_SHEETS_FIRST);
    return card;
}

static struct text drawn(const struct coat_card *card, enum page_kind kind) {
    struct text out = {0};
    struct fault fault = {0};
    CHECK(coat_card_draw(card, kind, &out, &fault) == STATUS_OK && out.length > 500);
    return out;
}

static int pages_of(const struct text *pdf) {
    int pages = 0;
    for (size_t i = 0; i + 12 < pdf->length; i++)
        pages += memcmp(pdf->data + i, "/Type /Page", 11) == 0 && pdf->data[i + 11] != 's';
    return pages;
}

static void the_same_card_is_the_same_bytes(void) {
    const struct coat_card card = sample();
    /* An SVG carries cairo's running number of surfaces: the same only in a process of its own. */
    static const enum page_kind kind[] = {PAGE_PDF, PAGE_PNG};
    for (int i = 0; i < 2; i++) {
        struct text once = drawn(&card, kind[i]), again = drawn(&card, kind[i]);
        CHECK(once.length == again.length && memcmp(once.data, again.data, once.length) == 0);
        text_free(&once);
        text_free(&again);
    }
}

static void notes_that_do_not_fit_take_a_second_sheet(void) {
    struct coat_card card = sample();
    struct text pdf = drawn(&card, PAGE_PDF);
    CHECK(pages_of(&pdf) == 1);
    text_free(&pdf);
    card.row_count = COAT_CARD_ROWS_MOST;
    while (card.note_count < COAT_CARD_NOTES_MOST)
        card.note[card.note_count++] = word_sentence(WORD_RING_NOT_KNOWN);
    pdf = drawn(&card, PAGE_PDF);
    CHECK(pages_of(&pdf) == 2);
    text_free(&pdf);
}

static void any_content_is_drawn(void) {
    char longest[5000];
    memset(longest, 'W', sizeof longest);
    longest[sizeof longest - 1] = 0;
    static const double number[] = {0, 1e-300, 1e9, 1e300, -5, (double)NAN, HUGE_VAL};
    for (size_t i = 0; i < sizeof number / sizeof number[0]; i++) {
        struct coat_card card = sample();
        card.title = i % 2 ? longest : "";
        card.subtitle = longest;
        card.total_ml = card.coat_ml = card.wet_um = card.stroke_s = card.margin_k = card.speed_m_s =
            number[i];
        card.has_air = true;
        card.pot_life_s = i % 2 ? 3600 : (double)NAN;
        card.row_count = i * 10;
        card.note[card.note_count++] = longest;
        struct text out = drawn(&card, PAGE_PDF);
        text_free(&out);
    }
}

int main(void) {
    RUN(the_same_card_is_the_same_bytes);
    RUN(notes_that_do_not_fit_take_a_second_sheet);
    RUN(any_content_is_drawn);
    return check_done();
}
