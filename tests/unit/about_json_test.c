#include "check.h"
#include "formats/about_json.h"

static struct arena *arena;
static struct about about;
static struct fault fault;
static struct toner toner[3] = {{.id = "binder"}, {.id = "white"}, {.id = "rot"}};
static struct shelf shelf = {.count = 3, .toner = toner};

static enum status read_string(const char *text) {
    arena_free(arena);
    arena = arena_new();
    memset(&about, 0, sizeof about);
    memset(&fault, 0, sizeof fault);
    return about_read(&(struct bytes){(const unsigned char *)text, strlen(text), "about.json"}, arena, &about,
                      &fault);
}

static void labels_go_to_their_toners(void) {
    CHECK(read_string("{\"toners\":{\"white\":{\"name\":\"Wei\xC3\x9F\",\"density_g_ml\":1.42,\"price_minor_"
                      "per_kg\":2450,\"solids\":0.45,"
                      "\"lot\":\"L7\"},\"rot\":{\"role\":\"black\"},\"other\":{}},\"currency\":\"EUR\"}") ==
          STATUS_OK);
    struct fault note;
    CHECK(about_apply(&about, "about.json", &shelf, &note));
    CHECK_TEXT(note.text, "about.json: names toners that are not on this shelf: other.");
    CHECK_TEXT(toner[1].name, "Wei\xC3\x9F");
    CHECK_TEXT(toner[1].lot, "L7");
    CHECK(toner[1].role == ROLE_WHITE && toner[2].role == ROLE_BLACK && toner[0].role == ROLE_BINDER);
    CHECK_NEAR(toner[1].density_g_ml, 1.42, 0);
    CHECK(toner[1].price_minor_per_kg == 2450 && toner[0].price_minor_per_kg == -1);
    CHECK_TEXT(shelf.currency, "EUR");
    CHECK(!about_apply(NULL, "", &shelf, &note));
    CHECK_TEXT(toner[1].name, "white");
    CHECK(toner[2].role == ROLE_COLOUR);
}

static void slips_in_labels_are_named(void) {
    static const struct {
        const char *text;
        enum word word;
    } bad[] = {
        {"[]", WORD_JSON_NOT_OBJECT},
        {"{}", WORD_ABOUT_NOT_OBJECT},
        {"{\"toners\":{\"White\":{}}}", WORD_ABOUT_TONER_ID},
        {"{\"toners\":{\"\":{}}}", WORD_ABOUT_TONER_ID},
        {"{\"toners\":{\"white\":3}}", WORD_ABOUT_NOT_OBJECT},
        {"{\"toners\":{\"white\":{\"role\":\"clear\"}}}", WORD_ABOUT_ROLE},
        {"{\"toners\":{\"white\":{\"price_minor_per_kg\":12.5}},\"currency\":\"EUR\"}", WORD_ABOUT_PRICE},
        {"{\"toners\":{\"white\":{\"price_minor_per_kg\":-1}},\"currency\":\"EUR\"}", WORD_ABOUT_PRICE},
        {"{\"toners\":{\"white\":{\"price_minor_per_kg\":1}}}", WORD_ABOUT_CURRENCY},
        {"{\"toners\":{},\"currency\":\"euro\"}", WORD_ABOUT_CURRENCY},
        {"{\"toners\":{\"white\":{\"solids\":45}}}", WORD_JSON_NUMBER_OUTSIDE},
        {"{\"toners\":{\"white\":{\"density_g_ml\":0}}}", WORD_JSON_NUMBER_OUTSIDE},
        {"{\"toners\":{\"white\":{},\"white\":{}}}", WORD_JSON_BROKEN},
        {"{\"kind\":\"toners\",\"toners\":{}}", WORD_JSON_KIND_OTHER}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        CHECK(read_string(bad[i].text) == STATUS_INPUT);
        CHECK(fault.word == bad[i].word);
    }
    CHECK(read_string("{\"toners\":{\"white\":{\"density\":1.4}}}") == STATUS_OK && about.note_count == 1);
    CHECK_TEXT(about.note_count ? about.note[0].text : NULL,
               "about.json: not known and left out: white.density.");
}

static enum status read_stock(const char *text, double stock[3], bool *noted, struct fault *note) {
    return stock_read(&(struct bytes){(const unsigned char *)text, strlen(text), "stock.json"}, &shelf, stock,
                      noted, note, &fault);
}

static void stock_is_grams_of_the_toners_it_names(void) {
    double stock[3];
    bool noted;
    struct fault note;
    CHECK(read_stock("{\"stock\":{\"white\":120.5,\"x\":1}}", stock, &noted, &note) == STATUS_OK && noted);
    CHECK(isinf(stock[0]) && stock[1] == 120.5 && isinf(stock[2]));
    CHECK(read_stock("{\"stock\":{\"white\":-1}}", stock, &noted, &note) == STATUS_INPUT);
    CHECK_TEXT(fault.text, "stock.json: stock.white is -1; it must be from 0 to 1e+06.");
    CHECK(read_stock("{\"white\":1}", stock, &noted, &note) == STATUS_INPUT);
    CHECK(fault.word == WORD_STOCK_NOT_OBJECT);
    CHECK(read_stock("[1", stock, &noted, &note) == STATUS_INPUT);
}

int main(void) {
    RUN(labels_go_to_their_toners);
    RUN(slips_in_labels_are_named);
    RUN(stock_is_grams_of_the_toners_it_names);
    arena_free(arena);
    return check_done();
}
