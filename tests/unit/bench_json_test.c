/* Recipes read for pouring: the bench block, the compact recipe of the QR code, and files that are not what
 * they should be. */
#include "colour/difference.h"
#include "formats/base64.h"
#include "formats/bench_compact.h"
#include "formats/json_out.h"
#include "invented_recipe.h"

/* A match as russet match writes it, with one recipe, from an invented recipe. */
static json_t *match_of(const struct pour_recipe *recipe, const struct reading *target) {
    json_t *match = json_start("match"), *parts = json_array(), *one = json_object(), *recipes = json_array();
    for (size_t i = 0; i < recipe->shelf.count; i++) {
        json_t *part = json_object();
        json_put_text(part, "toner", recipe->shelf.toner[i].id);
        json_put_number(part, "mass_fraction", recipe->part[i], DIGITS_FRACTION);
        json_array_append_new(parts, part);
    }
    json_put_count(one, "rank", 1);
    json_put(one, "parts", parts);
    json_array_append_new(recipes, one);
    json_put(match, "recipes", recipes);
    static const bool used[RECIPE_TONERS_MOST] = {true, true, true, true, true, true, true, true};
    bench_put(match, &recipe->shelf, used, &recipe->film, target);
    return match;
}

static enum status read_text(const char *text, unsigned long long rank, struct arena *arena,
                             struct bench_recipe *out, struct fault *fault) {
    const struct bytes bytes = {(const unsigned char *)text, strlen(text), "recipe.json"};
    return bench_read(&bytes, rank, arena, out, fault);
}

static void base64_is_rfc_4648(void) { /* its section 10 */
    static const char *const plain[] = {"", "f", "fo", "foo", "foob", "fooba", "foobar"};
    static const char *const coded[] = {"", "Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"};
    for (size_t i = 0; i < 7; i++) {
        struct text text = {0};
        unsigned char back[8] = {0};
        base64_add(&text, (const unsigned char *)plain[i], strlen(plain[i]));
        CHECK_TEXT(text.data ? text.data : "", coded[i]);
        CHECK(base64_read(coded[i], back, strlen(plain[i])));
        CHECK(memcmp(back, plain[i], strlen(plain[i])) == 0);
        CHECK(!base64_read(coded[i], back, strlen(plain[i]) + 1 + strlen(plain[i]) % 3));
        text_free(&text);
    }
    unsigned char back[4];
    CHECK(!base64_read("Zh==", back, 1)); /* spare bits */
    CHECK(!base64_read("Z===", back, 1) && !base64_read("Zm9=", back, 3) && !base64_read("Zm 9", back, 3) &&
          !base64_read("=m9v", back, 3));
}

static void a_match_is_read_to_its_digits(void) {
    unsigned long long seed = 8;
    for (int n = 0; n < 20; n++) {
        struct pour_recipe recipe = invent_recipe(2 + (size_t)(6 * check_random(&seed)), &seed);
        recipe.film.film_um = n % 2 ? 30 : (double)INFINITY;
        for (int b = 0; b < BANDS; b++) recipe.film.backing.band[b] = .1 + .02 * b;
        const struct reading target = {.lab = {50, 10, 20, {LIGHT_D65, OBSERVER_10}}};
        json_t *match = match_of(&recipe, &target);
        struct text text = {0};
        struct fault fault = {0};
        struct arena *arena = arena_new();
        struct bench_recipe back;
        CHECK(json_finish(match, &text, &fault) == STATUS_OK);
        CHECK(read_text(text.data, 1, arena, &back, &fault) == STATUS_OK);
        CHECK(back.pour.shelf.count == recipe.shelf.count && back.pour.has_target && back.rank == 1);
        CHECK_NEAR(difference_de00(pour_lab(&recipe, recipe.part), pour_lab(&back.pour, back.pour.part)), 0,
                   .002);
        CHECK(read_text(text.data, 2, arena, &back, &fault) == STATUS_INPUT && fault.word == WORD_BENCH_RANK);
        text_free(&text);
        arena_free(arena);
        json_decref(match);
    }
}

