/* The verbs amount, coats, air, sheen and units as scripts meet them: keys, exit codes, hostile words, a disk
 * that fails. Worked values as in trade_test.c and amount_test.c. */
#include "check.h"
#include "flow/operation.h"
#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "paint/predict.h"
#include <errno.h>
#include <string.h>
#include <unistd.h>

static const char *ladder_path = "russet_ladder_test.csv";

struct run {
    enum status status;
    json_t *reply;
    struct fault fault;
};

static enum status add_words(struct request *request, const struct operation *operation, const char *line,
                             struct arena *arena, struct fault *fault) {
    char *copy = arena_text(arena, line, strlen(line)), *rest = copy;
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    for (char *word; (word = strtok_r(rest, " ", &rest));) {
        size_t i = 0;
        while (i < count && strcmp(a[i].name, word) != 0) i++;
        const bool position = i == count;
        if (position) i = request_has(request, "VALUE");
        char *value = position ? word : a[i].type == TYPE_FLAG ? NULL : strtok_r(rest, " ", &rest);
        const enum status status =
            request_add(request, &a[i], a[i].type == TYPE_FLAG || value ? value : "", fault);
        if (status != STATUS_OK) return status;
    }
    return request_check(request, fault);
}

/* One verb, on a disk of the caller's. Everything that came back is given up by run_end. */
static struct run run_on(const struct disk *disk, struct arena *arena, const char *verb, const char *line) {
    const struct operation *operation = operation_find(verb);
    const struct surroundings around = {.disk = disk, .arena = arena};
    struct run run = {0};
    struct request *request = request_new(operation, arena);
    run.status = add_words(request, operation, line, arena, &run.fault);
    if (run.status == STATUS_OK) run.status = operation->flow(&around, request, &run.reply, &run.fault);
    if (run.reply) {
        struct text out = {0};
        operation->say(run.reply, &out);
        CHECK(out.length > 10);
        text_free(&out);
        CHECK(json_finish(run.reply, &out, &run.fault) == STATUS_OK);
        text_free(&out);
    }
    return run;
}

