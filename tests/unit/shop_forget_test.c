/* Taking a person's traces out of texts and documents. All invented. */
#include "check.h"
#include "shop/document.h"
#include "shop/forget.h"

static struct arena *arena;
static struct traces traces;

static void person(const char *name) {
    traces_make(&traces, arena, "erased 0a1b2c3d", name, "+00 555 0101", "w@customer.example",
                "Invented Quay 7\nHarbour Town");
}

static const char *cleaned(const char *text, bool own) {
    json_t *document = json_loads(text, JSON_DECODE_ANY, NULL);
    traces_out_of_document(&traces, document, own, arena);
    const char *clean = document_text(document, arena);
    json_decref(document);
    return clean;
}

static void a_customer_called_white_does_not_bleach_the_recipes(void) {
    person("Wanda White");
    const char *recipe =
        "{\"parts\":[{\"toner\":\"white\",\"name\":\"White\",\"g\":12.53}],\"text\":\"mix\"}";
    CHECK_TEXT(cleaned(recipe, true), recipe);
    CHECK_TEXT(
        cleaned("{\"title\":\"seat of Ms White\",\"files\":[\"white-seat.jpg\",\"whitewash.jpg\"]}", true),
        "{\"title\":\"seat of Ms erased 0a1b2c3d\",\"files\":[\"erased "
        "0a1b2c3d-seat.jpg\",\"whitewash.jpg\"]}");
}

/* The name that was given to a pour stood in its document after the erasure. */
static void what_a_pour_was_called_is_forgotten(void) {
    person("Wanda White");
    CHECK_TEXT(
        cleaned("{\"kind\":\"pour\",\"name\":\"for Ms White\",\"steps\":[{\"name\":\"White\"}],"
                "\"recipe\":{\"kind\":\"recipe\",\"name\":\"Wanda's\",\"parts\":[[\"white\",\"White\"]]}}",
                true),
        "{\"kind\":\"pour\",\"name\":\"for Ms erased 0a1b2c3d\",\"steps\":[{\"name\":\"White\"}],"
        "\"recipe\":{\"kind\":\"recipe\",\"name\":\"erased "
        "0a1b2c3d's\",\"parts\":[[\"white\",\"White\"]]}}");
}

static void whole_traces_go_wherever_they_stand(void) {
    person("Wanda White");
    CHECK_TEXT(cleaned("[\"call WANDA WHITE at +00 555 0101\",\"Invented quay 7, Harbour Town\"]", false),
               "[\"call erased 0a1b2c3d at erased 0a1b2c3d\",\"erased 0a1b2c3d, erased 0a1b2c3d\"]");
    CHECK_TEXT(traces_out_of_text(&traces, "Wanda Whites", false, arena), "erased 0a1b2c3ds");
    const char *clean = "nothing of the kind";
    CHECK(traces_out_of_text(&traces, clean, true, arena) == clean);
}

static void the_customer_of_a_paper_becomes_a_pseudonym(void) {
    person("Wanda White");
    CHECK_TEXT(cleaned("{\"customer\":{\"id\":\"k\",\"name\":\"Wanda\",\"address\":\"x\"},\"note\":\"dog "
                       "bites\",\"sum\":1.5}",
                       true),
               "{\"customer\":{\"id\":\"k\",\"name\":\"erased 0a1b2c3d\"},\"note\":\"\",\"sum\":1.5}");
    /* somebody else's paper names somebody else */
    const char *other = "{\"customer\":{\"name\":\"Wanda White\"},\"note\":\"dog bites\"}";
    CHECK_TEXT(cleaned(other, false), other);
}

static void a_sealed_paper_is_sealed_anew(void) {
    person("Wanda White");
    json_t *twin = json_pack("{s:{s:s}, s:f}", "customer", "name", "Wanda White", "de00", 0.43);
    document_seal(twin);
    CHECK(document_seal_holds(twin));
    const char *before = arena_text(arena, json_string_value(json_object_get(twin, "digest")), 71);
    CHECK(traces_out_of_document(&traces, twin, true, arena));
    CHECK(document_seal_holds(twin) &&
          strcmp(before, json_string_value(json_object_get(twin, "digest"))) != 0);
    json_object_set_new(twin, "de00", json_real(0.11));
    CHECK(!document_seal_holds(twin));
    json_decref(twin);
}

/* Unicode 15: in either case, composed or not (UAX #15), with final sigma, with "ß" as "SS", without its
 * marks, as letters that lack them are written (common practice), with other blanks, turned around. */
