/* `russet photo colour` from whole files, as a person would ask: every kind of file is decoded and measured,
 * profile and orientation are respected, and what is handed in by mistake or malice ends in one sentence with
 * the right exit code. Photographs are rendered (render.h), written by libjpeg-turbo, libpng, libtiff and
 * heif-enc. */
#include "camera/trial.h"
#include "cli/command_line.h"
#include "colour/difference.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "picture_files.h"

static struct trial_room *room;
static char card_file[300], good[300], other[300]; /* other: the next moment's noise */
static double spot_px[2];                          /* beside the window's middle */
static struct canvas codes;                        /* the display codes of good */

enum { WORDS_MOST = 24, WIDTH = 912, HEIGHT = 684 };

/* ---- asking ---- */

struct answer {
    enum status status;
    struct fault fault;
    struct lab lab;
    double u95;
    json_t *reply; /* the caller's */
};

static struct answer ask_words(const char *const word[]) {
    static const char *const verb[] = {"russet", "photo", "colour"};
    char *argv[WORDS_MOST + 3];
    int argc = 0;
    struct answer out = {0};
    struct command command;
    struct arena *arena = arena_new();
    for (int i = 0; i < 3; i++) argv[argc++] = (char *)(size_t)verb[i];
    for (int i = 0; word[i]; i++) argv[argc++] = (char *)(size_t)word[i];
    const struct surroundings around = {.disk = disk_real(), .arena = arena};
    out.status = command_parse(argc, argv, arena, &command, &out.fault);
    if (out.status == STATUS_OK)
        out.status = command.operation->flow(&around, command.request, &out.reply, &out.fault);
    CHECK((out.status == STATUS_OK) == (out.reply != NULL));
    if (out.status == STATUS_OK) {
        double v[3];
        for (size_t i = 0; i < 3; i++)
            v[i] = json_number_value(json_array_get(json_object_get(out.reply, "lab"), i));
        out.lab = (struct lab){v[0], v[1], v[2], {LIGHT_D65, OBSERVER_10}};
        out.u95 = json_number_value(json_object_get(out.reply, "u95_de00"));
    } else { /* one sentence, or two that belong together, on one line */
        CHECK(out.fault.text[0] && !strchr(out.fault.text, '\n'));
        CHECK(strchr(".?)", out.fault.text[strlen(out.fault.text) - 1]));
        if (getenv("RUSSET_TELL")) printf("  %s\n", out.fault.text);
    }
    arena_free(arena);
    return out;
}
#define ASK(...) ask_words((const char *const[]){__VA_ARGS__, NULL})

static void expect(int line, struct answer answer, enum status status, enum word word) {
    char what[1200];
    snprintf(what, sizeof what, "status %d, word %d (wanted %d, %d): %.900s", (int)answer.status,
             (int)answer.fault.word, (int)status, (int)word, answer.fault.text);
    if (answer.status != status || (status != STATUS_OK && answer.fault.word != word))
        check_fail(__FILE__, line, what);
    json_decref(answer.reply);
}
#define REFUSED(word, ...) expect(__LINE__, ASK(__VA_ARGS__), word_status(WORD_##word), WORD_##word)
/* What is wrong in one photograph is told with its name in front; says: a piece of the sentence. */
static void expect_in(int line, struct answer answer, const char *says) {
    if (answer.status != STATUS_INPUT || answer.fault.word != WORD_IN_FILE ||
        !strstr(answer.fault.text, says))
        check_fail(__FILE__, line, answer.fault.text);
    json_decref(answer.reply);
}
#define REFUSED_IN(says, ...) expect_in(__LINE__, ASK(__VA_ARGS__), says)
#define TAKEN(...) expect(__LINE__, ASK(__VA_ARGS__), STATUS_OK, WORD_NONE)

/* ---- photographs ---- */

static void usual(struct scene *scene) {
    trial_scene(room, 4, LAMP_D65, 0, scene);
    scene->width = WIDTH, scene->height = HEIGHT;
    scene->sensor.curve = .25;
    scene->window.colour = room->leather[1];
}

