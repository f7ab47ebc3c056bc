/* The published chart, the choice of leather patches, and values coming into a card. */
#include "check.h"
#include "colour/difference.h"
#include "formats/card_values.h"
#include "paint/leather.h"
#include "surface/chart24.h"

/* L*, a*, b* (D50, 2 degrees) that the chart's makers published until November 2014, as passed on in
 * BSD-licensed colour libraries. */
static const double published[CHART24_PATCHES][3] = {
    {37.986, 13.555, 14.059},  {65.711, 18.13, 17.81},    {49.927, -4.88, -21.905},
    {43.139, -13.095, 21.905}, {55.112, 8.844, -25.399},  {70.719, -33.397, -.199},
    {62.661, 36.067, 57.096},  {40.02, 10.41, -45.964},   {51.124, 48.239, 16.248},
    {30.325, 22.976, -21.587}, {72.532, -23.709, 57.255}, {71.941, 19.363, 67.857},
    {28.778, 14.179, -50.297}, {55.261, -38.342, 31.37},  {42.101, 53.378, 28.19},
    {81.733, 4.039, 79.819},   {51.935, 49.986, -14.574}, {51.038, -28.631, -28.638},
    {96.539, -.425, 1.186},    {81.257, -.638, -.335},    {66.766, -.734, -.504},
    {50.867, -.153, -.27},     {35.656, -.421, -1.231},   {20.461, -.079, -.973}};

static void the_chart_looks_as_published(void) {
    const struct view view = {LIGHT_D50, OBSERVER_2};
    double sum = 0, most = 0;
    for (int i = 0; i < CHART24_PATCHES; i++) {
        struct spectrum r;
        chart24_reflectance(i, &r);
        const struct lab lab = {published[i][0], published[i][1], published[i][2], view};
        const double de00 = difference_de00(lab, lab_of_spectrum(&r, weights_of(view)));
        sum += de00 / CHART24_PATCHES, most = fmax(most, de00);
    }
    printf("  figure: thirty charts against the published Lab: %.2f dE00 mean, %.2f at most\n", sum, most);
    CHECK_AT_MOST(sum, .7);
    CHECK_AT_MOST(most, 1.6);
}

/* The program's table is the file's. */
static void the_chart_is_the_files(void) {
    FILE *file = fopen(SHIPPED_DATA "/charts/chart24.csv", "r");
    char line[1024];
    int row = 0;
    CHECK(file != NULL);
    while (file && fgets(line, sizeof line, file)) {
        if (line[0] == '#' || strncmp(line, "patch,", 6) == 0) continue;
        struct spectrum r;
        chart24_reflectance(row++, &r);
        char *at = strchr(line, ',');
        for (int b = 0; b < BANDS; b++) CHECK_NEAR(r.band[b], strtod(at + 1, &at), 1e-12);
    }
    CHECK(row == CHART24_PATCHES);
    if (file) fclose(file);
}

static double cover_of(const struct lab candidate[], const size_t chosen[], size_t n) {
    double sum = 0;
    for (size_t t = 0; t < LEATHER_COLOURS; t++) {
        double least = 1e9;
        for (size_t i = 0; i < n; i++) {
            const double d = difference_de00(leather_lab(t), candidate[chosen[i]]);
            least = fmin(least, d * d);
        }
        sum += least;
    }
    return sqrt(sum / LEATHER_COLOURS);
}

/* Against every choice of 3 of 14, and against single exchanges for more. */
static void the_cover_is_the_best_or_nearly(void) {
    unsigned long long seed = 5;
    for (int round = 0; round < 20; round++) {
        struct lab candidate[14];
        size_t chosen[3];
        double rms, best = 1e9;
        for (int i = 0; i < 14; i++)
            candidate[i] = (struct lab){15 + 75 * check_random(&seed),
                                        60 * check_random(&seed) - 15,
                                        70 * check_random(&seed) - 25,
                                        {LIGHT_D65, OBSERVER_10}};
        CHECK(leather_cover(candidate, 14, 3, chosen, &rms) == 3);
        CHECK_NEAR(rms, cover_of(candidate, chosen, 3), 1e-9);
        CHECK(chosen[0] < chosen[1] && chosen[1] < chosen[2]);
        for (size_t a = 0; a < 14; a++)
            for (size_t b = 0; b < a; b++)
                for (size_t c = 0; c < b; c++)
                    best = fmin(best, cover_of(candidate, (const size_t[]){a, b, c}, 3));
        CHECK(rms <= 1.05 * best);
    }
    struct lab one = leather_lab(3);
    size_t chosen[4];
    CHECK(leather_cover(&one, 1, 4, chosen, NULL) == 1 && chosen[0] == 0);
    CHECK(leather_cover(&one, 0, 4, chosen, NULL) == 0);
}

