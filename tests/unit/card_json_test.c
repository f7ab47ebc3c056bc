/* Cards written and read again, what is refused, and the geometry of the built-in ones. */
#include "check.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include <string.h>

static struct text written(const struct photo_card *card) {
    struct text text = {0};
    struct fault fault;
    json_t *object = json_start("card");
    card_put(object, card);
    CHECK(json_finish(object, &text, &fault) == STATUS_OK);
    json_decref(object);
    return text;
}

static struct photo_card *built_in(int which, struct arena *arena) {
    static const char toner[4][48] = {"white", "oxide-red", "warm-black", "yellow"};
    struct photo_card *card = arena_need(arena, 1, sizeof *card);
    if (which == 0) photo_card_own(card);
    if (which == 1) {
        struct photo_card *chart = arena_need(arena, 1, sizeof *chart);
        photo_card_chart24(15, chart);
        photo_card_frame(chart, card);
    }
    if (which == 2) CHECK(photo_card_start(toner, 4, 0, card));
    return card;
}

static enum status read(const char *text, struct arena *arena, struct photo_card **out, struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "card.json"};
    return card_read(&bytes, arena, out, fault);
}

static void what_was_written_is_read(void) {
    struct arena *arena = arena_new();
    for (int which = 0; which < 3; which++) {
        struct photo_card *card = built_in(which, arena), *back = NULL;
        card->patch[1].known = KNOWN_LAB;
        card->patch[1].lab = (struct lab){50, 10, -20, {LIGHT_D65, OBSERVER_10}};
        card->patch[1].lab_sd = 1.5;
        card->patch[2].known = KNOWN_SPECTRUM;
        for (int b = 0; b < BANDS; b++) card->patch[2].reflectance.band[b] = .01 * b + .05;
        struct text first = written(card);
        struct fault fault = {0};
        CHECK(read(first.data, arena, &back, &fault) == STATUS_OK);
        CHECK_TEXT(fault.text, "");
        struct text again = written(back);
        CHECK_TEXT(again.data, first.data);
        CHECK(back->patch[2].lab.l > 40);
        text_free(&first), text_free(&again);
    }
    arena_free(arena);
}

struct box {
    double x0, y0, x1, y1;
};
static struct box box_of(const double center[2], double size) {
    return (struct box){center[0] - size / 2, center[1] - size / 2, center[0] + size / 2,
                        center[1] + size / 2};
}
static bool apart(struct box a, struct box b, double gap) {
    return a.x1 + gap <= b.x0 + 1e-9 || b.x1 + gap <= a.x0 + 1e-9 || a.y1 + gap <= b.y0 + 1e-9 ||
           b.y1 + gap <= a.y0 + 1e-9;
}

/* Tags with a module of white, patches, places and the window lie on the card and not on each other. */
static void nothing_lies_on_anything_else(void) {
    struct arena *arena = arena_new();
    for (int which = 0; which < 3; which++) {
        const struct photo_card *card = built_in(which, arena);
        struct box box[CARD_TAGS_MOST + CARD_PATCHES_MOST + CARD_PLACES_MOST + 1];
        int n = 0;
        for (int i = 0; i < card->tags; i++) {
            const double *a = card->tag[i].corner_mm[0], *c = card->tag[i].corner_mm[2];
            const double module = (c[0] - a[0]) / 8;
            box[n++] = (struct box){a[0] - module, a[1] - module, c[0] + module, c[1] + module};
        }
        for (int i = 0; i < card->patches; i++)
            box[n++] = box_of(card->patch[i].center_mm, card->patch[i].size_mm);
        for (int i = 0; i < card->places; i++)
            box[n++] = box_of(card->place[i].center_mm, card->place[i].size_mm);
        box[n++] = box_of(card->window_center_mm, card->window_mm);
        for (int i = 0; i < n; i++) {
            CHECK(box[i].x0 >= 0 && box[i].y0 >= 0 && box[i].x1 <= card->size_mm[0] &&
                  box[i].y1 <= card->size_mm[1]);
            for (int k = 0; k < i; k++) CHECK(apart(box[i], box[k], 1));
        }
    }
    arena_free(arena);
}

static void the_own_card_is_as_described(void) {
    struct arena *arena = arena_new();
    const struct photo_card *card = built_in(0, arena);
    int role[PATCH_ROLE_COUNT] = {0};
    for (int i = 0; i < card->patches; i++) role[card->patch[i].role]++;
    CHECK(role[PATCH_NEUTRAL] == 7 && role[PATCH_COLOUR] == 17 && role[PATCH_BLACK_TRAP] == 1);
    CHECK(photo_card_patch(card, "n7") >= 0 && photo_card_patch(card, "c17") >= 0);
    CHECK(photo_card_patch(card, "c18") < 0 && photo_card_place(card, "n1") < 0);
    arena_free(arena);
}

