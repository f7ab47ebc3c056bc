/* `photo grain` from files, as one photographs: pictures of the renderer (tests/grain_scene.h) through 8 bits
 * of sRGB and the decoder. Each refusal by a set that brings it about and by one that is just good enough;
 * and the quick way. */
#include "flow/operation.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "grain_scene.h"
#include "picture_files.h"
#include "random_field.h"
#include "surface/areal.h"
#include "surface/tag_cells.h"

enum { SIDE = 288, SPARE = 16, CUT = SIDE - 2 * SPARE, LIGHTS = 6, STEPS = 4096 };
static const double step = .12;

struct set {
    int lights;
    bool flash; /* the last light */
    float *shade[LIGHTS];
    struct areal truth;
};

/* The nearest of 256 greys of sRGB, by a table: to a sixteenth of a grey. */
static unsigned grey_of(double v) {
    static unsigned char grey[STEPS + 1];
    if (!grey[STEPS])
        for (int i = 0; i <= STEPS; i++) {
            const double light = pow((double)i / STEPS, 2); /* finer in the dark */
            grey[i] = (unsigned char)(255 * (light <= .0031308 ? 12.92 * light
                                                               : 1.055 * pow(light, 1 / 2.4) - .055) +
                                      .5);
        }
    return grey[(int)(STEPS * sqrt(fmin(1, v)) + .5)];
}

static struct stereo_light light_of(const struct set *set, int i) {
    const bool head_on = set->flash && i == set->lights - 1;
    return (struct stereo_light){set->flash ? 90. * i + 10 : 360. * i / set->lights + 10, head_on ? 90 : 27.5,
                                 400};
}

static struct set set_new(double correlation_mm, int lights, bool flash, double ks, unsigned long long seed) {
    struct set set = {.lights = lights, .flash = flash};
    double *z = random_field(SIDE, step, .02, correlation_mm, correlation_mm, seed);
    struct grain_scene scene = {SIDE, step, z, ks, 30, .004, 91 + seed};
    for (int i = 0; i < lights; i++) {
        const struct stereo_light light = light_of(&set, i);
        set.shade[i] = calloc((size_t)SIDE * SIDE, sizeof(float));
        scene_shoot(&scene, &light, set.shade[i]);
    }
    struct relief r = {CUT, CUT, step, calloc((size_t)CUT * CUT, sizeof(double))};
    for (int i = 0; i < CUT * CUT; i++) r.z_mm[i] = z[(i / CUT + SPARE) * SIDE + i % CUT + SPARE];
    areal_level(&r), areal_filter(&r, .25, 5), areal_measure(&r, NULL, &set.truth);
    free(r.z_mm), free(z);
    return set;
}

static void set_free(struct set *set) {
    for (int i = 0; i < set->lights; i++) free(set->shade[i]);
}

/* How the first picture is spoilt. */
struct spoil {
    double shift_px, blur_px;
};

static double light_at(const struct set *set, int i, const struct spoil *spoil, double x, double y) {
    const double shift = i == 0 ? spoil->shift_px : 0, blur = i == 0 ? spoil->blur_px : 0;
    const double u = x + shift, fx = u - floor(u);
    const int reach = (int)ceil(3 * blur);
    double sum = 0, weight = 0;
    for (int b = -reach; b <= reach; b++)
        for (int a = -reach; a <= reach; a++) {
            const double w = blur > 0 ? exp(-(a * a + b * b) / (2 * blur * blur)) : 1;
            const float *row = set->shade[i] + ((int)y + b) * SIDE + (int)floor(u) + a;
            const double left = fmin(1, (double)row[0]), right = fmin(1, (double)row[1]);
            sum += w * ((1 - fx) * left + fx * right), weight += w;
        }
    return sum / weight;
}