/* The windows of the compact recipe against those of the full one: by at most one step of the scale or 5 %;
 * colour within .10. */
static void the_compact_recipe_gives_the_same_windows(void) {
    unsigned long long seed = 18;
    double worst_colour = 0, worst_window = 0;
    size_t longest = 0;
    int steps = 0;
    for (int n = 0; n < 60; n++) {
        struct pour_recipe recipe =
            invent_recipe(n % 10 == 0 ? 6 : 2 + (size_t)(5 * check_random(&seed)), &seed);
        recipe.film.film_um = n % 2 ? 30 : (double)INFINITY;
        for (int b = 0; b < BANDS; b++) recipe.film.backing.band[b] = .1 + .02 * b;
        recipe.shelf.beam = (struct beam){.on = n % 3 == 0, .forward = .4};
        recipe.shelf.topcoat = (struct topcoat){.measured = n % 5 == 0, .haze_per_decade = .01};
        recipe.film.sheen_gu = n % 4 == 0 ? 3 : (double)NAN;
        recipe.film.geometry = n % 4 == 1 ? GEOMETRY_45_0 : GEOMETRY_SCI;
        recipe.shelf.surface.sheen_return = .3;
        invented_toner[0].crowd = n % 6 == 0 ? .8 : 0;
        invented_toner[0].bend = n % 7 == 0 ? .3 : 0;
        invented_toner[1].lean = n % 2 == 0 ? .123 : 0;
        recipe.has_target = true;
        recipe.target = pour_lab(&recipe, recipe.part);
        recipe.target.l += .2;
        struct bench_recipe full = {.pour = recipe, .name = "cognac helm seat"}, back = {0};
        json_t *compact = bench_compact(&full);
        struct text text = {0};
        struct fault fault = {0};
        struct arena *arena = arena_new();
        bench_compact_text(compact, &text);
        longest = text.length > longest ? text.length : longest;
        CHECK(read_text(text.data, 0, arena, &back, &fault) == STATUS_OK);
        CHECK_TEXT(back.name, "cognac helm seat");
        const struct lab a = pour_lab(&recipe, recipe.part), b = pour_lab(&back.pour, back.pour.part);
        worst_colour = fmax(worst_colour, difference_de00(a, b));
        struct pour_task task = invent_task(&recipe, 60), other = task;
        other.recipe = &back.pour;
        task.scale.step_g = other.scale.step_g = .001;
        struct pour_plan plan, same;
        pour_plan_make(&task, &plan);
        pour_plan_make(&other, &same);
        CHECK(plan.count == same.count);
        for (size_t j = 0; j < plan.count && plan.count == same.count; j++, steps++) {
            CHECK(plan.step[j].toner == same.step[j].toner);
            const double d = fabs(plan.step[j].plus_g - same.step[j].plus_g);
            CHECK_AT_MOST(d, fmax(.002, .05 * plan.step[j].plus_g));
            if (plan.step[j].plus_g > .05) worst_window = fmax(worst_window, d / plan.step[j].plus_g);
        }
        text_free(&text);
        arena_free(arena);
        json_decref(compact);
    }
    printf("  figure: 60 compact recipes, at most %zu bytes; colour within %.3f dE00, windows within %.1f %% "
           "(%d steps)\n",
           longest, worst_colour, 100 * worst_window, steps);
    CHECK_AT_MOST(worst_colour, .10);
    CHECK_AT_MOST((double)longest, 1400);
}

static void curves_of_any_size_survive(void) {
    unsigned long long seed = 2;
    for (int n = 0; n < 2000; n++) {
        double curve[BANDS], back[BANDS], largest = 0;
        unsigned char packed[CURVE_BYTES];
        const double size = pow(10, -7 + 9 * check_random(&seed));
        for (int b = 0; b < BANDS; b++) {
            curve[b] = n % 7 == 0 ? 0 : size * pow(10, -3.9 * check_random(&seed));
            largest = fmax(largest, curve[b]);
        }
        bench_curve_pack(curve, packed);
        bench_curve_unpack(packed, back);
        for (int b = 0; b < BANDS; b++)
            CHECK_AT_MOST(fabs(back[b] - curve[b]), .06 * curve[b] + 1.1e-4 * largest);
    }
}