static enum status put(const char *text, struct photo_card *card, struct card_values_found *found,
                       struct arena *arena, struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "values.csv"};
    struct sample_file file;
    const enum status status = sample_file_read(&bytes, GEOMETRY_UNKNOWN, arena, &file, fault);
    return status == STATUS_OK ? card_values_put(card, &file, arena, found, fault) : status;
}

/* Rows as written below have seven values, 50 nm apart; here they get the sixteen of a grid that can be read.
 */
static void write_rows(const char *rows, char *out, size_t room) {
    size_t n = (size_t)snprintf(out, room, "SAMPLE_ID,POS_X_MM,POS_Y_MM,SIZE_MM");
    for (int nm = 400; nm <= 700; nm += 20) n += (size_t)snprintf(out + n, room - n, ",%d", nm);
    for (const char *line = rows; *line;) {
        const size_t length = strcspn(line, "|");
        const char *last = line + length;
        while (last > line && last[-1] != ',') last--;
        n += (size_t)snprintf(out + n, room - n, "\n%.*s", (int)(last - line), line);
        for (int i = 0; i < 16; i++)
            n += (size_t)snprintf(out + n, room - n, "%s%.*s", i ? "," : "", (int)(line + length - last),
                                  last);
        line += length + (line[length] == '|');
    }
    snprintf(out + n, room - n, "\n");
}

static void values_come_in_by_name_and_by_place(void) {
    struct arena *arena = arena_new();
    struct photo_card *card = arena_need(arena, 1, sizeof *card);
    struct card_values_found found;
    struct fault fault = {0};
    char text[2000];
    photo_card_own(card);
    const struct photo_patch *c3 = &card->patch[photo_card_patch(card, "c3")];
    char rows[200];
    snprintf(rows, sizeof rows, "n1,,,,.9|x,%g,%g,,.2|y,100,45,5,.3|z,,,,.3", c3->center_mm[0] + 1,
             c3->center_mm[1] - 2);
    write_rows(rows, text, sizeof text);
    CHECK(put(text, card, &found, arena, &fault) == STATUS_OK);
    CHECK_TEXT(fault.text, "");
    CHECK(found.put == 2 && found.added == 1);
    CHECK_TEXT(found.unknown, "z");
    CHECK(strstr(found.left, "c1") && !strstr(found.left, "c3,") && !strstr(found.left, "trap"));
    CHECK(c3->known == KNOWN_SPECTRUM && card->patch[photo_card_patch(card, "n1")].lab.l > 94);
    const int y = photo_card_patch(card, "y");
    CHECK(y == 25 && card->patch[y].size_mm == 5 && card->patch[y].role == PATCH_NEUTRAL);
    static const char *const wrong[] = {"a,119,45,,.3", "a,300,45,,.3", "a,q,45,,.3", "a,,,,.3"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        write_rows(wrong[i], text, sizeof text);
        CHECK(put(text, card, &found, arena, &fault) == STATUS_INPUT);
        CHECK(strlen(fault.text) > 20);
    }
    arena_free(arena);
}

static void a_photographed_sheet_becomes_a_card(void) {
    static const char toner[2][48] = {"white", "red"};
    struct arena *arena = arena_new();
    struct photo_card *card = arena_need(arena, 1, sizeof *card);
    CHECK(photo_card_start(toner, 2, 0, card));
    struct photo_spot *spot = arena_need(arena, 3, sizeof *spot);
    snprintf(spot[0].place.id, CARD_ID_MAX, "bare-white");
    snprintf(spot[1].place.id, CARD_ID_MAX, "red.10.black");
    snprintf(spot[2].place.id, CARD_ID_MAX, "stranger");
    for (int i = 0; i < 3; i++) {
        spot[i].lab = (struct lab){40 + i, 20.0 * i, 10, {LIGHT_D65, OBSERVER_10}};
        for (int k = 0; k < 3; k++) spot[i].cov[k][k] = 4;
    }
    struct card_values_found found;
    struct fault fault;
    CHECK(card_values_put_spots(card, spot, 3, "sheet.json", arena, &found, &fault) == STATUS_OK);
    CHECK(found.added == 2 && card->patches == 2 && card->places == 0);
    CHECK_TEXT(found.unknown, "stranger");
    const struct photo_patch *red = &card->patch[photo_card_patch(card, "red.10.black")];
    CHECK_NEAR(red->lab_sd, 2, 1e-12);
    CHECK(red->known == KNOWN_LAB && red->role == PATCH_COLOUR);
    arena_free(arena);
}

int main(void) {
    RUN(the_chart_looks_as_published);
    RUN(the_chart_is_the_files);
    RUN(the_cover_is_the_best_or_nearly);
    RUN(values_come_in_by_name_and_by_place);
    RUN(a_photographed_sheet_becomes_a_card);
    return check_done();
}