static void put_jpeg(const struct plate *plate, const struct sensor *sensor, const char *path) {
    size_t bytes;
    unsigned char *jpeg = plate_jpeg(plate, sensor, &bytes);
    file_put(path, jpeg, bytes);
    memory_free(jpeg);
}

static void put_card(const struct photo_card *card, char path[300], const char *name) {
    json_t *object = json_start("card");
    struct text text = {0};
    struct fault fault;
    card_put(object, card);
    CHECK(json_finish(object, &text, &fault) == STATUS_OK);
    file_put(file_in(path, name), text.data, text.length);
    text_free(&text);
}

static double off_by(const struct answer *answer, const struct spectrum *truth) {
    return difference_de00(lab_of_spectrum(truth, weights_of((struct view){LIGHT_D65, OBSERVER_10})),
                           answer->lab);
}

/* ---- every kind of file ---- */

/* A picture's display codes, as a camera has them before it writes a file. */
static struct canvas codes_of(const struct plate *plate, const struct sensor *sensor) {
    struct canvas c = canvas_new(plate_width(plate), plate_height(plate), 8);
    struct sensor fine = *sensor;
    struct jpeg_decompress_struct j;
    struct jpeg_error_mgr errors;
    size_t bytes;
    fine.quality = 100;
    unsigned char *jpeg = plate_jpeg(plate, &fine, &bytes);
    j.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&j);
    jpeg_mem_src(&j, jpeg, bytes);
    jpeg_read_header(&j, TRUE);
    jpeg_start_decompress(&j);
    while (j.output_scanline < j.output_height) {
        JSAMPROW row = c.v8 + (size_t)j.output_scanline * (size_t)c.width * 3;
        jpeg_read_scanlines(&j, &row, 1);
    }
    jpeg_finish_decompress(&j);
    jpeg_destroy_decompress(&j);
    memory_free(jpeg);
    return c;
}

/* The same light under another curve, for a profile that says so: code = light^(1 / gamma). */
static void recode(const struct canvas *c, double gamma, struct canvas *out) {
    *out = canvas_new(c->width, c->height, 16);
    for (size_t i = 0; i < (size_t)c->width * (size_t)c->height * 3; i++) {
        const double v = c->v8[i] / 255., light = v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
        out->v16[i] = (uint16_t)lrint(65535 * pow(light, 1 / gamma));
    }
}

/* The sensor's light under a colour filter array, with black and white of a sensor of fourteen bits and a
 * white balance that is still to be done (AsShotNeutral .5, 1, .6): as a DNG, and as a raw file by TIFF/EP,
 * from which the black is taken and which tells no white balance. */
static void put_raws(const struct scene *scene, const char *path, const char *plain_path) {
    static const double balance[3] = {.5, 1, .6};
    struct sensor raw = scene->sensor;
    raw.quality = 0;
    struct plate *plate = plate_expose(scene);
    const size_t pixels = (size_t)scene->width * (size_t)scene->height;
    uint16_t *rgb = calloc(3 * pixels, sizeof *rgb), *values = calloc(pixels, sizeof *values);
    plate_raw(plate, &raw, rgb);
    struct dng dng = {.width = scene->width,
                      .height = scene->height,
                      .values = values,
                      .black = 512,
                      .white = 16383,
                      .pattern = {0, 1, 1, 2}};
    for (int y = 0; y < scene->height; y++)
        for (int x = 0; x < scene->width; x++) {
            const int k = dng.pattern[y % 2 * 2 + x % 2];
            const size_t at = (size_t)y * (size_t)scene->width + (size_t)x;
            values[at] = (uint16_t)lrint(512 + rgb[3 * at + (size_t)k] / 65535. * balance[k] * (16383 - 512));
        }
    dng_write(&dng, path);
    for (size_t i = 0; i < pixels; i++)
        values[i] = (uint16_t)lrint(65535. * fmax(values[i] - 512., 0) / (16383 - 512));
    dng.plain = true;
    dng_write(&dng, plain_path);
    plate_free(plate);
    free(rgb), free(values);
}

