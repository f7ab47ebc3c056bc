#include "check.h"
#include "formats/cgats_out.h"
#include "formats/drawdowns.h"

static struct arena *arena;
static struct drawdown_file drawdowns;
static struct fault fault;

static enum status read_string(const char *text) {
    arena_free(arena);
    arena = arena_new();
    memset(&drawdowns, 0, sizeof drawdowns);
    memset(&fault, 0, sizeof fault);
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "d.csv"};
    return drawdowns_read(&bytes, GEOMETRY_SCI, arena, &drawdowns, &fault);
}

/* rows: "ID,BACKING,FILM_UM,TOPCOAT,white,black" each; a flat spectrum of .3 is put behind. */
static enum status read_rows(const char *columns, const char *const rows[]) {
    struct text text = {0};
    text_add(&text, columns);
    for (int nm = 400; nm <= 700; nm += 10) text_format(&text, ";%d", nm);
    for (; *rows; rows++) {
        text_format(&text, "\n%s", *rows);
        for (int nm = 400; nm <= 700; nm += 10) text_add(&text, ";0,3");
    }
    const enum status status = read_string(text.data);
    text_free(&text);
    return status;
}
#define READ_ROWS(...)                                                     \
    read_rows("SAMPLE_ID;BACKING;FILM_UM;TOPCOAT;MIX_white;MIX_oxide-red", \
              (const char *const[]){__VA_ARGS__, NULL})

static void a_table_of_films_becomes_rows(void) {
    CHECK(READ_ROWS("a;card;30,5;;10;0,5", "card;;;;;", "b;-;;;0;3", "c;card;;12;1;") == STATUS_OK);
    const struct drawdown_set *set = &drawdowns.set;
    CHECK(set->count == 4 && set->toner_count == 2);
    if (set->count != 4) return;
    CHECK_TEXT(set->toner_id[1], "oxide-red");
    CHECK(set->row[0].backing == 1 && !set->row[0].is_bare);
    CHECK_NEAR(set->row[0].film_um, 30.5, 0);
    CHECK_NEAR(set->row[0].mass_g[1], 0.5, 0);
    CHECK(set->row[1].is_bare && isnan(set->row[1].film_um));
    CHECK(set->row[2].backing == DRAWDOWN_OPAQUE && !set->row[2].is_bare && isnan(set->row[2].topcoat_gu));
    CHECK(set->row[3].backing == 1 && isnan(set->row[3].film_um));
    CHECK_NEAR(set->row[3].topcoat_gu, 12, 0);
    CHECK(set->geometry == GEOMETRY_SCI);
    CHECK_NEAR(set->row[3].reflectance.band[30], 0.3, 1e-12);
}

static void every_slip_in_a_row_is_named(void) {
    static const struct {
        const char *row;
        enum word word;
    } slip[] = {{"a;none;30;;1;", WORD_DRAWDOWN_BACKING_UNKNOWN},
                {"a;film;30;;1;", WORD_DRAWDOWN_BACKING_NOT_BARE},
                {"a;;30;;1;", WORD_DRAWDOWN_BACKING_MISSING},
                {"a;-;30;;1;", WORD_DRAWDOWN_OPAQUE_FILM},
                {"a;card;0;;1;", WORD_DRAWDOWN_FILM_ZERO},
                {"a;card;-3;;1;", WORD_DRAWDOWN_VALUE_OUTSIDE},
                {"a;card;30;;-1;", WORD_DRAWDOWN_VALUE_OUTSIDE},
                {"a;card;30;;x;", WORD_VALUE_NOT_NUMBER},
                {"a;card;1e308;;1;", WORD_DRAWDOWN_VALUE_OUTSIDE},
                {"a;card;30;-2;1;", WORD_DRAWDOWN_VALUE_OUTSIDE},
                {"a;;30;;;", WORD_DRAWDOWN_BARE_FILM},
                {"a;card;;;0;0", WORD_DRAWDOWN_BARE_BACKING},
                {"film;card;30;;1;", WORD_DRAWDOWN_ID_TWICE},
                {";card;30;;1;", WORD_DRAWDOWN_ID_MISSING},
                {"a;a;30;;1;", WORD_DRAWDOWN_BACKING_NOT_BARE}};
    for (size_t i = 0; i < sizeof slip / sizeof slip[0]; i++) {
        CHECK(READ_ROWS("card;;;;;", "film;card;20;;1;1", slip[i].row) == STATUS_INPUT);
        CHECK(fault.word == slip[i].word);
        if (fault.word != slip[i].word) printf("  %s -> %s\n", slip[i].row, fault.text);
        CHECK(strstr(fault.text, "d.csv: line 4") != NULL);
    }
}

