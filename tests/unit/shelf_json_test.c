/* A shelf written and read again, and what is refused. */
#include "check.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/calibrate.h"

static unsigned long long seed = 3;

static struct shelf shelf_at_random(struct toner *toner) {
    static const char *const ids[] = {"white", "oxide-red", "binder"};
    for (int i = 0; i < 3; i++) {
        toner[i] = (struct toner){.role = i == 0   ? ROLE_WHITE
                                          : i == 1 ? ROLE_COLOUR
                                                   : ROLE_BINDER,
                                  .price_minor_per_kg = i ? 4250 : -1};
        snprintf(toner[i].id, sizeof toner[i].id, "%s", ids[i]);
        snprintf(toner[i].name, sizeof toner[i].name, "Toner \"%d\" \xC3\xA9", i);
        snprintf(toner[i].lot, sizeof toner[i].lot, "%s", i == 1 ? "A7" : "");
        toner[i].density_g_ml = i ? 1.234567 : 0;
        toner[i].bend = i ? 0 : check_random(&seed);
        toner[i].lean = i == 1 ? -0.0625 : 0;
        toner[i].strength_sd = i == 1 ? 0.08 : 0;
        for (int b = 0; b < BANDS; b++) {
            toner[i].k[b] = i == 2 ? 0 : exp(12 * check_random(&seed) - 9);
            toner[i].s[b] = i == 2 ? 0 : exp(12 * check_random(&seed) - 9);
        }
    }
    struct shelf shelf = {.count = 3,
                          .toner = toner,
                          .geometry = GEOMETRY_SCE,
                          .surface = {0.0412345678, 0.6, 0.25, 0, 0},
                          .topcoat = {.measured = true, .haze_per_decade = 0.0021},
                          .relative_s = true,
                          .currency = "EUR"};
    shelf.shift[STATE_WET] = (struct shift){{0.1, -0.02, 0.003}, 0.02, 5};
    return shelf;
}

/* Two cards that it learnt from: a film over a backing with the old white, and an opaque one. */
static void give_cards(struct shelf *shelf, struct card card[2]) {
    static const double part[2][3] = {{1. / 3, 1. / 7, 1 - 1. / 3 - 1. / 7}, {0.25, 0.75, 0}};
    static const int lot[2][3] = {{1, 0, 0}, {0, 0, 0}};
    for (int i = 0; i < 2; i++) {
        card[i] = (struct card){.part = part[i], .lot = lot[i]};
        card[i].film = (struct film_case){.film_um = i ? (double)INFINITY : 31.5,
                                          .geometry = GEOMETRY_SCE,
                                          .sheen_gu = i ? 12 : (double)NAN};
        for (int b = 0; b < BANDS; b++) {
            card[i].measured.band[b] = check_random(&seed);
            card[i].film.backing.band[b] = i ? 0 : check_random(&seed);
        }
    }
    shelf->card = card;
    shelf->cards = 2;
}

static bool same_card(const struct card *a, const struct card *b) {
    bool same = a->film.film_um == b->film.film_um && a->film.geometry == b->film.geometry &&
                isnan(a->film.sheen_gu) == isnan(b->film.sheen_gu);
    for (int i = 0; i < 3; i++) same = same && fabs(a->part[i] - b->part[i]) < 1e-9 && a->lot[i] == b->lot[i];
    for (int k = 0; k < BANDS; k++)
        same = same && fabs(a->measured.band[k] - b->measured.band[k]) < 1e-6 &&
               fabs(a->film.backing.band[k] - b->film.backing.band[k]) < 1e-6;
    return same;
}

static struct text written(const struct shelf *shelf) {
    struct text text = {0};
    struct fault fault;
    json_t *object = json_start("toners");
    shelf_put(object, shelf);
    CHECK(json_finish(object, &text, &fault) == STATUS_OK);
    json_decref(object);
    return text;
}

static enum status read(const char *text, size_t n, struct arena *arena, struct shelf *out,
                        struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)text, n, "toners.json"};
    return shelf_read(&bytes, arena, out, fault);
}