static void write_set(const struct set *set, const struct spoil *spoil) {
    char path[300], name[20];
    FILE *f = fopen(file_in(path, "lights.json"), "wb");
    if (!f) abort();
    fprintf(f, "{\"lights\": [");
    for (int i = 0; i < set->lights; i++) {
        struct canvas c = canvas_new(CUT, CUT, 8);
        for (int k = 0; k < CUT * CUT; k++) {
            const double v = light_at(set, i, spoil, k % CUT + SPARE, k / CUT + SPARE);
            const unsigned grey = grey_of(v);
            canvas_set(&c, k % CUT, k / CUT, grey, grey, grey);
        }
        snprintf(name, sizeof name, "g%d.png", i);
        canvas_png(&c, file_in(path, name), PNG_SAYS_SRGB);
        canvas_free(&c);
        const struct stereo_light light = light_of(set, i);
        if (light.elevation_deg >= 90)
            fprintf(f, "%s{\"photo\": \"%s\", \"flash\": true}", i ? ", " : "", name);
        else
            fprintf(
                f,
                "%s{\"photo\": \"%s\", \"azimuth_deg\": %g, \"elevation_deg\": 27.5, \"distance_mm\": 400}",
                i ? ", " : "", name, light.azimuth_deg);
    }
    fprintf(f, "]}");
    fclose(f);
}

struct told {
    enum status status;
    enum word word;
    double sal, sa;
};

static void add(struct request *request, const char *name, const char *value) {
    struct fault fault = {0};
    size_t count, i = 0;
    const struct argument *a = operation_arguments(operation_find("photo grain"), &count);
    while (i < count && strcmp(a[i].name, name) != 0) i++;
    CHECK(i < count && request_add(request, &a[i], value, &fault) == STATUS_OK);
}

/* Of the pictures that lie there; card NULL: from a stand. */
static struct told grain_asked(const struct set *set, const char *card, const char *patch) {
    const struct operation *operation = operation_find("photo grain");
    struct arena *arena = arena_new();
    const struct surroundings around = {.disk = disk_real(), .arena = arena};
    struct request *request = request_new(operation, arena);
    char path[300], name[20];
    json_t *reply = NULL;
    struct fault fault = {0};
    struct told told = {0};
    for (int i = 0; i < set->lights; i++) {
        snprintf(name, sizeof name, "g%d.png", i);
        (void)file_in(path, name);
        add(request, "PHOTO", arena_text(arena, path, strlen(path)));
    }
    (void)file_in(path, "lights.json");
    add(request, "--lights", arena_text(arena, path, strlen(path))),
        add(request, card ? "--card" : "--mm-per-px", card ? card : ".12");
    if (patch) add(request, "--patch", patch);
    CHECK(request_check(request, &fault) == STATUS_OK);
    told.status = operation->flow(&around, request, &reply, &fault), told.word = fault.word;
    if (told.status != STATUS_OK) printf("  said: %s\n", fault.text);
    if (reply) {
        told.sal = json_number_value(json_object_get(reply, "Sal_mm"));
        told.sa = json_number_value(json_object_get(reply, "Sa_um"));
    }
    json_decref(reply), arena_free(arena);
    return told;
}

static struct told grain_of(const struct set *set, double shift_px, double blur_px) {
    const struct spoil spoil = {shift_px, blur_px};
    write_set(set, &spoil);
    return grain_asked(set, NULL, NULL);
}

/* ---- a card beside the place, the camera in the hand ---- */

/* Pixels of .1 mm: the own card on the left, the grain from (124, 20) mm on; every picture has its own pose.
 */
enum { HELD_W = 1640, HELD_H = 980 };

static double card_light(const struct photo_card *card, double x, double y) {
    for (int t = 0; t < card->tags; t++) {
        const double(*c)[2] = card->tag[t].corner_mm, side = c[1][0] - c[0][0], cell = side / (TAG_CELLS - 2);
        const double u = (x - c[0][0]) / cell + TAG_BORDER, v = (y - c[0][1]) / cell + TAG_BORDER;
        bool cells[TAG_CELLS][TAG_CELLS];
        if (u < 0 || v < 0 || u >= TAG_CELLS || v >= TAG_CELLS) continue;
        tag_cells(card->tag[t].id, cells);
        return cells[(int)v][(int)u] ? .03 : .8;
    }
    return x < card->size_mm[0] && y < card->size_mm[1] ? .35 : .2;
}

static double scene_value(const struct set *set, int i, const struct photo_card *card, double x, double y) {
    const double u = (x - 124) / step + SPARE - .5, v = (y - 20) / step + SPARE - .5;
    if (u < 1 || v < 1 || u >= SIDE - 2 || v >= SIDE - 2) return card_light(card, x, y);
    const float *p = set->shade[i] + (int)v * SIDE + (int)u;
    const double fx = u - floor(u), fy = v - floor(v);
    return (1 - fy) * ((1 - fx) * (double)p[0] + fx * (double)p[1]) +
           fy * ((1 - fx) * (double)p[SIDE] + fx * (double)p[SIDE + 1]);
}