static bool encode_heic(const char *from, const char *to) {
    char command[900];
    snprintf(command, sizeof command, "heif-enc -q 90 -p preset=ultrafast '%s' -o '%s' > /dev/null 2>&1",
             from, to);
    return system(command) == 0;
}

static double measured(const char *path, const struct spectrum *truth, const struct lab *as) {
    struct answer answer = ASK(path, "--card", card_file);
    const double de00 = off_by(&answer, truth), apart = as ? difference_de00(*as, answer.lab) : 0;
    if (answer.status != STATUS_OK) check_fail(__FILE__, __LINE__, answer.fault.text);
    printf("  figure: %s: %.2f dE00 off, stated %.2f; from the JPEG %.2f\n", strrchr(path, '/') + 1, de00,
           answer.u95, apart);
    CHECK_AT_MOST(de00, answer.u95);
    json_decref(answer.reply);
    return fmax(de00, apart);
}

static void every_kind_of_file_is_decoded_and_measured(void) {
    struct scene scene;
    struct canvas recoded;
    char path[300], png[300];
    unsigned size;
    usual(&scene);
    const struct spectrum *truth = &room->leather[1];
    struct answer first = ASK(good, "--card", card_file);
    CHECK(first.status == STATUS_OK);
    json_decref(first.reply);
    CHECK_AT_MOST(measured(good, truth, &first.lab), .6);
    canvas_png(&codes, file_in(png, "camera.png"), PNG_SAYS_SRGB);
    CHECK_AT_MOST(measured(png, truth, &first.lab), .6);
    CHECK(encode_heic(png, file_in(path, "camera.heic")));
    CHECK_AT_MOST(measured(path, truth, &first.lab), .6);
    /* A profile that brightens (gamma 1.4): read as sRGB, the codes would be far off what the light was. */
    recode(&codes, 1.4, &recoded);
    recoded.icc = profile_of_gamma(1.4, &size), recoded.icc_size = size;
    canvas_tiff(&recoded, file_in(path, "profile.tif"), (struct tiff_way){.compression = COMPRESSION_NONE});
    CHECK_AT_MOST(measured(path, truth, &first.lab), .6);
    free((void *)(size_t)recoded.icc);
    canvas_free(&recoded);
    scene.width = WIDTH / 2 * 3, scene.height = HEIGHT / 2 * 3; /* one value of each colour from four cells */
    char plain[300];
    put_raws(&scene, file_in(path, "sensor.dng"), file_in(plain, "sensor.tif"));
    CHECK_AT_MOST(measured(path, truth, NULL), .6);
    CHECK_AT_MOST(measured(plain, truth, NULL),
                  .8); /* TIFF/EP: it tells no matrix of its camera to lean on */
}

/* Without the card's own greys to hide it: the profile decides what the sheet of the first day reads. */
static void a_profile_moves_what_no_grey_corrects(void) {
    struct canvas wedge = canvas_new(64, 48, 8);
    char with[300], without[300];
    unsigned size;
    canvas_fill(&wedge, 0, 0, 64, 48, 128, 128, 128);
    canvas_jpeg(&wedge, file_in(without, "grey.jpg"), 95, false);
    wedge.icc = profile_of_gamma(1.4, &size), wedge.icc_size = size;
    canvas_jpeg(&wedge, file_in(with, "grey-profile.jpg"), 95, false);
    struct picture a = load(without), b = load(with);
    CHECK_NEAR(picture_at(&a, 32, 24)[1] / 65535., .2158605, 1e-3); /* IEC 61966-2-1 of 128 */
    CHECK_NEAR(picture_at(&b, 32, 24)[1] / 65535., pow(128 / 255., 1.4), 1e-3);
    picture_free(&a), picture_free(&b);
    free((void *)(size_t)wedge.icc);
    canvas_free(&wedge);
}

/* The upright picture as it lies in a file of that EXIF orientation (EXIF 2.32, 4.6.4 A: where row 0 and
 * column 0 of the file lie as one looks at it). */