static void a_name_is_found_however_it_is_written(void) {
    static const char *const names[][7] = {
        {"Jürgen Größwein", "JÜRGEN GRÖSSWEIN", "Ju\xcc\x88rgen Gro\xcc\x88\xc3\x9fwein", "jurgen grosswein",
         "Juergen Groesswein", "Größwein, Jürgen", "Jürgen\xc2\xa0Größ" /* half of it: not found */},
        {"Νίκος Παπαδόπουλος", "ΝΙΚΟΣ ΠΑΠΑΔΟΠΟΥΛΟΣ", "νίκος παπαδόπουλος", "Νικος Παπαδοπουλος",
         "Παπαδόπουλος, Νίκος", "Νίκος \n Παπαδόπουλος", "Νίκος"},
        {"Иван Щукин", "ИВАН ЩУКИН", "иван щукин", "Иван\tЩукин", "Щукин, Иван", "И\xc2\xadван Щукин",
         "Иван"},
        {"Åse Bjørnøy", "ÅSE BJØRNØY", "Aase Bjoernoey", "A\xcc\x8ase Bjørnøy", "Bjørnøy, Åse",
         "Åse  Bjørnøy", "Åse"}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char text[200], want[200];
        person(names[i][0]);
        traces_keep_distinct(&traces);
        for (size_t k = 0; k < 7; k++) {
            snprintf(text, sizeof text, "ask »%s« twice", names[i][k]);
            snprintf(want, sizeof want, "ask »%s« twice", k < 6 ? "erased 0a1b2c3d" : names[i][k]);
            CHECK(traces_may_stand_in(&traces, text) == (k < 6));
            CHECK_TEXT(traces_out_of_text(&traces, text, false, arena), want);
        }
    }
    person("Jürgen Groß-Wein"); /* a part of the name, as a word, in the titles of the own jobs */
    CHECK_TEXT(traces_out_of_text(&traces, "„Groß“ and GROSS, not Großes; WEIN", true, arena),
               "„erased 0a1b2c3d“ and erased 0a1b2c3d, not Großes; erased 0a1b2c3d");
}

static void a_telephone_is_found_however_it_is_parted(void) {
    person("Wanda White");
    CHECK_TEXT(traces_out_of_text(&traces, "at +00/555-0101, (00) 5550101.", false, arena),
               "at +erased 0a1b2c3d, (erased 0a1b2c3d.");
    const char *other = "lot 900 555 0101, 00 555 01012";
    CHECK(traces_out_of_text(&traces, other, false, arena) == other);
    CHECK(traces_may_stand_in(&traces, "{\"x\":\"00.555.0101\"}"));
    traces_make(&traces, arena, "gone", "Wanda White", "+00 (0) 664 / 555 01 01", "", "");
    CHECK_TEXT(traces_out_of_text(&traces, "0664-5550101, +000664 5550101, (0)664 555 0101", false, arena),
               "06gone, +gone, (0)6gone");
    const char *key = "01a218ca-0b67-7326-8fdc-a66455501019, f645550101, 645550101a";
    CHECK(traces_out_of_text(&traces, key, false, arena) == key);
    person("Wanda White");
    CHECK_TEXT(cleaned("{\"x\":[5550101,0.05550101]}", false), "{\"x\":[5550101,0.05550101]}");
}

/* The slow twin: every sign folded by itself; and whatever is cut or changed, nothing beside a trace is lost.
 */
static void what_is_no_trace_stays_to_the_byte(void) {
    unsigned long long seed = 5;
    person("Jürgen Größwein");
    for (int i = 0; i < 3000; i++) {
        char text[60];
        size_t n = 0;
        while (n < 50)
            n += (size_t)snprintf(text + n, sizeof text - n, "%s",
                                  (const char *const[]){"ß", "e\xcc\x81", " ", "\xff", "Ω", "ü", "a", "\xc3",
                                                        "ﷺ", "7"}[(int)(10 * check_random(&seed))]);
        CHECK(traces_out_of_text(&traces, text, true, arena) == text);
    }
}

/* In rows of others only what cannot be meant otherwise is looked for. */
static void a_common_name_is_not_hunted_through_the_book(void) {
    person("May");
    CHECK(traces.count == 6);
    traces_keep_distinct(&traces);
    CHECK(traces.count == 5 && traces.words == 0);
    CHECK_TEXT(traces_out_of_text(&traces, "ready in May", true, arena), "ready in May");
    traces_make(&traces, arena, "x", "Al", "", "", "");
    CHECK(traces.count == 0 && traces.words == 0);
}

static void a_quick_look_never_misses(void) {
    person("Wanda \"W\" White");
    CHECK(traces_may_stand_in(&traces, "{\"x\":\"Wanda \\\"W\\\" White\"}"));
    CHECK(traces_may_stand_in(&traces, "{\"x\":\"INVENTED QUAY 7\"}"));
    CHECK(!traces_may_stand_in(&traces, "{\"x\":\"white\"}"));
}

/* Documents are kept so that reading and writing again gives the same bytes. */
static void documents_keep_their_bytes(void) {
    unsigned long long seed = 8;
    for (int i = 0; i < 2000; i++) {
        char text[200];
        const double x = (check_random(&seed) - 0.5) * pow(10, 40 * check_random(&seed) - 20);
        snprintf(text, sizeof text, "{\"x\":%.15g,\"y\":[%.9g,%.4f]}", x, x, x > 1e6 || x < -1e6 ? 0.5 : x);
        json_t *document = json_loads(text, 0, NULL);
        const char *once = document_text(document, arena);
        json_decref(document);
        document = json_loads(once, 0, NULL);
        CHECK_TEXT(document_text(document, arena), once);
        json_decref(document);
    }
}

int main(void) {
    arena = arena_new();
    RUN(a_customer_called_white_does_not_bleach_the_recipes);
    RUN(what_a_pour_was_called_is_forgotten);
    RUN(whole_traces_go_wherever_they_stand);
    RUN(the_customer_of_a_paper_becomes_a_pseudonym);
    RUN(a_sealed_paper_is_sealed_anew);
    RUN(a_name_is_found_however_it_is_written);
    RUN(a_telephone_is_found_however_it_is_parted);
    RUN(what_is_no_trace_stays_to_the_byte);
    RUN(a_common_name_is_not_hunted_through_the_book);
    RUN(a_quick_look_never_misses);
    RUN(documents_keep_their_bytes);
    arena_free(arena);
    return check_done();
}
