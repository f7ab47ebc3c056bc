/* Quote, invoice and handover record: the same bytes twice, A4 and Letter, any content, as many sheets as it
 * takes, amounts and sentences on them. Reading order, fonts and pictures: tests/cli/job.sh (pdftotext,
 * pdffonts). All content is invented. With RUSSET_PAPERS=FOLDER the papers are kept there, to be looked at.
 */
#include "check.h"
#include "report/bill.h"
#include "report/record_paper.h"

static struct text kept(struct text out, const char *name) {
    const char *folder = getenv("RUSSET_PAPERS");
    char path[300];
    if (!folder) return out;
    snprintf(path, sizeof path, "%s/%s.pdf", folder, name);
    FILE *file = fopen(path, "wb");
    if (file) fwrite(out.data, 1, out.length, file), fclose(file);
    return out;
}

static void sample_bill(struct bill *bill, struct page_size size, bool range) {
    *bill = (struct bill){.size = size,
                          .kind = word_sentence(range ? WORD_BILL_QUOTE : WORD_BILL_INVOICE),
                          .number = "7",
                          .title = "Helm seat of a motor launch",
                          .mark = "",
                          .fact_count = 2,
                          .fact = {{"Date", "2026-11-25"}, {"Valid until", "2026-12-25"}},
                          .shop_count = 3,
                          .customer_count = 2,
                          .shop = {"The demo shop (invented)", "Slipway 3", "Tax number 00000"},
                          .customer = {"demo customer", "Boathouse 1"},
                          .currency = "EUR",
                          .range = range,
                          .signature = range};
    static const char *const what[] = {"Cleaning until a white cloth stays white",
                                       "Filling with flexible filler", "Colour coats", "Materials", "Travel"};
    struct tax_line low[5], high[5];
    struct fault fault;
    for (int i = 0; i < 5; i++) {
        bill->line[bill->line_count++] =
            (struct bill_line){what[i], i == 1 ? "0.8 to 1.4 hours" : "", 123456 * (i + 1), 150000 * (i + 1)};
        low[i] = (struct tax_line){.written = bill->line[i].low, .rate_ppm = 200000};
        high[i] = (struct tax_line){.written = bill->line[i].high, .rate_ppm = 200000};
    }
    CHECK(tax_reckon(low, 5, TAX_BY_INVOICE, TAX_ADDED, &bill->low, &fault) == STATUS_OK);
    CHECK(tax_reckon(high, 5, TAX_BY_INVOICE, TAX_ADDED, &bill->high, &fault) == STATUS_OK);
    bill->section_count = 2;
    bill->section[0] =
        (struct bill_section){word_sentence(WORD_BILL_RANGE), 1, {word_sentence(WORD_BILL_RANGE_TEXT)}};
    bill->section[1] =
        (struct bill_section){word_sentence(WORD_BILL_GUARANTEE),
                              2,
                              {word_sentence(WORD_GUARANTEE_WEAR), word_sentence(WORD_GUARANTEE_FLEX)}};
}

static unsigned char photograph[2][120 * 90 * 3];

static void sample_record(struct record_paper *r, struct page_size size) {
    for (int y = 0; y < 90; y++)
        for (int x = 0; x < 120; x++)
            for (int p = 0; p < 2; p++) {
                unsigned char *to = &photograph[p][3 * (y * 120 + x)];
                const int grain = (x * 7 + y * 13) % 11, crack = p == 0 && abs(x - y - 15) < 3 ? 60 : 0;
                to[0] = (unsigned char)(150 + grain + crack), to[1] = (unsigned char)(85 + grain + crack),
                to[2] = (unsigned char)(45 + grain + crack);
            }
    *r = (struct record_paper){
        .size = size,
        .title = "Helm seat of a motor launch",
        .shop = "The demo shop (invented)",
        .number = "Job 7",
        .fact_count = 5,
        .fact = {{"Customer", "demo customer"},
                 {"Piece", "helm seat"},
                 {"Material", "pigmented leather"},
                 {"Handed over", "2026-11-25"},
                 {"Full cure", "2026-12-02"}},
        .picture_count = 2,
        .picture = {{120, 90, photograph[0]}, {120, 90, photograph[1]}},
        .caption = {"before", "after"},
        .proof = "The final check passed: every reading lies within the shop's tolerance.",
        .spot_count = 2,
        .spot = {{"seat, left bolster",
                  {.58, .36, .2, false},
                  {.585, .362, .2, false},
                  "dE00 0.42 (D65), 0.61 (A); gloss +0.1 GU",
                  "Not seen side by side."},
                 {"seat, middle",
                  {.57, .35, .2, false},
                  {.58, .352, .21, false},
                  "dE00 0.71 (D65), 0.93 (A); gloss +0.3 GU",
                  "Not seen side by side."}},
        .used_count = 2,
        .used = {{"binder, lot 3", "31.20 g"}, {"oxide red, lot 1", "4.10 g"}},
        .guarantee_count = 1,
        .guarantee = {{"Colour coats, 12 months", word_sentence(WORD_GUARANTEE_WEAR)}},
        .cure = "Full cure takes 7 days, until 2026-12-02. Until then no bare skin for long, no child seat, "
                "no seat cover.",
        .digest = "sha256:0000000000000000000000000000000000000000000000000000000000000000"};
    r->done.text[r->done.count++] = word_sentence(WORD_STEP_CLEAN);
    r->expect.text[r->expect.count++] = word_sentence(WORD_EXPECT_BETTER);
    r->care.text[r->care.count++] = word_sentence(WORD_CARE_DUST);
    r->cautions.text[r->cautions.count++] = word_sentence(WORD_RECORD_HEAT);
}