static void what_was_written_is_read_to_its_digits(void) {
    for (int round = 0; round < 50; round++) {
        struct toner toner[3];
        struct shelf shelf = shelf_at_random(toner);
        struct card card[2];
        if (round % 2) give_cards(&shelf, card);
        struct weights camera = *weights_of((struct view){LIGHT_D65, OBSERVER_10});
        for (int b = 0; b < BANDS; b++) camera.x[b] += check_random(&seed) - .5, camera.z[b] *= 1.1;
        if (round % 3 == 0) shelf.camera = &camera;
        struct text first = written(&shelf);
        struct arena *arena = arena_new();
        struct fault fault = {0};
        struct shelf back;
        CHECK(read(first.data, first.length, arena, &back, &fault) == STATUS_OK);
        CHECK_TEXT(fault.text, "");
        CHECK(back.count == 3 && back.geometry == GEOMETRY_SCE && back.relative_s && back.topcoat.measured);
        for (int i = 0; i < 3 && back.count == 3; i++) {
            CHECK_TEXT(back.toner[i].id, toner[i].id);
            CHECK_TEXT(back.toner[i].name, toner[i].name);
            CHECK_TEXT(back.toner[i].lot, toner[i].lot);
            CHECK(back.toner[i].role == toner[i].role &&
                  back.toner[i].price_minor_per_kg == toner[i].price_minor_per_kg);
            for (int b = 0; b < BANDS; b++) {
                CHECK_NEAR(back.toner[i].k[b], toner[i].k[b], 5e-9 * toner[i].k[b]);
                CHECK_NEAR(back.toner[i].s[b], toner[i].s[b], 5e-9 * toner[i].s[b]);
            }
        }
        CHECK_NEAR(back.surface.k1, shelf.surface.k1, 1e-10);
        CHECK(back.shift[STATE_WET].pairs == 5 && back.shift[STATE_DRY].pairs == 0);
        CHECK(back.cards == shelf.cards);
        for (size_t i = 0; i < back.cards; i++) CHECK(same_card(&back.card[i], &card[i]));
        CHECK((back.camera != NULL) == (round % 3 == 0));
        for (int b = 0; b < BANDS && back.camera; b++) {
            CHECK_NEAR(back.camera->x[b], camera.x[b], 1e-7);
            CHECK_NEAR(back.camera->y[b], camera.y[b], 1e-7);
            CHECK_NEAR(back.camera->z[b], camera.z[b], 1e-7);
        }
        struct text again = written(&back);
        CHECK_TEXT(again.data, first.data);
        text_free(&first);
        text_free(&again);
        arena_free(arena);
    }
}

/* Every cut of a good file is refused in words, and so is every number made wrong. */
static void a_cut_file_is_refused(void) {
    struct toner toner[3];
    struct card card[2];
    struct shelf shelf = shelf_at_random(toner);
    give_cards(&shelf, card);
    struct text text = written(&shelf);
    for (size_t n = 0; n + 2 < text.length; n += 7) {
        struct arena *arena = arena_new();
        struct fault fault = {0};
        struct shelf back = {.count = 99};
        CHECK(read(text.data, n, arena, &back, &fault) == STATUS_INPUT && fault.text[0] && back.count == 99);
        arena_free(arena);
    }
    text_free(&text);
}

#define HEAD                                                                                                \
    "{\"russet\":\"0.1.0\",\"kind\":\"toners\",\"format\":1,\"geometry\":\"sci\",\"surface\":{\"k1\":0.04," \
    "\"k2\":0.6}"

#define ZEROS "[1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1]"

static void slips_are_named(void) {
    static const struct {
        const char *text, *said;
    } row[] = {
        {"{\"kind\":\"match\"}", "is of kind \"match\""},
        {HEAD "}", "has no toners"},
        {HEAD ",\"toners\":{}}", "has no toners"},
        {HEAD ",\"toners\":[1]}", "has no toners"},
        {HEAD ",\"toners\":{\"White\":{}}}", "\"White\" is no toner id"},
        {HEAD ",\"toners\":{\"white\":3}}", "toners.white must be an object"},
        {HEAD ",\"toners\":{\"white\":{\"role\":\"pink\",\"k\":[],\"s\":[]}}}",
         "toners.white.role is \"pink\""},
        {HEAD ",\"toners\":{\"white\":{\"role\":\"white\",\"k\":[1,2],\"s\":[]}}}",
         "toners.white.k has 2 numbers; 31"},
        {HEAD ",\"toners\":{\"white\":{\"role\":\"white\",\"density_g_ml\":-1}}}",
         "toners.white.density_g_ml"},
        {HEAD ",\"toners\":{\"white\":{\"role\":\"white\"},\"white\":{\"role\":\"white\"}}}", "no JSON"},
        {HEAD ",\"currency\":\"euro\",\"toners\":{}}", "currency is \"euro\""},
        {HEAD ",\"topcoat\":7,\"toners\":{}}", "topcoat must be an object"},
        {"{\"kind\":\"toners\",\"geometry\":\"sideways\",\"surface\":{}}", "geometry is \"sideways\""},
        {"{\"kind\":\"toners\",\"geometry\":\"sci\"}", "surface must be an object"},
        {"{\"kind\":\"toners\",\"geometry\":\"sci\",\"surface\":{\"k1\":0.9,\"k2\":0.6}}",
         "surface.k1 is 0.9"},
        {HEAD ",\"camera\":3,\"toners\":{\"white\":{\"role\":\"white\",\"k\":" ZEROS ",\"s\":" ZEROS "}}}",
         "camera must be an object"},
        {HEAD ",\"camera\":{\"x\":[1]},\"toners\":{\"white\":{\"role\":\"white\",\"k\":" ZEROS ",\"s\":" ZEROS
              "}}}",
         "camera.x has 1 numbers; 31"},
        {"{\"kind\":\"toners\",\"format\":2}", "newer russet"},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct arena *arena = arena_new();
        struct fault fault = {0};
        struct shelf back;
        CHECK(read(row[i].text, strlen(row[i].text), arena, &back, &fault) == STATUS_INPUT);
        if (!strstr(fault.text, row[i].said)) fprintf(stderr, "  %zu: %s\n", i, fault.text);
        CHECK(strstr(fault.text, row[i].said) != NULL);
        arena_free(arena);
    }
}

int main(void) {
    RUN(what_was_written_is_read_to_its_digits);
    RUN(a_cut_file_is_refused);
    RUN(slips_are_named);
    return check_done();
}
