/* The ladder's reader: what is read, and what is refused with its line and column. Invented numbers. */
#include "check.h"
#include "formats/ladder_file.h"

static enum status read_text(const char *text, size_t n, struct arena *arena, struct sheen_ladder *out,
                             struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)text, n, "ladder.csv"};
    *fault = (struct fault){0};
    return ladder_read(&bytes, arena, out, fault);
}

static void every_way_of_writing_it_is_read(void) {
    static const char *const text[] = {
        "matte_fraction,gu20,gu60,gu85,coats\n0,60,86,94,3\n0.5,,12.5,50,3\n",
        "\xEF\xBB\xBF"
        "gu60;Matte_Fraction;note;GU20;gu85;Coats\r\n86;0;first;60;94;3\r\n12,5;0,5;;;50;3\r\n",
        "# our clears, 3 "
        "coats\n\nmatte_fraction\tgu20\tgu60\tgu85\tcoats\r0\t60\t86\t94\t3\r.5\t\t12,5\t50\t3",
        "matte_fraction, \"gu20\", gu60 ,gu85,coats\n \"0\",60,86,94,3\n.5,,12.5,50,3,more\n",
    };
    for (size_t i = 0; i < sizeof text / sizeof text[0]; i++) {
        struct arena *arena = arena_new();
        struct sheen_ladder ladder = {0};
        struct fault fault;
        CHECK(read_text(text[i], strlen(text[i]), arena, &ladder, &fault) == STATUS_OK);
        CHECK(ladder.count == 2);
        if (ladder.count == 2) {
            CHECK_NEAR(ladder.row[0].gu[GLOSS_20], 60, 0);
            CHECK_NEAR(ladder.row[1].matte, 0.5, 0);
            CHECK_NEAR(ladder.row[1].gu[GLOSS_60], 12.5, 0);
            CHECK(isnan(ladder.row[1].gu[GLOSS_20]));
            CHECK_NEAR(ladder.row[1].coats, 3, 0);
        }
        arena_free(arena);
    }
}

static void what_is_wrong_is_told_with_its_place(void) {
    static const struct {
        const char *text, *says;
    } bad[] = {
        {"", "empty"},
        {"\n\n# nothing\n", "heading"},
        {"0,60,86,94\n", "line 1 is not the heading"},
        {"matte_fraction,coats\n0,3\n", "line 1 is not the heading"},
        {"matte_fraction,gu60,gu60\n0,1,1\n", "line 1: the column gu60 stands there twice"},
        {"matte_fraction,gu60\n0,86\n0.5,12x\n", "line 3, column gu60: \"12x\""},
        {"matte_fraction,gu60\n50,86\n", "line 2, column matte_fraction: 50 must be from 0 to 1"},
        {"matte_fraction,gu60\n0,nan\n", "line 2, column gu60"},
        {"matte_fraction,gu60\n0,-1\n", "line 2, column gu60: -1"},
        {"matte_fraction,gu60\n0,1e308\n", "line 2, column gu60: 1e308"},
        {"matte_fraction,gu60,coats\n0,8,2.5\n", "line 2, column coats"},
        {"matte_fraction,gu60,gu85\n0,8,9\n.1,,\n", "line 3 has no gloss"},
        {"matte_fraction,gu60\n,8\n", "line 2, column matte_fraction"},
        {"matte_fraction;gu60\n0;8\n0.5;1.2.3\n", "line 3, column gu60"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct arena *arena = arena_new();
        struct sheen_ladder ladder;
        struct fault fault;
        CHECK(read_text(bad[i].text, strlen(bad[i].text), arena, &ladder, &fault) == STATUS_INPUT);
        if (!strstr(fault.text, bad[i].says)) fprintf(stderr, "  case %zu says: %s\n", i, fault.text);
        CHECK(strstr(fault.text, bad[i].says) != NULL && strstr(fault.text, "ladder.csv") != NULL);
        arena_free(arena);
    }
}

static void the_ladder_has_a_most(void) {
    struct text text = {0};
    text_add(&text, "matte_fraction,gu60\n");
    for (int i = 0; i < SHEEN_ROWS_MOST; i++) text_format(&text, "%.4f,%d\n", i / 100.0, 100 - i);
    struct arena *arena = arena_new();
    struct sheen_ladder ladder;
    struct fault fault;
    CHECK(read_text(text.data, text.length, arena, &ladder, &fault) == STATUS_OK &&
          ladder.count == SHEEN_ROWS_MOST);
    text_add(&text, "1,1\n");
    CHECK(read_text(text.data, text.length, arena, &ladder, &fault) == STATUS_INPUT &&
          fault.word == WORD_LADDER_TOO_MANY);
    arena_free(arena);
    text_free(&text);
}

/* Bytes flipped, cut and repeated at random: a ladder inside its bounds, or one sentence. */
static void damaged_files_are_read_or_refused(void) {
    static const char good[] =
        "matte_fraction,gu20,gu60,gu85,coats\n0,60,86,94,3\n0.25,20,35,70,3\n0.5,,12.5,50,3\n1,.4,2.8,11,3\n";
    unsigned long long seed = 17;
    for (int k = 0; k < 20000; k++) {
        char text[sizeof good];
        memcpy(text, good, sizeof good);
        size_t n = sizeof good - 1;
        for (int i = 0; i < 4; i++)
            text[(size_t)(check_random(&seed) * (double)n)] = (char)(256 * check_random(&seed));
        if (check_random(&seed) < 0.3) n = (size_t)(check_random(&seed) * (double)n);
        struct arena *arena = arena_new();
        struct sheen_ladder ladder;
        struct fault fault;
        if (read_text(text, n, arena, &ladder, &fault) == STATUS_OK)
            for (size_t i = 0; i < ladder.count; i++)
                CHECK(ladder.row[i].matte >= 0 && ladder.row[i].matte <= 1);
        else
            CHECK(fault.status == STATUS_INPUT && fault.text[0]);
        arena_free(arena);
    }
}

int main(void) {
    RUN(every_way_of_writing_it_is_read);
    RUN(what_is_wrong_is_told_with_its_place);
    RUN(the_ladder_has_a_most);
    RUN(damaged_files_are_read_or_refused);
    return check_done();
}