static double number_of(const struct run *run, const char *key) {
    const json_t *value = json_object_get(run->reply, key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static struct arena *arena;

static struct run done(const char *verb, const char *line) {
    const struct run run = run_on(disk_real(), arena, verb, line);
    if (run.status != STATUS_OK) fprintf(stderr, "  russet %s %s: %s\n", verb, line, run.fault.text);
    CHECK(run.status == STATUS_OK);
    return run;
}

static enum status ends(const char *verb, const char *line) {
    const struct run run = run_on(disk_real(), arena, verb, line);
    CHECK((run.status == STATUS_OK) == (run.reply != NULL) || run.status == STATUS_NO);
    CHECK(run.reply || run.fault.text[0]);
    json_decref(run.reply);
    return run.status;
}

static void amounts_come_out_in_litres_and_grams(void) {
    struct run run =
        done("amount",
             "--area-m2 1.4 --film-um 30 --solids-volume .25 --transfer .65 --spare .05 --density-g-ml 1.1");
    CHECK_NEAR(number_of(&run, "wet_ml"), 271.38, 0.01);
    CHECK_NEAR(number_of(&run, "wet_g"), 271.38 * 1.1, 0.01);
    json_decref(run.reply);
    run = done("amount", "--area-m2 0.6 --film-um 30 --solids-volume .25 --transfer .65 --coats 1");
    CHECK_NEAR(number_of(&run, "wet_ml"), 110.77, 0.01);
    CHECK_NEAR(number_of(&run, "wet_um"), 120, 1e-9);
    CHECK_NEAR(number_of(&run, "coats"), 1, 0);
    json_decref(run.reply);
    run = done("amount", "--area-m2 1 --film-um 30 --solids-volume .25 --transfer .65 --density-g-ml 1.05 "
                         "--volatiles .6 --water .5");
    CHECK_NEAR(json_number_value(json_object_get(json_object_get(run.reply, "voc"), "regulatory_g_per_l")),
               221.05, 0.01);
    json_decref(run.reply);
}

static void the_air_says_go_or_wait(void) {
    struct run run = run_on(disk_real(), arena, "air", "--air-c 16 --rh 71 --surface-c 13");
    CHECK(run.status == STATUS_NO);
    CHECK_NEAR(number_of(&run, "margin_k"), 2.26, 0.005);
    CHECK_TEXT(json_string_value(json_object_get(run.reply, "verdict")), "wait");
    json_decref(run.reply);
    run = done("air", "--air-c 20 --rh 50 --surface-c 20");
    CHECK_NEAR(number_of(&run, "dew_point_c"), 9.261, 0.0006);
    CHECK_TEXT(json_string_value(json_object_get(run.reply, "verdict")), "go");
    json_decref(run.reply);
}

static void the_plan_and_the_amount_agree(void) {
    struct run run = done(
        "coats",
        "--area-m2 .6 --film-um 30 --solids-volume .25 --by gun --loss-ml 0 --flow 100ml/min --fan 20cm");
    CHECK_NEAR(number_of(&run, "coat_ml") * number_of(&run, "coats"), number_of(&run, "wet_ml"), 0.05);
    CHECK_NEAR(number_of(&run, "wet_ml"), 110.77, 0.01);
    json_decref(run.reply);
    CHECK(ends("coats", "--area-m2 .6 --film-um 30 --solids-volume .25 --air-c 16 --rh 71 --surface-c 13") ==
          STATUS_NO);
}

static void write_ladder(const char *text) {
    struct fault fault;
    CHECK(disk_write(disk_real(), ladder_path, text, strlen(text), &fault) == STATUS_OK);
}

static const char good_ladder[] =
    "matte_fraction,gu60,gu85\n0,87.2,95\n.25,33,72\n.5,12.8,51\n.75,5.5,30\n1,2.8,11\n";

static void a_sheen_comes_from_the_ladder(void) {
    write_ladder(good_ladder);
    struct run run = done("sheen", "--ladder russet_ladder_test.csv --target-gu 12.8 --batch-ml 80");
    CHECK_NEAR(number_of(&run, "matte_fraction"), 0.5, 0.001);
    CHECK_NEAR(number_of(&run, "matte_ml"), 40, 0.1);
    CHECK_NEAR(number_of(&run, "matte_ml") + number_of(&run, "gloss_ml"), 80, 0.011);
    json_decref(run.reply);
    run = done("sheen", "--ladder russet_ladder_test.csv --target-gu 12.8 --measured .5=15");
    CHECK(number_of(&run, "matte_fraction") > 0.52);
    json_decref(run.reply);
    CHECK(ends("sheen", "--ladder russet_ladder_test.csv --target-gu 99") == STATUS_NO);
    CHECK(ends("sheen", "--ladder russet_ladder_test.csv --target-gu 5 --angle 20") == STATUS_INPUT);
    CHECK(ends("sheen", "--by-eye") == STATUS_OK);
    CHECK(ends("sheen", "--by-eye --ladder russet_ladder_test.csv --nearest 3,4") == STATUS_OK);
    write_ladder("matte_fraction,gu60\n0,80\n.5,20\n.7,60\n1,3\n");
    CHECK(ends("sheen", "--ladder russet_ladder_test.csv --target-gu 12.8") == STATUS_INPUT);
    unlink(ladder_path);
}

static void write_json(const char *path, json_t *object) {
    struct text out = {0};
    struct fault fault;
    CHECK(json_finish(object, &out, &fault) == STATUS_OK);
    CHECK(disk_write(disk_real(), path, out.data, out.length, &fault) == STATUS_OK);
    text_free(&out);
    json_decref(object);
}

static void write_reading(const char *path, const struct spectrum *reflectance) {
    json_t *object = json_start("reading");
    json_put_text(object, "id", "spot");
    json_put_text(object, "geometry", "sce");
    json_put(object, "reflectance", json_spectrum(reflectance));
    json_put_text(object, "illuminant", "D65");
    json_put_count(object, "observer", 10);
    write_json(path, object);
}

/* An invented shelf of one black: its colour under another sheen, and its fade over a white ground. */
static void the_colour_follows_the_sheen_and_the_ground_shows(void) {
    static struct toner toner = {
        .id = "black", .name = "black", .role = ROLE_BLACK, .price_minor_per_kg = -1};
    struct shelf shelf = {.count = 1,
                          .toner = &toner,
                          .geometry = GEOMETRY_SCE,
                          .surface = {.k1 = 0.04, .k2 = 0.6, .sheen_return = 0.2}};
    struct spectrum white, around;
    for (int b = 0; b < BANDS; b++) toner.k[b] = 0.5, toner.s[b] = 0.02, white.band[b] = 0.7;
    const double part[] = {1};
    const struct film_case opaque = {HUGE_VAL, white, GEOMETRY_SCE, (double)NAN};
    predict_reflectance(&shelf, part, &opaque, &around);
    json_t *toners = json_start("toners"), *match = json_start("match");
    shelf_put(toners, &shelf);
    json_put(match, "recipes",
             json_pack("[{s:[{s:s,s:f}]}]", "parts", "toner", "black", "mass_fraction", 1.0));
    write_json("russet_toners_test.json", toners);
    write_json("russet_match_test.json", match);
    write_reading("russet_ground_test.json", &white);
    write_reading("russet_around_test.json", &around);
    write_ladder(good_ladder);
    struct run run = done(
        "sheen", "--ladder russet_ladder_test.csv --target-gu 4 --toners russet_toners_test.json --recipe "
                 "russet_match_test.json#1 --from-gu 60");
    CHECK(json_number_value(json_object_get(json_object_get(run.reply, "colour_shift"), "dL")) > 2);
    json_decref(run.reply);
    run = done("amount", "--area-m2 1 --film-um 30 --solids-volume .25 --transfer .65 --edge fade "
                         "--fade-length-mm 500 --toners "
                         "russet_toners_test.json --recipe russet_match_test.json --ground "
                         "russet_ground_test.json "
                         "--around russet_around_test.json");
    const json_t *fade = json_object_get(run.reply, "fade");
    const double safe_um = json_number_value(json_object_get(fade, "safe_film_um"));
    CHECK(safe_um > 0.5 && safe_um < 30);
    CHECK_NEAR(json_number_value(json_object_get(fade, "hidden_mm")), 75 * (1 - safe_um / 30), 0.1);
    json_decref(run.reply);
    static const char *const made[] = {"toners", "match", "ground", "around"};
    for (int i = 0; i < 4; i++) {
        char path[64];
        snprintf(path, sizeof path, "russet_%s_test.json", made[i]);
        unlink(path);
    }
    unlink(ladder_path);
}

static void wrong_words_end_in_one_sentence(void) {
    static const struct {
        const char *verb, *line;
        enum status status;
    } wrong[] = {
        {"amount", "--area-m2 0 --film-um 30 --solids-volume .25 --transfer .65", STATUS_USAGE},
        {"amount", "--area-m2 nan --film-um 30 --solids-volume .25 --transfer .65", STATUS_USAGE},
        {"amount", "--area-m2 1 --film-um 1e308 --solids-volume .25 --transfer .65", STATUS_USAGE},
        {"amount", "--area-m2 1 --film-um 30 --solids-volume 25 --transfer .65", STATUS_USAGE},
        {"amount", "--area-m2 1 --film-um 30 --solids-volume .25", STATUS_USAGE},
        {"amount", "--area-m2 1 --film-um 2000 --solids-volume .25 --transfer .5", STATUS_NO},
        {"amount", "--area-m2 1 --film-um 30 --solids-volume .25 --transfer .5 --edge fade", STATUS_USAGE},
        {"amount", "--area-m2 1 --film-um 30 --solids-volume .25 --transfer .5 --volatiles .3 --water .5",
         STATUS_INPUT},
        {"amount", "--area-m2 1 --film-um 30 --solids-volume .25 --transfer .5 --recipe /nowhere.json#2",
         STATUS_INPUT},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --flow 5oz", STATUS_USAGE},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --flow 1e300", STATUS_USAGE},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --panel-mm 3", STATUS_USAGE},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --start 25:00", STATUS_USAGE},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --rh 50", STATUS_USAGE},
        {"coats", "--area-m2 1 --film-um 30 --solids-volume .25 --air-c 20 --rh 100 --surface-c 30",
         STATUS_NO},
        {"air", "--air-c 16 --rh 0 --surface-c 13", STATUS_USAGE},
        {"air", "--air-c 16 --rh 50", STATUS_USAGE},
        {"sheen", "--target-gu 5", STATUS_USAGE},
        {"sheen", "--ladder /nowhere.csv --target-gu 5", STATUS_INPUT},
        {"sheen", "--ladder / --target-gu 5", STATUS_INPUT},
        {"sheen", "--by-eye --nearest 1,3", STATUS_USAGE},
        {"sheen", "--by-eye --nearest 1.5", STATUS_USAGE},
        {"sheen", "--by-eye --between .5,.2", STATUS_USAGE},
        {"units", "400", STATUS_USAGE},
        {"units", "5oz ml", STATUS_USAGE},
        {"units", "psi", STATUS_USAGE},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        const enum status status = ends(wrong[i].verb, wrong[i].line);
        if (status != wrong[i].status) fprintf(stderr, "  russet %s %s\n", wrong[i].verb, wrong[i].line);
        CHECK(status == wrong[i].status);
    }
}