/* Turned by up to 3 degrees, shifted by up to 3 mm, leaning by some 4 degrees. */
static void pose_of(int i, double h[3][3]) {
    const double a = .05 * sin(2.3 * i), s = i ? 3 * cos(1.7 * i) : 0, t = i ? 3 * sin(3.1 * i) : 0;
    const double all[3][3] = {{.1 * cos(a), -.1 * sin(a), -2 + s},
                              {.1 * sin(a), .1 * cos(a), -4 + t},
                              {i ? 6e-6 * sin(i) : 0, i ? 6e-6 * cos(i) : 0, 1}};
    memcpy(h, all, sizeof all);
}

static void write_held(const struct set *set, const struct photo_card *card) {
    char path[300], name[20];
    for (int i = 0; i < set->lights; i++) {
        double h[3][3];
        struct canvas c = canvas_new(HELD_W, HELD_H, 8);
        pose_of(i, h);
        for (int k = 0; k < HELD_W * HELD_H; k++) {
            const double x = k % HELD_W + .5, y = k / HELD_W + .5, w = h[2][0] * x + h[2][1] * y + 1;
            const double v = scene_value(set, i, card, (h[0][0] * x + h[0][1] * y + h[0][2]) / w,
                                         (h[1][0] * x + h[1][1] * y + h[1][2]) / w);
            const unsigned grey = grey_of(v);
            canvas_set(&c, k % HELD_W, k / HELD_W, grey, grey, grey);
        }
        snprintf(name, sizeof name, "g%d.png", i);
        canvas_png(&c, file_in(path, name), PNG_SAYS_SRGB);
        canvas_free(&c);
    }
}

/* The card's own tags and patches are no cracks of the panel that it lies on, and no lost colour: on one
 * picture, with all of it for the panel, its rectangle and 3 mm about it are left out. */
static void leaves_the_card_out(const char *card_path, const struct photo_card *card) {
    const struct operation *operation = operation_find("photo damage");
    struct arena *arena = arena_new();
    const struct surroundings around = {.disk = disk_real(), .arena = arena};
    struct request *request = request_new(operation, arena);
    json_t *reply = NULL;
    struct fault fault = {0};
    char path[300];
    size_t count;
    const struct argument *a = operation_arguments(operation, &count);
    (void)file_in(path, "g0.png");
    for (size_t i = 0; i < count; i++) {
        const char *value = strcmp(a[i].name, "PHOTO") == 0    ? path
                            : strcmp(a[i].name, "--card") == 0 ? card_path
                                                               : NULL;
        if (value) CHECK(request_add(request, &a[i], value, &fault) == STATUS_OK);
    }
    CHECK(operation->flow(&around, request, &reply, &fault) == STATUS_OK);
    const double held = .01 * HELD_W * HELD_H, /* of which the card's left edge lies 2 mm, its top 4 mm in */
        left_out = (card->size_mm[0] + 2 + 3) * (card->size_mm[1] + 3 + 3);
    CHECK_NEAR(json_number_value(json_object_get(reply, "panel_mm2")), held - left_out, .01 * held);
    json_decref(reply), arena_free(arena);
}

static void a_card_registers_a_camera_in_the_hand(void) {
    struct set set = set_new(.5, 4, false, 0, 12);
    const struct spoil none = {0, 0};
    struct arena *arena = arena_new();
    struct photo_card *card = arena_need(arena, 1, sizeof *card);
    json_t *object = json_object();
    struct text text = {0};
    struct fault fault = {0};
    char path[300];
    photo_card_own(card);
    json_put_text(object, "kind", "card"), card_put(object, card);
    CHECK(json_finish(object, &text, &fault) == STATUS_OK);
    write_set(&set, &none), write_held(&set, card);
    (void)file_in(path, "card.json");
    file_put(path, text.data, text.length), text_free(&text), json_decref(object);
    const struct told told = grain_asked(&set, arena_text(arena, path, strlen(path)), "1268,248,300,294"),
                      over = grain_asked(&set, arena_text(arena, path, strlen(path)), NULL);
    CHECK(over.status == STATUS_INPUT && over.word == WORD_GRAIN_PATCH_CARD);
    leaves_the_card_out(arena_text(arena, path, strlen(path)), card);
    printf(
        "  figure: camera in the hand, a card beside the place, four lights: Sal %.2f %%, Sa %.2f %% off\n",
        100 * (told.sal / set.truth.value[AREAL_SAL] - 1),
        100 * (told.sa / (1000 * set.truth.value[AREAL_SA]) - 1));
    CHECK(told.status == STATUS_OK);
    CHECK_NEAR(told.sal / set.truth.value[AREAL_SAL], 1, .03);
    CHECK_NEAR(told.sa / (1000 * set.truth.value[AREAL_SA]), 1, .1);
    set_free(&set), arena_free(arena);
}