static struct canvas turned(const struct canvas *up, int orientation) {
    const bool swap = orientation >= 5;
    struct canvas c = canvas_new(swap ? up->height : up->width, swap ? up->width : up->height, 8);
    const bool flip_x = orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7,
               flip_y = orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
    for (int y = 0; y < up->height; y++)
        for (int x = 0; x < up->width; x++) {
            const uint8_t *v = up->v8 + 3 * ((size_t)y * (size_t)up->width + (size_t)x);
            const int u = flip_x ? up->width - 1 - x : x, w = flip_y ? up->height - 1 - y : y;
            canvas_set(&c, swap ? w : u, swap ? u : w, v[0], v[1], v[2]);
        }
    c.orientation = orientation;
    return c;
}

static void every_orientation_of_exif_gives_the_same_colour(void) {
    struct lab first = {0};
    double most = 0;
    char path[300], spot[60];
    snprintf(spot, sizeof spot, "%.1f,%.1f,22", spot_px[0], spot_px[1]);
    for (int orientation = 1; orientation <= 8; orientation++) {
        struct canvas c = turned(&codes, orientation);
        canvas_jpeg(&c, file_in(path, "turned.jpg"), 100, false);
        struct answer answer = ASK(path, "--card", card_file, "--spot", spot);
        CHECK(answer.status == STATUS_OK);
        if (orientation == 1) first = answer.lab;
        most = fmax(most, difference_de00(first, answer.lab));
        CHECK_AT_MOST(off_by(&answer, &room->leather[1]), .6);
        json_decref(answer.reply);
        canvas_free(&c);
    }
    printf("  figure: eight orientations: %.3f dE00 apart at most\n", most);
    CHECK_AT_MOST(most, .1);
}

/* ---- the same photograph twice; a sheet without a dab ---- */

static void the_same_photograph_twice_is_refused(void) {
    char copy[300];
    size_t n;
    unsigned char *bytes = file_get(good, &n);
    file_put(file_in(copy, "copy.jpg"), bytes, n);
    free(bytes);
    REFUSED(PHOTO_TWICE, good, copy, "--card", card_file);
    REFUSED(PHOTO_TWICE, good, other, copy, "--card", card_file);
    REFUSED(PHOTO_TWICE, good, "--second-lamp", copy, "--card", card_file);
    REFUSED(PHOTO_TWICE, good, "--second-lamp", other, "--second-lamp", other, "--card", card_file);
    TAKEN(good, other, "--card", card_file);
}

/* A sheet for two toners; dabs of that reflectance on both halves, or none. */
static void put_sheet(const struct photo_card *sheet, int dabs, const char *path) {
    struct scene scene;
    const struct spectrum *paper = NULL;
    struct spectrum ink[3];
    grey_ink(.85, &ink[0]), grey_ink(.07, &ink[1]), grey_ink(.30, &ink[2]);
    paper = &ink[0];
    scene_preset(&scene, sheet, 4, LAMP_SHADE, 0);
    scene.width = HEIGHT, scene.height = WIDTH, scene.filled = .82;
    scene.window.colour = *paper;
    for (int i = 0; i < sheet->patches; i++) scene.patch[i] = *paper;
    for (int i = 0; i < sheet->places; i++) {
        const struct photo_place *place = &sheet->place[i];
        const bool black = strcmp(place->over, "bare-black") == 0 || strcmp(place->id, "bare-black") == 0;
        const bool dabbed = place->parts > 0 && dabs-- > 0;
        scene.place[i] = dabbed ? ink[2] : black ? ink[1] : ink[0];
    }
    struct plate *plate = plate_expose(&scene);
    put_jpeg(plate, &scene.sensor, path);
    plate_free(plate);
}

static void a_sheet_without_a_dab_is_refused(void) {
    static const char toner[2][48] = {"white", "black"};
    struct photo_card *sheet = memory_need(1, sizeof *sheet);
    char path[300], json[300];
    CHECK(photo_card_start(toner, 2, 0, sheet));
    put_card(sheet, json, "sheet.json");
    put_sheet(sheet, 0, file_in(path, "sheet.jpg"));
    REFUSED(SHEET_BLANK, path, "--card", json);
    put_sheet(sheet, 1, path); /* one dab, on one half */
    TAKEN(path, "--card", json);
    memory_free(sheet);
}

