/* russet pour --scale on a stream in a file: the plan is weighed, an over-pour is rescued on the spot, and
 * the reply knows what is in the cup. The recipe is invented; the person pours to the readings that the face
 * asks for. */
#include "colour/difference.h"
#include "flow/operation.h"
#include "flow/weigh_pour.h"
#include "formats/bench_json.h"
#include "formats/json_out.h"
#include "formats/pour_log.h"
#include "invented_recipe.h"
#include "paint/rescue.h"
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

struct place {
    char folder[64], recipe[96], scale[96], log[96];
};

static struct place place_make(void) {
    struct place place = {.folder = "/tmp/russet-pour-XXXXXX"};
    if (!mkdtemp(place.folder)) abort();
    snprintf(place.recipe, sizeof place.recipe, "%s/match.json", place.folder);
    snprintf(place.scale, sizeof place.scale, "%s/scale.txt", place.folder);
    snprintf(place.log, sizeof place.log, "%s/pot.log", place.folder);
    return place;
}

static void place_clear(const struct place *place) {
    unlink(place->recipe);
    unlink(place->scale);
    unlink(place->log);
    rmdir(place->folder);
}

static void write_text(const char *path, const struct text *text) {
    struct fault fault = {0};
    if (disk_write(disk_real(), path, text->data, text->length, &fault) != STATUS_OK)
        check_fail(__FILE__, __LINE__, fault.text);
}

/* A match with this one recipe. */
static void write_recipe(const char *path, const struct pour_recipe *recipe) {
    static const bool used[RECIPE_TONERS_MOST] = {true, true, true, true, true, true, true, true};
    json_t *match = json_start("match"), *parts = json_array(), *one = json_object(), *recipes = json_array();
    const struct reading target = {.lab = pour_lab(recipe, recipe->part)};
    struct text text = {0};
    struct fault fault = {0};
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
    bench_put(match, &recipe->shelf, used, &recipe->film, &target);
    if (json_finish(match, &text, &fault) != STATUS_OK) check_fail(__FILE__, __LINE__, fault.text);
    write_text(path, &text);
    text_free(&text);
    json_decref(match);
}

static int decimals = 2; /* of the scale in the file */

static void add_hold(struct text *stream, double g, int lines) {
    for (int i = 0; i < lines; i++) text_format(stream, "S S %10.*f g\r\n", decimals, g);
}

static double add_pour(struct text *stream, double from, double more) {
    for (int i = 1; i < 40; i++) text_format(stream, "S D %10.*f g\r\n", decimals, from + more * i / 40);
    add_hold(stream, from + more, 20);
    return from + more;
}

static enum status ask(const struct place *place, const char *const options[][2], size_t count,
                       json_t **reply, struct fault *fault) {
    struct arena *arena = arena_new();
    const struct operation *operation = operation_find("pour");
    struct request *request = request_new(operation, arena);
    size_t arguments;
    const struct argument *argument = operation_arguments(operation, &arguments);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        for (size_t k = 0; k < arguments; k++)
            if (strcmp(argument[k].name, options[i][0]) == 0)
                status = request_add(request, &argument[k], options[i][1], fault);
    if (status == STATUS_OK) status = request_check(request, fault);
    struct work *work = work_new(1, NULL, NULL);
    const struct surroundings around = {.disk = disk_real(), .work = work, .arena = arena};
    (void)place;
    if (status == STATUS_OK) status = operation->flow(&around, request, reply, fault);
    work_free(work);
    arena_free(arena);
    return status;
}

/* The live part speaks on stderr; here it speaks to a file. */
static enum status pour_live(const struct place *place, bool with_log, json_t **reply, struct text *said,
                             struct fault *fault) {
    const char *const options[][2] = {{"--recipe", place->recipe},
                                      {"--batch-g", "60"},
                                      {"--scale", place->scale},
                                      {"--lines-per-s", "10"},
                                      {"--log", place->log}};
    char face[120];
    snprintf(face, sizeof face, "%s/face", place->folder);
    fflush(stderr);
    const int keep = dup(2), to = open(face, O_RDWR | O_CREAT | O_TRUNC, 0600), stdin_keep = dup(0);
    const int nobody = open("/dev/null", O_RDONLY);
    dup2(to, 2);
    dup2(nobody, 0);
    *reply = NULL;
    const enum status status = ask(place, options, with_log ? 5 : 4, reply, fault);
    dup2(keep, 2);
    dup2(stdin_keep, 0);
    char part[4096];
    lseek(to, 0, SEEK_SET);
    for (ssize_t n; (n = read(to, part, sizeof part)) > 0;) text_add_bytes(said, part, (size_t)n);
    close(keep);
    close(to);
    close(stdin_keep);
    close(nobody);
    unlink(face);
    return status;
}