static void toner_columns_follow_their_rule(void) {
    static const char *const bad[] = {"MIX_", "MIX_White", "MIX_a b", "MIX_caf\xC3\xA9",
                                      "MIX_0123456789012345678901234567890123456789012345678"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char columns[200];
        snprintf(columns, sizeof columns, "SAMPLE_ID;BACKING;%s", bad[i]);
        CHECK(read_rows(columns, (const char *const[]){"a;-;1", NULL}) == STATUS_INPUT);
        CHECK(fault.word == WORD_DRAWDOWN_TONER_ID);
    }
    CHECK(read_rows("SAMPLE_ID;BACKING", (const char *const[]){"a;-", NULL}) == STATUS_INPUT);
    CHECK(fault.word == WORD_DRAWDOWN_NO_TONER);
    CHECK(read_rows("SAMPLE_ID;BACKING;MIX_white;mix_WHITE", (const char *const[]){"a;-;1;1", NULL}) ==
          STATUS_INPUT);
    CHECK(fault.word == WORD_COLUMN_TWICE);
    CHECK(READ_ROWS("card;;;;;") == STATUS_INPUT);
    CHECK(fault.word == WORD_DRAWDOWN_NO_FILM);
    CHECK(read_rows("SAMPLE_ID;BACKING;MX_black;MIX_white", (const char *const[]){"a;-;1;1", NULL}) ==
          STATUS_OK);
    CHECK(drawdowns.note_count == 2 || drawdowns.note_count == 1);
    CHECK(drawdowns.note_count &&
          strstr(drawdowns.note[drawdowns.note_count - 1].text, "not used: MX_black"));
}

static void what_is_written_as_cgats_comes_back(void) {
    unsigned long long seed = 7;
    enum { ROWS = 40, TONERS = 3 };
    static const char toners[TONERS][TONER_ID_MAX] = {"white", "binder", "pb15-3"};
    static struct drawdown row[ROWS];
    static double mass[ROWS][TONERS];
    for (int i = 0; i < ROWS; i++) {
        snprintf(row[i].id, sizeof row[i].id, i % 3 ? "film %d \"x\"" : "card %d", i);
        row[i].is_bare = i % 3 == 0;
        row[i].backing = row[i].is_bare || i % 5 == 0 ? DRAWDOWN_OPAQUE : i / 3 * 3;
        row[i].film_um =
            row[i].backing == DRAWDOWN_OPAQUE ? (double)NAN : floor(1 + 1e6 * check_random(&seed)) / 1e4;
        row[i].topcoat_gu = i % 4 ? (double)NAN : floor(900 * check_random(&seed)) / 10;
        for (int t = 0; t < TONERS && !row[i].is_bare; t++)
            mass[i][t] = floor(1e4 * check_random(&seed)) / 100;
        row[i].mass_g = mass[i];
        for (int b = 0; b < BANDS; b++) row[i].reflectance.band[b] = floor(1e6 * check_random(&seed)) / 1e6;
    }
    const struct drawdown_set set = {
        .toner_count = TONERS, .toner_id = toners, .count = ROWS, .row = row, .geometry = GEOMETRY_SCE};
    struct text text = {0};
    cgats_write_drawdowns(&set, "russet", &text);
    CHECK(read_string(text.data) == STATUS_OK);
    if (fault.word) printf("  %s\n", fault.text);
    CHECK(drawdowns.set.count == ROWS && drawdowns.set.toner_count == TONERS &&
          drawdowns.set.geometry == GEOMETRY_SCE);
    for (size_t i = 0; i < drawdowns.set.count; i++) {
        const struct drawdown *got = &drawdowns.set.row[i], *want = &row[i];
        CHECK_TEXT(got->id, want->id);
        CHECK(got->is_bare == want->is_bare && got->backing == want->backing);
        CHECK(isnan(want->film_um) ? isnan(got->film_um) : got->film_um == want->film_um);
        CHECK(isnan(want->topcoat_gu) ? isnan(got->topcoat_gu) : got->topcoat_gu == want->topcoat_gu);
        CHECK(memcmp(got->mass_g, want->mass_g, sizeof mass[0]) == 0);
        CHECK(memcmp(&got->reflectance, &want->reflectance, sizeof got->reflectance) == 0);
    }
    text_free(&text);
}

int main(void) {
    RUN(a_table_of_films_becomes_rows);
    RUN(every_slip_in_a_row_is_named);
    RUN(toner_columns_follow_their_rule);
    RUN(what_is_written_as_cgats_comes_back);
    arena_free(arena);
    return check_done();
}