/* ---- spots of one part: is one of them faded? ---- */

static bool says(const struct answer *answer, const char *id) {
    const json_t *notes = json_object_get(answer->reply, "notes");
    for (size_t i = 0; i < json_array_size(notes); i++)
        if (strcmp(json_string_value(json_object_get(json_array_get(notes, i), "id")), id) == 0) return true;
    return false;
}

/* A card whose values a guessed shelf tells, as `card --values toners.json` makes it of a sheet. */
static void a_card_of_dabs_says_what_its_colour_is_good_for(void) {
    char path[300];
    struct photo_card *dabs = memory_need(1, sizeof *dabs);
    *dabs = room->card;
    for (int i = 0; i < dabs->patches; i++) {
        struct photo_patch *patch = &dabs->patch[i];
        if (patch->known == KNOWN_NOT) continue;
        patch->lab = lab_of_spectrum(&patch->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
        patch->known = KNOWN_LAB, patch->lab_sd = 1;
    }
    put_card(dabs, path, "dabs.json");
    struct answer of_dabs = ASK(good, "--card", path), own = ASK(good, "--card", card_file);
    CHECK(of_dabs.status == STATUS_OK && says(&of_dabs, "card-of-dabs"));
    CHECK(own.status == STATUS_OK && !says(&own, "card-of-dabs"));
    json_decref(of_dabs.reply), json_decref(own.reply);
    memory_free(dabs);
}

static bool says_faded(const char *path, const char *one, const char *two) {
    struct answer answer = ASK(path, "--card", card_file, "--spot", one, "--spot", two);
    const bool faded = says(&answer, "spots-faded");
    CHECK(answer.status == STATUS_OK);
    CHECK(json_array_size(json_object_get(answer.reply, "spots_read")) == 2);
    json_decref(answer.reply);
    return faded;
}

/* The right half of the window is leather that the sun has paled: a mix with white's grey, 3 dE00 off. */
static void a_faded_spot_is_told(void) {
    struct scene scene;
    struct spectrum pale = room->leather[1];
    char path[300], left[40], right[40];
    usual(&scene);
    for (int b = 0; b < BANDS; b++) pale.band[b] = .955 * pale.band[b] + .04;
    const double *mm = room->card.window_center_mm, half = room->card.window_mm / 2;
    scene.cover[scene.covers++] = (struct cover){mm[0] + .5, mm[1] - half, half, 2 * half, 0, &pale};
    struct plate *plate = plate_expose(&scene);
    double a[2], b[2];
    plate_place(plate, (double[]){mm[0] - 6, mm[1]}, a), plate_place(plate, (double[]){mm[0] + 7, mm[1]}, b);
    put_jpeg(plate, &scene.sensor, file_in(path, "faded.jpg"));
    plate_free(plate);
    snprintf(left, sizeof left, "%.0f,%.0f,24", a[0], a[1]);
    snprintf(right, sizeof right, "%.0f,%.0f,24", b[0], b[1]);
    CHECK(says_faded(path, left, right));
    CHECK(!says_faded(good, left, right)); /* the same places of one leather */
}

/* ---- what nobody should hand in ---- */

static void spots_and_corners_that_are_none(void) {
    REFUSED_IN("is not inside the photograph of", good, "--card", card_file, "--spot", "906,300,12");
    REFUSED_IN("is not inside the photograph of", good, "--card", card_file, "--spot", "0,0,5");
    REFUSED_IN("is not inside the photograph of", good, "--card", card_file, "--spot", "450,340,90000");
    REFUSED_IN("pixels only; take a larger radius", good, "--card", card_file, "--spot", "450,340,.001");
    REFUSED(SPOT_NOT_THREE, good, "--card", card_file, "--spot", "450,340");
    REFUSED(SPOT_NOT_THREE, good, "--card", card_file, "--spot", "450,340,0");
    REFUSED(SPOT_NOT_THREE, good, "--card", card_file, "--against", "450,340,30,1");
    REFUSED_IN("is not inside the photograph of", good, "--card", card_file, "--against", "911.9,450,30");
    REFUSED(SPOT_BESIDE_NEEDED, good, "--card", card_file, "--against", "450,340,10"); /* in the window */
    REFUSED_IN("--corners makes no card", good, "--card", card_file, "--corners", "1,2,3,4");
    REFUSED_IN("--corners makes no card", good, "--card", card_file, "--corners", "9,9,9,9,9,9,9,9");
    REFUSED_IN("--corners makes no card", good, "--card", card_file, "--corners",
               "90,90,800,600,800,90,90,600");
    REFUSED_IN("lies outside the photograph", good, "--card", card_file, "--corners",
               "90,90,5000,90,800,600,90,600");
    static const char *const no_number[] = {"a,b,c", "nan,1,1", "inf,1,1", "1e999,1,1", "-5,1,1", "", ",,"};
    for (size_t i = 0; i < sizeof no_number / sizeof *no_number; i++) {
        struct answer spot = ASK(good, "--card", card_file, "--spot", no_number[i]),
                      corner = ASK(good, "--card", card_file, "--corners", no_number[i]);
        CHECK(spot.status == STATUS_USAGE);
        CHECK(corner.status == STATUS_USAGE || strstr(corner.fault.text, "--corners makes"));
    }
}

static void files_that_are_no_photographs(void) {
    char path[300];
    size_t n;
    REFUSED(FILE_CANNOT_OPEN, file_in(path, "nowhere.jpg"), "--card", card_file);
    REFUSED(FILE_CANNOT_OPEN, good, "--card", file_in(path, "nowhere.json"));
    file_put(file_in(path, "empty.jpg"), "", 0);
    REFUSED(PICTURE_EMPTY, path, "--card", card_file);
    file_put(file_in(path, "text.jpg"), "dear customer,\n", 15);
    struct answer text = ASK(path, "--card", card_file);
    CHECK(text.status == STATUS_INPUT && strstr(text.fault.text, "text.jpg"));
    struct answer json = ASK(card_file, "--card", card_file), card = ASK(good, "--card", good);
    CHECK(json.status == STATUS_INPUT && card.status == STATUS_INPUT);
    unsigned char *bytes = file_get(good, &n);
    for (size_t cut = 1; cut <= 3; cut++) { /* the beginning of a photograph */
        file_put(file_in(path, "cut.jpg"), bytes, n * cut / 4);
        struct answer half = ASK(path, "--card", card_file);
        CHECK(half.status == STATUS_INPUT);
    }
    for (size_t i = 2; i + 9 < n; i++) /* a head that promises 20000 x 15000 pixels (ITU-T T.81, B.2.2) */
        if (bytes[i] == 0xff && bytes[i + 1] == 0xc0) {
            bytes[i + 5] = 15000 >> 8, bytes[i + 6] = 15000 & 255;
            bytes[i + 7] = 20000 >> 8, bytes[i + 8] = 20000 & 255;
            break;
        }
    file_put(file_in(path, "huge.jpg"), bytes, n);
    REFUSED(PICTURE_TOO_LARGE, path, "--card", card_file);
    free(bytes);
}

/* card.json with one piece replaced. */
static enum word card_with(const char *old, const char *new, enum status *status) {
    char path[300], *text;
    size_t n;
    unsigned char *bytes = file_get(card_file, &n);
    text = (char *)bytes;
    text[n] = 0;
    char *at = strstr(text, old);
    CHECK(at != NULL);
    if (!at) abort();
    struct text changed = {0};
    text_format(&changed, "%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
    file_put(file_in(path, "changed.json"), changed.data, changed.length);
    text_free(&changed);
    free(bytes);
    struct answer answer = ASK(good, "--card", path);
    json_decref(answer.reply);
    *status = answer.status;
    return answer.fault.word;
}

static void cards_that_are_none(void) {
    static const struct {
        const char *old, *new;
    } change[] = {{"\"size_mm\": [120.0, 90.0]", "\"size_mm\": [NaN, 90]"},
                  {"\"size_mm\": [120.0, 90.0]", "\"size_mm\": [1e999, 90]"},
                  {"\"size_mm\": [120.0, 90.0]", "\"size_mm\": [-120, 90]"},
                  {"\"size_mm\": [120.0, 90.0]", "\"size_mm\": [12, 9]"},
                  {"\"id\": \"n2\"", "\"id\": \"n1\""},
                  {"\"id\": \"n2\"", "\"id\": \"\""},
                  {"\"family\": \"36h11\"", "\"family\": \"25h9\""},
                  {"\"kind\": \"card\"", "\"kind\": \"toners\""},
                  {"\"format\": 1", "\"format\": 2"},
                  {"\"role\": \"neutral\"", "\"role\": \"king\""},
                  {"\"patches\": [", "\"patches\": [NaN, "},
                  {"\"patches\": [", "\"patches\": {"},
                  {"\"tags\": [",
                   "\"tags\": ["
                   "{\"family\": \"36h11\", \"id\": 0, \"corners_mm\": [[1,1],[9,1],[9,9],[1,9]]},"}};
    for (size_t i = 0; i < sizeof change / sizeof *change; i++) {
        enum status status;
        card_with(change[i].old, change[i].new, &status);
        if (status != STATUS_INPUT) printf("  %s: %d\n", change[i].new, (int)status);
        CHECK(status == STATUS_INPUT);
    }
}

static void what_lies_on_the_table_is_no_card(void) {
    char path[300];
    struct canvas c = canvas_new(WIDTH, HEIGHT, 8);
    canvas_fill(&c, 0, 0, WIDTH, HEIGHT, 130, 120, 110);
    canvas_fill(&c, 300, 200, 200, 200, 30, 30, 30); /* a dark square that is no tag */
    canvas_jpeg(&c, file_in(path, "no-card.jpg"), 90, false);
    REFUSED_IN("No tag of a card", path, "--card", card_file);
    canvas_free(&c);
}

static void too_many_of_anything(void) {
    const char *word[WORDS_MOST] = {NULL};
    int n = 0;
    while (n < 13) word[n++] = good;
    word[n++] = "--card", word[n++] = card_file;
    expect(__LINE__, ask_words(word), word_status(WORD_PHOTOS_MANY), WORD_PHOTOS_MANY);
}

static void make_photographs(void) {
    struct scene scene;
    usual(&scene);
    struct plate *plate = plate_expose(&scene);
    put_jpeg(plate, &scene.sensor, file_in(good, "good.jpg"));
    codes = codes_of(plate, &scene.sensor);
    scene.sensor.seed++;
    put_jpeg(plate, &scene.sensor, file_in(other, "other.jpg"));
    const double mm[2] = {room->card.window_center_mm[0] + 4, room->card.window_center_mm[1] - 3};
    plate_place(plate, mm, spot_px);
    plate_free(plate);
}

int main(void) {
    room = trial_open(TRIAL_OWN);
    put_card(&room->card, card_file, "card.json");
    make_photographs();
    RUN(every_kind_of_file_is_decoded_and_measured);
    RUN(a_profile_moves_what_no_grey_corrects);
    RUN(every_orientation_of_exif_gives_the_same_colour);
    RUN(the_same_photograph_twice_is_refused);
    RUN(a_sheet_without_a_dab_is_refused);
    RUN(a_faded_spot_is_told);
    RUN(a_card_of_dabs_says_what_its_colour_is_good_for);
    RUN(spots_and_corners_that_are_none);
    RUN(files_that_are_no_photographs);
    RUN(cards_that_are_none);
    RUN(what_lies_on_the_table_is_no_card);
    RUN(too_many_of_anything);
    canvas_free(&codes);
    files_remove();
    trial_close(room);
    return check_done();
}
