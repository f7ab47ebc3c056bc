/* Papers: same bytes twice, nothing over the edge, a QR code that is there, and colours of sRGB.
 * Sources: sRGB primaries and greys in CIELAB D65/2 from IEC 61966-2-1 (computed from its matrix; the
 * primaries' Lab are printed in common handbooks to two decimals, from memory: red 53.24 80.09 67.20,
 * green 87.73 -86.18 83.18, blue 32.30 79.19 -107.86). */
#include "check.h"
#include "report/pour_sheet.h"
#include "report/swatch.h"
#include <time.h>
#include <unistd.h>

static struct lab lab_at(double l, double a, double b) {
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

static void check_screen(struct lab lab, double r, double g, double b) {
    const struct screen_colour c = screen_of_lab(lab);
    CHECK_NEAR(c.r, r, .004);
    CHECK_NEAR(c.g, g, .004);
    CHECK_NEAR(c.b, b, .004);
}

static void srgb_primaries_come_back(void) {
    check_screen(lab_at(53.24, 80.09, 67.20), 1, 0, 0);
    check_screen(lab_at(87.73, -86.18, 83.18), 0, 1, 0);
    check_screen(lab_at(32.30, 79.19, -107.86), 0, 0, 1);
    check_screen(lab_at(100, 0, 0), 1, 1, 1);
    check_screen(lab_at(0, 0, 0), 0, 0, 0);
    check_screen(lab_at(53.585, 0, 0), .50196, .50196, .50196); /* sRGB 128 */
}

static void what_a_screen_cannot_show_keeps_its_lightness(void) {
    unsigned long long seed = 7;
    int out = 0;
    for (int i = 0; i < 20000; i++) {
        const struct lab lab = lab_at(100 * check_random(&seed), 240 * check_random(&seed) - 120,
                                      240 * check_random(&seed) - 120);
        const struct screen_colour c = screen_of_lab(lab);
        const struct screen_colour grey = screen_of_lab(lab_at(lab.l, 0, 0));
        CHECK(c.r >= 0 && c.r <= 1 && c.g >= 0 && c.g <= 1 && c.b >= 0 && c.b <= 1);
        if (!c.out_of_reach) continue;
        out++;
        double y[2];
        const struct screen_colour both[] = {c, grey};
        for (int k = 0; k < 2; k++) {
            double v[] = {both[k].r, both[k].g, both[k].b};
            for (int m = 0; m < 3; m++)
                v[m] = v[m] <= .04045 ? v[m] / 12.92 : pow((v[m] + .055) / 1.055, 2.4);
            y[k] = .2126 * v[0] + .7152 * v[1] + .0722 * v[2];
        }
        CHECK_NEAR(y[0], y[1], .002);
    }
    CHECK(out > 5000);
}

static struct pour_sheet sample_sheet(void) {
    struct pour_sheet sheet = {
        .title = "cognac helm seat",
        .subtitle = "recipe 1, scale .01 g, do not re-zero",
        .decimals = 2,
        .total_g = 60,
        .step_count = 6,
        .target_lab = lab_at(43.1, 24.2, 33.6),
        .predicted_lab = lab_at(43.3, 24.0, 33.5),
        .has_target = true,
        .has_target_curve = true,
        .de00 = .21,
        .spray_g = 50,
        .addition_count = 3,
        .addition = {{"thinner (water)", 10, 5}, {"slip", 3, 1.5}, {"crosslinker", 2, 1}},
        .caution_count = 3,
        .qr = "{\"russet\":\"0.1.0\",\"kind\":\"recipe\"}"};
    static const struct sheet_step step[] = {{"Binder, first part", "15.00 ml", 15, 15, .6, .6},
                                             {"Black", "0.40 ml", .42, 15.42, .02, .02},
                                             {"Oxide red", "3.2 ml", 4.31, 19.73, .08, .09},
                                             {"Yellow oxide", "", 9.87, 29.60, .12, .12},
                                             {"White", "9.1 ml", 12.4, 42.0, .3, .3},
                                             {"Binder, the rest", "17.6 ml", 18, 60, .9, 1.1}};
    memcpy(sheet.step, step, sizeof step);
    for (int b = 0; b < BANDS; b++) {
        sheet.target.band[b] = .05 + .3 / (1 + exp(-(b - 17) / 3.0));
        sheet.predicted.band[b] = .052 + .297 / (1 + exp(-(b - 17) / 3.0));
    }
    sheet.caution[0] = "Wear gloves and glasses; the product's safety data sheet goes first.";
    sheet.caution[1] = "Isocyanate mist is the commonest cause of occupational asthma among sprayers; filter "
                       "masks do not serve, air-fed breathing apparatus does.";
    sheet.caution[2] = "A crosslinked pot makes gas: it is never sealed and never kept.";
    return sheet;
}

static void the_same_sheet_is_the_same_bytes(void) {
    const struct pour_sheet sheet = sample_sheet();
    struct text a = {0}, b = {0};
    struct fault fault;
    CHECK(pour_sheet_draw(&sheet, PAGE_PDF, &a, &fault) == STATUS_OK);
    const time_t start = time(NULL);
    while (time(NULL) == start) usleep(20000); /* another second on the clock */
    CHECK(pour_sheet_draw(&sheet, PAGE_PDF, &b, &fault) == STATUS_OK);
    CHECK(a.length == b.length && memcmp(a.data, b.data, a.length) == 0);
    CHECK(a.length > 5000 && memcmp(a.data, "%PDF-1", 6) == 0);
    printf("  figure: pour sheet %zu bytes of PDF\n", a.length);
    const char *keep = getenv("RUSSET_KEEP");
    if (keep) {
        FILE *f = fopen(keep, "wb");
        fwrite(a.data, 1, a.length, f);
        fclose(f);
    }
    text_free(&a);
    text_free(&b);
}

static void keep(const char *variable, const struct text *bytes) {
    const char *path = getenv(variable);
    FILE *f = path ? fopen(path, "wb") : NULL;
    if (!f) return;
    fwrite(bytes->data, 1, bytes->length, f);
    fclose(f);
}

/* Everything as long as it can be: nine steps, long and foreign names, twelve cautions. It is looked at by
 * eye when the layout changes (RUSSET_KEEP_LONG=sheet.pdf); here it must be drawn, on a second page, and
 * twice the same. */
static void the_fullest_sheet_is_drawn(void) {
    struct pour_sheet sheet = sample_sheet();
    static const char *const names[] = {
        "Burnt sienna with a little more than the usual amount of extender, tin 4, opened in spring",
        "W\u00fcstenocker gebrannt, sehr gelb",
        "\u0436\u0451\u043b\u0442\u0430\u044f \u043e\u0445\u0440\u0430 "
        "\u0441\u0432\u0435\u0442\u043b\u0430\u044f",
        "\u03ba\u03cc\u03ba\u03ba\u03b9\u03bd\u03bf \u03c4\u03b7\u03c2 "
        "\u03c3\u03ba\u03bf\u03c5\u03c1\u03b9\u03ac\u03c2",
        "\u8d64\u571f",
        "Binder",
        "Black",
        "White",
        "Binder, the rest of it"};
    sheet.title =
        "The aft bench of a wooden motor launch, port side, second cushion from the stern, demo customer";
    sheet.subtitle = "recipe 12, scale 0.001 g, zeroed once, and a subtitle that goes on and on until it has "
                     "to be cut somewhere";
    sheet.decimals = 3;
    sheet.total_g = 98765.432;
    sheet.step_count = 9;
    for (size_t i = 0; i < 9; i++)
        sheet.step[i] = (struct sheet_step){
            names[i],
            i == 3 ? "let down: 12.000 g in 108.000 g of binder-with-a-long-id-that-goes-on" : "12345.67 ml",
            12345.678,
            98765.432,
            .125,
            10.25};
    sheet.caution_count = SHEET_CAUTIONS_MOST;
    for (size_t i = 0; i < SHEET_CAUTIONS_MOST; i++) sheet.caution[i] = sheet.caution[1];
    struct text a = {0}, b = {0};
    struct fault fault;
    CHECK(pour_sheet_draw(&sheet, PAGE_PDF, &a, &fault) == STATUS_OK);
    CHECK(pour_sheet_draw(&sheet, PAGE_PDF, &b, &fault) == STATUS_OK);
    CHECK(a.length == b.length && memcmp(a.data, b.data, a.length) == 0);
    keep("RUSSET_KEEP_LONG", &a);
    text_free(&a);
    text_free(&b);
}

static void swatches_of_any_number_are_drawn(void) {
    static struct swatch swatch[37];
    static const char *const names[] = {"Black", "Oxide yellow",
                                        "A name that is far too long for the card that it has to stand on",
                                        "\u0436\u0451\u043b\u0442\u0430\u044f"};
    for (size_t i = 0; i < 37; i++) {
        swatch[i] = (struct swatch){.name = names[i % 4], .detail = "id-of-it, lot 2031-a", .step_count = 3};
        static const char *const labels[] = {"masstone", "1 in 10 white", "1 in 100 white"};
        for (int k = 0; k < 3; k++) {
            for (int b = 0; b < BANDS; b++)
                swatch[i].step[k].reflectance.band[b] =
                    .04 + (.2 + .3 * k) / (1 + exp(-(b - (double)i) / 3.0));
            swatch[i].step[k].label = labels[k];
            swatch[i].step[k].lab = lab_at(30 + 25 * k, 50 * cos((double)i), 50 * sin((double)i));
        }
    }
    static const size_t counts[] = {0, 1, 16, 17, 37};
    for (size_t c = 0; c < 5; c++)
        for (int kind = PAGE_PDF; kind <= PAGE_PNG; kind++) {
            const struct swatch_sheet sheet = {"Toners", counts[c], swatch};
            struct text out = {0};
            struct fault fault;
            if (kind == PAGE_PNG && c == 4) continue; /* slow, and nothing new */
            CHECK(swatch_draw(&sheet, (enum page_kind)kind, &out, &fault) == STATUS_OK);
            CHECK(out.length > 100);
            if (c == 3 && kind == PAGE_PDF) keep("RUSSET_KEEP_SWATCH", &out);
            text_free(&out);
        }
}

static void a_png_and_an_svg_are_drawn_too(void) {
    const struct pour_sheet sheet = sample_sheet();
    struct text png = {0}, svg = {0};
    struct fault fault;
    CHECK(pour_sheet_draw(&sheet, PAGE_PNG, &png, &fault) == STATUS_OK);
    CHECK(pour_sheet_draw(&sheet, PAGE_SVG, &svg, &fault) == STATUS_OK);
    CHECK(png.length > 8 && memcmp(png.data, "\x89PNG", 4) == 0);
    CHECK(svg.length > 8 && strstr(svg.data, "<svg"));
    text_free(&png);
    text_free(&svg);
}

static void a_line_never_leaves_its_room(void) {
    static const char *const names[] = {
        "a",
        "Burnt sienna with a little more than the usual amount of extender, tin 4, opened in spring, shake "
        "well",
        "W\u00fcstenocker",
        "\u0436\u0451\u043b\u0442\u0430\u044f \u043e\u0445\u0440\u0430 \u0441 \u043e\u0447\u0435\u043d\u044c "
        "\u0434\u043b\u0438\u043d\u043d\u044b\u043c \u043d\u0430\u0437\u0432\u0430\u043d\u0438\u0435\u043c, "
        "\u0431\u0430\u043d\u043a\u0430 4",
        "\u8d64\u571f \u9ec4\u571f \u767d \u9ed2 \u8d64\u571f \u9ec4\u571f \u767d \u9ed2 \u8d64\u571f "
        "\u9ec4\u571f \u767d \u9ed2",
        "\u0645\u063a\u0631\u0629 \u0635\u0641\u0631\u0627\u0621 \u0645\u063a\u0631\u0629 "
        "\u0635\u0641\u0631\u0627\u0621 \u0645\u063a\u0631\u0629 \u0635\u0641\u0631\u0627\u0621",
        "MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM",
        "line\nbreak\tand tab"};
    struct page *page = page_new(PAGE_PNG, PAGE_A5, "widths");
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        for (int a = 0; a < 3; a++)
            for (double width = 8; width < 100; width *= 1.7)
                CHECK_AT_MOST(page_text(page, 20, 20, width,
                                        (struct page_type){.size_pt = 11, .align = (enum page_align)a},
                                        names[i]),
                              width + .01);
    struct text out = {0};
    struct fault fault;
    CHECK(page_finish(page, &out, &fault) == STATUS_OK);
    text_free(&out);
}

static void a_text_that_no_qr_code_holds_is_refused_in_words(void) {
    struct pour_sheet sheet = sample_sheet();
    char *longest = malloc(3001);
    memset(longest, 'x', 3000);
    longest[3000] = 0;
    sheet.qr = longest;
    struct text out = {0};
    struct fault fault = {0};
    CHECK(pour_sheet_draw(&sheet, PAGE_PDF, &out, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_PAPER_QR_TOO_LONG);
    text_free(&out);
    free(longest);
}

int main(void) {
    RUN(srgb_primaries_come_back);
    RUN(what_a_screen_cannot_show_keeps_its_lightness);
    RUN(the_same_sheet_is_the_same_bytes);
    RUN(the_fullest_sheet_is_drawn);
    RUN(swatches_of_any_number_are_drawn);
    RUN(a_png_and_an_svg_are_drawn_too);
    RUN(a_line_never_leaves_its_room);
    RUN(a_text_that_no_qr_code_holds_is_refused_in_words);
    return check_done();
}