/* The amounts that the face asked for so far, from "NOW id...: G g". */
static int wanted_by_face(const struct text *said, double g[], char id[][64], int most) {
    int n = 0;
    for (const char *at = said->data; at && (at = strstr(at, "NOW ")) != NULL && n < most; at++) {
        const char *colon = strstr(at, ": ");
        if (!colon || sscanf(at, "NOW %60[a-z0-9-]", id[n]) != 1) continue;
        g[n++] = atof(colon + 2);
    }
    return n;
}

static void the_plan_is_weighed_to_its_end(void) {
    unsigned long long seed = 3;
    for (int n = 0; n < 6; n++) {
        const struct place place = place_make();
        const struct pour_recipe recipe = invent_recipe(3 + (size_t)n % 4, &seed);
        write_recipe(place.recipe, &recipe);
        struct text stream = {0};
        add_hold(&stream, 0, 20);
        json_t *reply = NULL;
        struct fault fault = {0};
        double level = 0;
        enum status status = STATUS_NO;
        for (int round = 0; round < 12 && status == STATUS_NO; round++) {
            struct text said = {0};
            char id[30][64];
            double g[30];
            write_text(place.scale, &stream);
            json_decref(reply);
            status = pour_live(&place, false, &reply, &said, &fault);
            const int asked = wanted_by_face(&said, g, id, 30);
            if (status == STATUS_NO && asked > 0) level = add_pour(&stream, level, g[asked - 1]);
            text_free(&said);
        }
        CHECK(status == STATUS_OK);
        CHECK_NEAR(level, 60, .2);
        CHECK(json_is_null(json_object_get(reply, "rescue")));
        CHECK_NEAR(json_number_value(json_object_get(reply, "reading_g")), level, .011);
        json_decref(reply);
        text_free(&stream);
        place_clear(&place);
    }
}

/* The second toner poured is 1.5 g over: the rescue is taken (nobody is there), poured, and the pot has the
 * recipe's colour. On a coarse scale what it asks for is poured as let-downs, and what to stir for them is
 * said before. */
static void rescue_on_the_spot(int scale_decimals, double limit) {
    unsigned long long seed = 11;
    int rescued = 0, stirred = 0;
    decimals = scale_decimals;
    double worst = 0;
    for (int n = 0; n < 12; n++) {
        const struct place place = place_make();
        const struct pour_recipe recipe = invent_recipe(3 + (size_t)n % 4, &seed);
        write_recipe(place.recipe, &recipe);
        struct text stream = {0};
        add_hold(&stream, 0, 20);
        json_t *reply = NULL;
        struct fault fault = {0};
        double level = 0;
        enum status status = STATUS_NO;
        bool offered = false;
        struct text said = {0};
        for (int round = 0; round < 24 && status == STATUS_NO; round++) {
            char id[40][64];
            double g[40];
            write_text(place.scale, &stream);
            unlink(place.log);
            text_free(&said);
            said = (struct text){0};
            json_decref(reply);
            status = pour_live(&place, true, &reply, &said, &fault);
            const int asked = wanted_by_face(&said, g, id, 40);
            if (status == STATUS_NO && asked > 0)
                level = add_pour(&stream, level, g[asked - 1] + (round == 1 ? 1.5 : 0));
            const char *offer = said.data ? strstr(said.data, "RESCUE: add") : NULL;
            const char *end = offer ? strstr(offer, "the pot then weighs") : NULL,
                       *let_down = offer ? strstr(offer, ":10 ") : NULL;
            if (let_down && let_down < end && !offered) {
                CHECK(strstr(offer, "stir ") != NULL);
                stirred++;
            }
            offered |= offer != NULL;
        }
        CHECK(status == STATUS_OK);
        rescued += offered;
        double mass[RECIPE_TONERS_MOST] = {0};
        struct arena *arena = arena_new();
        struct bytes bytes;
        struct pour_log log;
        CHECK(disk_read(disk_real(), place.log, 1, arena, &bytes, &fault) == STATUS_OK);
        CHECK(pour_log_replay(&bytes, &log, &fault) == STATUS_OK);
        for (size_t i = 0; i < log.count; i++)
            pour_add(&recipe, shelf_find(&recipe.shelf, log.items[i].id), log.items[i].fraction,
                     log.items[i].poured_g, mass);
        double in_g = 0;
        for (size_t i = 0; i < recipe.shelf.count; i++) in_g += mass[i];
        CHECK_NEAR(in_g, level, scale_decimals == 2 ? .051 : .51);
        if (offered)
            worst = fmax(worst, difference_de00(pour_lab(&recipe, mass), pour_lab(&recipe, recipe.part)));
        arena_free(arena);
        json_decref(reply);
        text_free(&said);
        text_free(&stream);
        place_clear(&place);
    }
    printf("  figure: %d decimals: %d of 12 over-pours of 1.5 g were rescued on the spot, %d with let-downs; "
           "dE00 to the recipe at most %.3f\n",
           decimals, rescued, stirred, worst);
    CHECK_AT_MOST(worst, limit);
    CHECK(rescued >= 4 && (decimals == 2 || stirred > 0));
    decimals = 2;
}