/* The n-th call to the disk fails: one sentence, nothing leaks (the sanitizers watch). */
static int calls_left;

static ssize_t failing_read(int fd, void *to, size_t n) {
    if (calls_left-- > 0) return read(fd, to, n);
    errno = EIO;
    return -1;
}

static int failing_open(const char *path, int flags, mode_t mode) {
    if (calls_left-- > 0) return disk_real()->open(path, flags, mode);
    errno = EMFILE;
    return -1;
}

static void a_failing_disk_is_told(void) {
    write_ladder(good_ladder);
    struct disk disk = *disk_real();
    disk.open = failing_open;
    disk.read = failing_read;
    bool went_through = false;
    for (int n = 0; n < 20 && !went_through; n++) {
        calls_left = n;
        struct run run = run_on(&disk, arena, "sheen", "--ladder russet_ladder_test.csv --target-gu 12.8");
        went_through = run.status == STATUS_OK;
        CHECK(went_through || ((run.status == STATUS_MACHINE || run.status == STATUS_INPUT) &&
                               run.fault.text[0] && !run.reply));
        json_decref(run.reply);
    }
    CHECK(went_through);
    unlink(ladder_path);
}

int main(void) {
    char folder[] = "/tmp/russet-coat-XXXXXX"; /* of this process alone */
    if (!mkdtemp(folder) || chdir(folder) != 0) return 1;
    arena = arena_new();
    RUN(amounts_come_out_in_litres_and_grams);
    RUN(the_air_says_go_or_wait);
    RUN(the_plan_and_the_amount_agree);
    RUN(a_sheen_comes_from_the_ladder);
    RUN(the_colour_follows_the_sheen_and_the_ground_shows);
    RUN(wrong_words_end_in_one_sentence);
    RUN(a_failing_disk_is_told);
    arena_free(arena);
    rmdir(folder);
    return check_done();
}