/* Each wrong field by one change of a good file. */
static void every_wrong_field_is_refused(void) {
    static const char *const good =
        "{\"kind\":\"card\",\"format\":1,\"size_mm\":[100,80],\"tags\":[{\"family\":\"36h11\",\"id\":3,"
        "\"corners_mm\":[[2,2],[18,2],[18,18],[2,18]]}],\"patches\":[{\"id\":\"a\",\"center_mm\":[50,40],"
        "\"size_mm\":9,\"role\":\"neutral\",\"lab\":[50,0,0]},{\"id\":\"b\",\"center_mm\":[70,40],"
        "\"size_mm\":9,\"role\":\"colour\"}],\"places\":[{\"id\":\"w\",\"center_mm\":[30,40],\"size_mm\":5},"
        "{\"id\":\"d\",\"center_mm\":[40,60],\"size_mm\":5,\"over\":\"w\",\"dab\":\"d\","
        "\"parts_g\":{\"red\":1}}],\"surround\":{\"y\":0.18},\"window_mm\":{\"center\":[80,60],\"size\":20}}";
    static const struct {
        const char *from, *to, *says;
    } wrong[] = {{"36h11", "25h9", "36h11"},
                 {"\"kind\":\"card\"", "\"kind\":\"toners\"", "kind"},
                 {"\"format\":1", "\"format\":2", "newer"},
                 {"[100,80]", "[100]", "size_mm"},
                 {"[100,80]", "[100,1e9]", "size_mm"},
                 {"\"id\":3", "\"id\":587", "tags[0].id"},
                 {"\"id\":3", "\"id\":2.5", "whole"},
                 {"\"id\":3", "\"id\":\"3\"", "tags[0].id"},
                 {"[18,18],[2,18]", "[2,18],[18,18]", "clockwise"},
                 {"[18,18],[2,18]", "[18,30],[2,30]", "square"},
                 {"[18,18],[2,18]]", "[18,18]]", "four pairs"},
                 {"[18,18]", "[18,\"a\"]", "four pairs"},
                 {"[18,18]", "[118,18]", "does not lie"},
                 {"\"center_mm\":[50,40]", "\"center_mm\":[98,40]", "does not lie"},
                 {"\"center_mm\":[50,40]", "\"center_mm\":[50]", "patches[0].center_mm"},
                 {"\"size_mm\":9", "\"size_mm\":0", "patches[0].size_mm"},
                 {"\"role\":\"neutral\"", "\"role\":\"grey\"", "black-trap"},
                 {"\"lab\":[50,0,0]", "\"lab\":[50,0]", "patches[0].lab"},
                 {"\"lab\":[50,0,0]", "\"lab\":[-5,0,0]", "L of -5"},
                 {"\"lab\":[50,0,0]", "\"reflectance\":[1,2]", "patches[0].reflectance"},
                 {"\"lab\":[50,0,0]", "\"lab\":[50,0,0],\"lab_sd\":-1", "lab_sd"},
                 {"\"id\":\"b\"", "\"id\":\"a\"", "already"},
                 {"\"id\":\"b\"", "\"id\":\"\"", "1 to 63"},
                 {"\"id\":\"b\"", "\"id\":7", "patches[1].id"},
                 {"\"id\":\"d\"", "\"id\":\"w\"", "already"},
                 {"\"over\":\"w\"", "\"over\":\"x\"", "bare place"},
                 {"\"over\":\"w\"", "\"over\":\"d\"", "bare place"},
                 {"{\"red\":1}", "{\"red\":-1}", "places[1].red"},
                 {"{\"red\":1}", "{\"red\":0}", "parts_g"},
                 {"{\"red\":1}", "[1]", "parts_g"},
                 {"{\"y\":0.18}", "{\"y\":2}", "surround.y"},
                 {"{\"y\":0.18}", "0.18", "surround"},
                 {"\"size\":20", "\"size\":50", "does not lie"},
                 {"{\"center\":[80,60],\"size\":20}", "[80,60,20]", "window_mm"}};
    struct arena *arena = arena_new();
    struct photo_card *card;
    struct fault fault = {0};
    CHECK(read(good, arena, &card, &fault) == STATUS_OK);
    CHECK_TEXT(fault.text, "");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        const char *at = strstr(good, wrong[i].from);
        CHECK(at != NULL);
        if (!at) continue;
        struct text text = {0};
        text_add_bytes(&text, good, (size_t)(at - good));
        text_add(&text, wrong[i].to);
        text_add(&text, at + strlen(wrong[i].from));
        CHECK(read(text.data, arena, &card, &fault) == STATUS_INPUT);
        if (!strstr(fault.text, wrong[i].says)) printf("  %zu: %s\n", i, fault.text);
        CHECK(strstr(fault.text, wrong[i].says) != NULL);
        text_free(&text);
    }
    arena_free(arena);
}

int main(void) {
    RUN(what_was_written_is_read);
    RUN(nothing_lies_on_anything_else);
    RUN(the_own_card_is_as_described);
    RUN(every_wrong_field_is_refused);
    return check_done();
}