static void a_moved_camera_and_a_blurred_picture_are_refused(void) {
    struct set set = set_new(.6, LIGHTS, false, 0, 5);
    struct told told = grain_of(&set, 0, 0);
    printf("  figure: a field of %.1f Sal: taken\n", CUT * step / set.truth.value[AREAL_SAL]);
    CHECK(told.status == STATUS_OK);
    CHECK_NEAR(told.sal / set.truth.value[AREAL_SAL], 1, .017);
    told = grain_of(&set, 1, .5); /* just good enough, in both */
    CHECK(told.status == STATUS_OK);
    CHECK_NEAR(told.sal / set.truth.value[AREAL_SAL], 1, .03);
    told = grain_of(&set, 2, 0);
    CHECK(told.status == STATUS_INPUT && told.word == WORD_GRAIN_MOVED);
    told = grain_of(&set, 0, 4);
    CHECK(told.status == STATUS_INPUT && told.word == WORD_GRAIN_BLURRED);
    set_free(&set);
}

static void a_field_of_fewer_than_forty_sal_is_refused(void) {
    struct set set = set_new(.95, 4, false, 0, 8);
    const struct told told = grain_of(&set, 0, 0);
    printf("  figure: a field of %.1f Sal: refused\n", CUT * step / set.truth.value[AREAL_SAL]);
    CHECK(told.status == STATUS_NO && told.word == WORD_GRAIN_FIELD_SMALL);
    set_free(&set);
}

/* Paper under three torches: no grain .0 um high, and nothing written. */
static void a_smooth_sheet_is_refused(void) {
    struct set set = {.lights = 3};
    unsigned long long seed = 3;
    for (int i = 0; i < set.lights; i++) {
        set.shade[i] = calloc((size_t)SIDE * SIDE, sizeof(float));
        for (int k = 0; k < SIDE * SIDE; k++) set.shade[i][k] = (float)(.4 + .004 * scene_gauss(&seed));
    }
    const struct told told = grain_of(&set, 0, 0);
    CHECK(told.status == STATUS_INPUT && told.word == WORD_GRAIN_FLAT);
    set_free(&set);
}

/* Two raking torches crosswise and a flash, matt. */
static void the_quick_way_reads_matt_grain(void) {
    double worst_sal = 0, worst_sa = 0;
    const int runs = getenv("RUSSET_LONG") ? 24 : 2;
    for (int k = 0; k < runs; k++) {
        struct set set = set_new(.4 + .05 * (k % 4), 3, true, 0, 50 + (unsigned long long)k);
        const struct told told = grain_of(&set, 0, 0);
        CHECK(told.status == STATUS_OK);
        worst_sal = fmax(worst_sal, fabs(told.sal / set.truth.value[AREAL_SAL] - 1));
        worst_sa = fmax(worst_sa, fabs(told.sa / (1000 * set.truth.value[AREAL_SA]) - 1));
        set_free(&set);
    }
    printf("  figure: the quick way, matt: Sal off by %.2f %% at most, Sa by %.2f %%, of %d\n",
           100 * worst_sal, 100 * worst_sa, runs);
    CHECK_AT_MOST(worst_sal, .02);
    CHECK_AT_MOST(worst_sa, .1);
}

int main(void) {
    RUN(a_moved_camera_and_a_blurred_picture_are_refused);
    RUN(a_field_of_fewer_than_forty_sal_is_refused);
    RUN(a_smooth_sheet_is_refused);
    RUN(a_card_registers_a_camera_in_the_hand);
    RUN(the_quick_way_reads_matt_grain);
    files_remove();
    return check_done();
}