static void an_overpour_is_rescued_on_the_spot(void) {
    rescue_on_the_spot(2, .5);
}

static void so_it_is_on_a_coarse_scale(void) {
    rescue_on_the_spot(1, 1);
}

/* The plan is for .01 g, the scale steps by .1 g: said before the first toner, planned anew, and the log goes
 * on with that plan; what was poured to the old plan stays. */
static void a_coarser_scale_is_planned_for(void) {
    const struct place place = place_make();
    unsigned long long seed = 3;
    const struct pour_recipe recipe = invent_recipe(4, &seed);
    write_recipe(place.recipe, &recipe);
    struct text stream = {0};
    for (int i = 0; i < 20; i++) text_format(&stream, "S S %10.1f g\r\n", 0.0);
    write_text(place.scale, &stream);
    json_t *reply = NULL;
    struct fault fault = {0};
    for (int round = 0; round < 2; round++) { /* the second goes on with the log of the first */
        struct text said = {0};
        json_decref(reply);
        CHECK(pour_live(&place, true, &reply, &said, &fault) == STATUS_NO);
        const char *coarse = strstr(said.data, "The scale steps by 0.1 g"), *now = strstr(said.data, "NOW ");
        CHECK(now && (round == 1 || (coarse && coarse < now)));
        CHECK_NEAR(json_number_value(json_object_get(reply, "scale_step_g")), .1, 1e-9);
        const json_t *step = json_array_get(json_object_get(reply, "steps"), 0);
        CHECK(json_number_value(json_object_get(step, "window_plus_g")) >= .1 - 1e-9);
        text_free(&said);
    }
    json_decref(reply);
    unlink(place.log);
    struct text fine = {0}, said = {0};
    add_hold(&fine, 0, 20);
    const json_t *first = NULL;
    write_text(place.scale, &fine);
    CHECK(pour_live(&place, true, &reply, &said, &fault) == STATUS_NO);
    first = json_array_get(json_object_get(reply, "steps"), 0);
    const double g = json_number_value(json_object_get(first, "g"));
    add_pour(&fine, 0, g);
    json_decref(reply);
    write_text(place.scale, &fine);
    CHECK(pour_live(&place, true, &reply, &said, &fault) == STATUS_NO);
    json_decref(reply);
    text_free(&stream);
    for (int i = 0; i < 20; i++) text_format(&stream, "S S %10.1f g\r\n", g);
    write_text(place.scale, &stream);
    CHECK(pour_live(&place, true, &reply, &said, &fault) == STATUS_NO);
    CHECK(strstr(said.data, "what is in was poured to a plan") != NULL);
    CHECK_NEAR(json_number_value(json_object_get(reply, "reading_g")), g, .011);
    json_decref(reply);
    text_free(&said);
    text_free(&fine);
    text_free(&stream);
    place_clear(&place);
}

static void options_of_the_scale_need_a_scale(void) {
    const struct place place = place_make();
    unsigned long long seed = 3;
    const struct pour_recipe recipe = invent_recipe(3, &seed);
    write_recipe(place.recipe, &recipe);
    const char *const lonely[][2] = {{"--recipe", place.recipe}, {"--batch-g", "60"}, {"--log", "x.log"}};
    const char *const slow[][2] = {
        {"--recipe", place.recipe}, {"--batch-g", "60"}, {"--scale", "-"}, {"--baud", "1201"}};
    const char *const odd[][2] = {
        {"--recipe", place.recipe}, {"--batch-g", "60"}, {"--scale", "-"}, {"--pattern", "{what}"}};
    const char *const none[][2] = {
        {"--recipe", place.recipe}, {"--batch-g", "60"}, {"--scale", "/nowhere/at/all"}};
    json_t *reply = NULL;
    struct fault fault = {0};
    CHECK(ask(&place, lonely, 3, &reply, &fault) == STATUS_USAGE && fault.word == WORD_WEIGH_NEEDS_SCALE);
    CHECK(ask(&place, slow, 4, &reply, &fault) == STATUS_USAGE && fault.word == WORD_SCALE_BAUD);
    CHECK(ask(&place, odd, 4, &reply, &fault) == STATUS_USAGE && fault.word == WORD_PATTERN_NOT_SOUND);
    CHECK(ask(&place, none, 3, &reply, &fault) == STATUS_MACHINE && fault.word == WORD_SCALE_CANNOT_OPEN);
    CHECK(reply == NULL);
    place_clear(&place);
}

int main(void) {
    RUN(the_plan_is_weighed_to_its_end);
    RUN(an_overpour_is_rescued_on_the_spot);
    RUN(so_it_is_on_a_coarse_scale);
    RUN(a_coarser_scale_is_planned_for);
    RUN(options_of_the_scale_need_a_scale);
    return check_done();
}