static int pages_of(const struct text *pdf) {
    int pages = 0;
    for (size_t i = 0; i + 12 < pdf->length; i++)
        pages += memcmp(pdf->data + i, "/Type /Page", 11) == 0 && pdf->data[i + 11] != 's';
    return pages;
}

static bool holds(const struct text *pdf, const char *word) {
    return memmem(pdf->data, pdf->length, word, strlen(word)) != NULL;
}

static void the_same_paper_is_the_same_bytes_in_both_sizes(void) {
    static struct bill bill;
    static struct record_paper record;
    struct fault fault;
    struct text last = {0};
    for (int i = 0; i < 4; i++) {
        struct text once = {0}, again = {0};
        const struct page_size size = i & 1 ? PAGE_LETTER : PAGE_A4;
        if (i < 2)
            sample_bill(&bill, size, i == 0);
        else
            sample_record(&record, size);
        CHECK((i < 2 ? bill_draw(&bill, &once, &fault) : record_paper_draw(&record, &once, &fault)) ==
              STATUS_OK);
        CHECK((i < 2 ? bill_draw(&bill, &again, &fault) : record_paper_draw(&record, &again, &fault)) ==
              STATUS_OK);
        CHECK(once.length == again.length && memcmp(once.data, again.data, once.length) == 0);
        static const char *const name[] = {"quote-a4", "invoice-letter", "record-a4", "record-letter"};
        once = kept(once, name[i]);
        CHECK(pages_of(&once) == (i < 2 ? 1 : 2));
        CHECK(holds(&once, "/StructTreeRoot") && holds(&once, "/FontFile"));
        CHECK(holds(&once, i & 1 ? "612 792" : "841.88"));
        text_free(&last);
        last = once;
        text_free(&again);
    }
    text_free(&last);
}

static void long_papers_take_more_sheets(void) {
    static struct bill bill;
    struct fault fault;
    for (size_t lines = 5; lines <= BILL_LINES_MOST - 1; lines += 43) {
        struct text out = {0};
        sample_bill(&bill, PAGE_A4, true);
        while (bill.line_count < lines)
            bill.line[bill.line_count] = bill.line[bill.line_count % 5], bill.line_count++;
        CHECK(bill_draw(&bill, &out, &fault) == STATUS_OK);
        CHECK(pages_of(&out) >= (int)lines / 35 && pages_of(&out) <= (int)lines / 12 + 1);
        if (lines > 80 && lines < 100) out = kept(out, "quote-long");
        text_free(&out);
    }
}

static void any_content_is_drawn(void) {
    char longest[5000];
    static struct bill bill;
    static struct record_paper record;
    struct fault fault;
    memset(longest, 'W', sizeof longest);
    longest[sizeof longest - 1] = 0;
    static const char *const text[] = {"", "\u6f22\u5b57 \u0437 \u05d0", "a\nb\tc", "\xff\xfe"};
    for (int i = 0; i < 5; i++) {
        struct text out = {0};
        const char *word = i < 4 ? text[i] : longest;
        sample_bill(&bill, PAGE_A4, true);
        bill.title = bill.number = bill.shop[1] = bill.customer[0] = bill.fact[0][1] = bill.line[0].what =
            bill.line[1].detail = bill.mark = word;
        bill.line[2].low = -MONEY_MOST;
        CHECK(bill_draw(&bill, &out, &fault) == STATUS_OK);
        text_free(&out);
        out = (struct text){0};
        sample_record(&record, PAGE_LETTER);
        record.title = record.shop = record.fact[1][1] = record.caption[0] = record.spot[0].name =
            record.used[0].what = record.used[1].detail = record.cure = word;
        record.done.text[record.done.count++] = word;
        record.picture[0] = (struct page_picture){1, 1, photograph[0]};
        record.picture_count = (size_t)i;
        for (int p = 2; p < i; p++) record.picture[p] = record.picture[0], record.caption[p] = word;
        CHECK(record_paper_draw(&record, &out, &fault) == STATUS_OK);
        text_free(&out);
    }
}

int main(void) {
    RUN(the_same_paper_is_the_same_bytes_in_both_sizes);
    RUN(long_papers_take_more_sheets);
    RUN(any_content_is_drawn);
    return check_done();
}