/* Every byte of a compact recipe cut off or changed: refused in words or read, never a crash, never a number
 * out of range. */
static void a_damaged_recipe_is_refused_or_read(void) {
    unsigned long long seed = 5;
    struct pour_recipe recipe = invent_recipe(4, &seed);
    struct bench_recipe full = {.pour = recipe, .name = "x"}, back;
    json_t *compact = bench_compact(&full);
    struct text text = {0};
    bench_compact_text(compact, &text);
    int refused = 0;
    for (size_t n = 0; n < text.length; n++)
        for (int how = 0; how < 3; how++) {
            char *copy = malloc(text.length + 1);
            struct fault fault = {0};
            struct arena *arena = arena_new();
            memcpy(copy, text.data, text.length + 1);
            if (how == 0)
                copy[n] = 0;
            else
                copy[n] =
                    how == 1 ? (char)('0' + (int)(n % 10)) : (char)(33 + (int)(94 * check_random(&seed)));
            const enum status status = read_text(copy, 0, arena, &back, &fault);
            CHECK(status == STATUS_OK || status == STATUS_INPUT);
            CHECK(status == STATUS_OK || fault.text[0]);
            if (status == STATUS_OK) CHECK(isfinite(pour_lab(&back.pour, back.pour.part).l));
            refused += status != STATUS_OK;
            free(copy);
            arena_free(arena);
        }
    CHECK(refused > (int)text.length);
    printf("  figure: %d of %d damaged recipes refused in words\n", refused, 3 * (int)text.length);
    text_free(&text);
    json_decref(compact);
}

static void other_files_are_refused_in_words(void) {
    static const struct {
        const char *text;
        enum word word;
    } bad[] = {{"{\"kind\":\"match\",\"format\":1}", WORD_BENCH_NO_RECIPE},
               {"{\"kind\":\"match\",\"format\":1,\"recipes\":[{\"parts\":[]}]}", WORD_BENCH_MISSING},
               {"{\"kind\":\"toners\",\"format\":1}", WORD_JSON_KIND_OTHER},
               {"[]", WORD_JSON_NOT_OBJECT},
               {"{\"kind\":\"recipe\",\"format\":2}", WORD_JSON_FORMAT_NEWER},
               {"{\"kind\":\"pour\",\"format\":1}", WORD_JSON_NOT_OBJECT}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct fault fault = {0};
        struct bench_recipe back;
        struct arena *arena = arena_new();
        CHECK(read_text(bad[i].text, 0, arena, &back, &fault) == STATUS_INPUT);
        if (fault.word != bad[i].word) fprintf(stderr, "  case %zu: %s\n", i, fault.text);
        CHECK(fault.word == bad[i].word);
        arena_free(arena);
    }
}

/* For trying things by hand: RUSSET_KEEP=match.json. */
static void keep_an_example(void) {
    const char *path = getenv("RUSSET_KEEP");
    if (!path) return;
    unsigned long long seed = 12;
    struct pour_recipe recipe = invent_recipe(6, &seed);
    struct reading target = {.has_spectrum = true};
    predict_reflectance(&recipe.shelf, recipe.part, &recipe.film, &target.reflectance);
    for (int b = 0; b < BANDS; b++) target.reflectance.band[b] *= 1.01;
    target.lab = lab_of_spectrum(&target.reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    json_t *match = match_of(&recipe, &target);
    struct text text = {0};
    struct fault fault;
    CHECK(json_finish(match, &text, &fault) == STATUS_OK);
    FILE *f = fopen(path, "wb");
    fwrite(text.data, 1, text.length, f);
    fclose(f);
    text_free(&text);
    json_decref(match);
}

int main(void) {
    RUN(base64_is_rfc_4648);
    RUN(a_match_is_read_to_its_digits);
    RUN(the_compact_recipe_gives_the_same_windows);
    RUN(curves_of_any_size_survive);
    RUN(a_damaged_recipe_is_refused_or_read);
    RUN(other_files_are_refused_in_words);
    RUN(keep_an_example);
    return check_done();
}
