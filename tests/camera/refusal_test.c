/* Every reason to refuse a photograph: one that must be refused, and one beside it that is just good enough.
 * Pictures of .6 megapixels; what changes only the sensor, or the card's description, shares one exposure. */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;
static struct plate *plain; /* nothing wrong with it */

/* A change of the scene by an amount. */
typedef void change(struct scene *scene, double much);

static void cover_tags(struct scene *s, double tags) {
    for (int i = 0; i < (int)tags; i++) {
        const double *a = s->card->tag[i].corner_mm[0];
        s->cover[s->covers++] = (struct cover){a[0] + 3, a[1] + 2, 9, 7, .3, NULL};
    }
}
static void go_away(struct scene *s, double filled) {
    s->filled = filled;
    s->tilt_deg = 0, s->turn_deg = 0;
}
static void blur_it(struct scene *s, double mm) { /* 10 to 90 % of an edge: 2.563 standard deviations */
    s->blur_px = mm / 2.563 * s->filled * s->width / s->card->size_mm[0];
}
static void push_aside(struct scene *s, double shift) {
    s->filled = .7, s->shift_x = shift, s->tilt_deg = s->turn_deg = 0;
}
static void expose(struct scene *s, double exposure) {
    s->sensor.exposure = exposure;
}
static void draw_down(struct scene *s, double exposure) { /* a camera with a hard curve */
    s->sensor.curve = .85, s->sensor.exposure = exposure;
}
static void shining(struct scene *s, double shine) {
    s->window.shine = shine;
}
static void dark_spot(struct scene *s, double reflectance) {
    for (int b = 0; b < BANDS; b++) s->window.colour.band[b] = reflectance;
    s->window.shine = s->window.glints = 0, s->window.grain = 0;
    s->glare = 0, s->sensor.read_noise = 1;
}
static void lamp_beside(struct scene *s, double fall) {
    s->fall_x = fall, s->fall_y = 0, s->vignetting = 0;
}
static void another_card(struct scene *s,
                         double turned) { /* colours of the next patch, or the next but one ... */
    if (turned == 0) return;
    struct spectrum real[CARD_PATCHES_MOST];
    int colour[CARD_PATCHES_MOST], n = 0;
    memcpy(real, s->patch, sizeof real);
    for (int i = 0; i < s->card->patches; i++)
        if (s->card->patch[i].role == PATCH_COLOUR) colour[n++] = i;
    for (int k = 0; k < n; k++) s->patch[colour[k]] = real[colour[(k + (int)turned) % n]];
}
static void cover_patches(struct scene *s, double patches) {
    int n = 0;
    for (int i = 0; i < s->card->patches && n < (int)patches; i++) {
        const struct photo_patch *p = &s->card->patch[i];
        if (p->role != PATCH_COLOUR) continue;
        for (int b = 0; b < BANDS; b++) s->patch[i].band[b] = n % 2 ? .75 : .04;
        n++;
    }
}

static const struct pair {
    const char *title;
    change *change;
    double bad, good;
    enum word word, or_word;
} pairs[] = {
    {"all tags covered / two", cover_tags, 4, 2, WORD_CARD_NO_TAG, WORD_CARD_FEW_TAGS},
    {"three tags covered / two", cover_tags, 3, 2, WORD_CARD_FEW_TAGS, WORD_CARD_NO_TAG},
    {"card 30 % of the frame / 36 %", go_away, .30, .36, WORD_CARD_TOO_SMALL, WORD_CARD_TOO_SMALL},
    {"blurred to 1.9 mm / to 1.5 mm", blur_it, 1.9, 1.5, WORD_CARD_BLURRED, WORD_CARD_NO_TAG},
    {"card half out / to the edge", push_aside, .36, .12, WORD_CARD_PATCH_OUTSIDE, WORD_CARD_PATCH_OUTSIDE},
    {"exposed for burnt white / under it", expose, 1.25, .93, WORD_PHOTO_ONE_BURNT, WORD_PHOTO_BURNT},
    {"two stops too much / under it", expose, 3, .95, WORD_PHOTO_BURNT, WORD_PHOTO_BURNT},
    {"leather mirrors the lamp / some", shining, 1.2, .3, WORD_SPOT_BURNT, WORD_SPOT_BURNT},
    {"shadows drawn down, three stops too little / one and a half", draw_down, .1, .3, WORD_PHOTO_CRUSHED,
     WORD_PHOTO_CRUSHED},
    {"so dark that tags are not seen / four stops too little", expose, .02, .06, WORD_CARD_FEW_TAGS,
     WORD_PHOTO_DARK},
    {"five stops too little / four", expose, .028, .06, WORD_PHOTO_DARK, WORD_PHOTO_DARK},
    {"blurred to 2.4 mm / to 1.5 mm", blur_it, 2.4, 1.5, WORD_CARD_BLURRED, WORD_CARD_BLURRED},
    {"a spot that returns nothing / 1 %", dark_spot, .00002, .01, WORD_SPOT_CRUSHED, WORD_SPOT_CRUSHED},
    {"light falls 35 % over the patches / 18 %", lamp_beside, .6, .34, WORD_PHOTO_UNEVEN, WORD_PHOTO_UNEVEN},
    {"another card / the right one", another_card, 5, 0, WORD_CARD_WRONG, WORD_CARD_COVERED},
    {"nine patches dirty / two", cover_patches, 9, 2, WORD_CARD_COVERED, WORD_CARD_WRONG},
};

static void set(struct scene *scene) {
    trial_scene(room, 4, LAMP_D65, 0, scene);
    scene->width = 912, scene->height = 684;
    scene->sensor.curve = .25;
    scene->window.colour = room->leather[1];
}

static bool is_of_the_sensor(change *how) {
    return !how || how == expose || how == draw_down;
}

static struct picture take(const struct scene *scene, bool as_plain, struct arena *arena) {
    struct plate *plate = as_plain ? plain : plate_expose(scene);
    const struct picture picture = plate_develop(plate, &scene->sensor, arena);
    if (!as_plain) plate_free(plate);
    return picture;
}

static enum status try_one(change *how, double much, const struct camera_spot *spot, int spots,
                           struct fault *fault) {
    struct scene scene;
    struct arena *arena = arena_new();
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    set(&scene);
    if (how) how(&scene, much);
    const struct picture picture = take(&scene, is_of_the_sensor(how), arena);
    const enum status status = trial_read(&room->card, &picture, spot, spots, false, arena, result, fault);
    arena_free(arena);
    return status;
}

static void photographs_that_lie_are_refused(void) {
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        struct fault bad = {0}, good = {0};
        const bool refused = try_one(pairs[i].change, pairs[i].bad, NULL, 0, &bad) == STATUS_INPUT;
        const bool taken = try_one(pairs[i].change, pairs[i].good, NULL, 0, &good) == STATUS_OK;
        const bool said = bad.word == pairs[i].word || bad.word == pairs[i].or_word;
        if (!refused || !said) printf("  %s: %s\n", pairs[i].title, refused ? bad.text : "not refused");
        if (!taken) printf("  %s, the good one: %s\n", pairs[i].title, good.text);
        CHECK(refused);
        CHECK(said);
        CHECK(taken);
    }
}

static void spots_that_are_none_are_refused(void) {
    const struct camera_spot out = {908, 300, 10}, in = {901, 300, 10}, small = {450, 338, 1},
                             enough = {450, 338, 5};
    struct fault fault = {0};
    CHECK(try_one(NULL, 0, &out, 1, &fault) == STATUS_INPUT && fault.word == WORD_SPOT_OUTSIDE);
    CHECK(try_one(NULL, 0, &in, 1, &fault) == STATUS_OK);
    CHECK(try_one(NULL, 0, &small, 1, &fault) == STATUS_INPUT && fault.word == WORD_SPOT_SMALL);
    CHECK(try_one(NULL, 0, &enough, 1, &fault) == STATUS_OK);
}

/* The card, not the photograph: what it does not know. */
static enum status with_card(const struct photo_card *card, struct fault *fault) {
    struct scene scene;
    struct arena *arena = arena_new();
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    set(&scene);
    const struct picture picture = take(&scene, true, arena);
    const enum status status = trial_read(card, &picture, NULL, 0, false, arena, result, fault);
    arena_free(arena);
    return status;
}

static void a_card_without_values_or_window_is_refused(void) {
    struct fault fault = {0};
    struct photo_card *card = memory_need(1, sizeof *card);
    *card = room->card;
    for (int i = 0; i < card->patches; i++)
        if (i >= 5) card->patch[i].known = KNOWN_NOT;
    CHECK(with_card(card, &fault) == STATUS_INPUT && fault.word == WORD_CARD_UNKNOWN);
    *card = room->card;
    for (int i = 0; i < 5; i++) card->patch[i].known = KNOWN_NOT;
    CHECK(with_card(card, &fault) == STATUS_OK);
    *card = room->card;
    card->has_window = false;
    CHECK(with_card(card, &fault) == STATUS_INPUT && fault.word == WORD_CARD_NO_WINDOW);
    *card = room->card; /* told so bright that the leather would outshine white */
    for (int i = 0; i < card->patches; i++) {
        struct photo_patch *patch = &card->patch[i];
        for (int b = 0; b < BANDS; b++) patch->reflectance.band[b] *= 60;
        patch->lab = lab_of_spectrum(&patch->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    }
    CHECK(with_card(card, &fault) == STATUS_INPUT && fault.word == WORD_SPOT_OVER_WHITE);
    memory_free(card);
}

/* Cards that describe something else than what lies there, each beside one that is just right. */
static void a_card_that_does_not_fit_is_refused(void) {
    struct fault fault = {0};
    struct photo_card *card = memory_need(1, sizeof *card);
    *card = room->card;
    for (int i = 0; i < card->tags; i++) /* as seen from behind */
        for (int k = 0; k < 4; k++) card->tag[i].corner_mm[k][0] = 120 - card->tag[i].corner_mm[k][0];
    CHECK(with_card(card, &fault) == STATUS_INPUT && fault.word == WORD_CARD_NO_PLANE);
    for (int good = 0; good < 2; good++) {
        *card = room->card;
        card->patch[3].size_mm = good ? 1.6 : .6;
        const enum status status = with_card(card, &fault);
        CHECK(good ? status == STATUS_OK : status == STATUS_INPUT && fault.word == WORD_CARD_PATCH_FEW);
        *card = room->card;
        card->window_center_mm[0] = good ? -2 : -60;
        const enum status window = with_card(card, &fault);
        CHECK(good ? window == STATUS_OK : window == STATUS_INPUT && fault.word == WORD_CARD_WINDOW_OUTSIDE);
        *card = room->card;
        for (int i = 0; i < card->patches && !good; i++) card->patch[i].role = PATCH_BLACK_TRAP;
        const enum status fit = with_card(card, &fault);
        CHECK(good ? fit == STATUS_OK : fit == STATUS_INPUT && fault.word == WORD_CARD_NO_FIT);
    }
    memory_free(card);
}

/* Flake: the same spot from two sides, which differ by that factor. */
static enum status from_two_sides(double factor, struct fault *fault) {
    struct arena *arena = arena_new();
    struct camera_shot *shot = arena_need(arena, 2, sizeof *shot);
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    struct located *located = arena_need(arena, 1, sizeof *located);
    enum status status = STATUS_OK;
    for (int k = 0; k < 2 && status == STATUS_OK; k++) {
        struct scene scene;
        set(&scene);
        scene.sensor.seed += (unsigned long long)k, scene.turn_deg = k ? 8 : -5;
        for (int b = 0; b < BANDS; b++) scene.window.colour.band[b] *= k ? factor : 1;
        const struct picture picture = take(&scene, false, arena);
        status = locate_card(&picture, &room->card, located, fault);
        if (status == STATUS_OK)
            status = camera_shoot(&picture, &room->card, located, NULL, 0, &shot[k], fault);
    }
    const struct camera_shot *const shots[2] = {&shot[0], &shot[1]};
    const struct camera_task task = {.card = &room->card, .shots = 2, .shot = shots, .shine = SHINE_BARE};
    if (status == STATUS_OK) status = camera_read(&task, arena, result, fault);
    arena_free(arena);
    return status;
}

static void flake_is_refused(void) {
    struct fault fault = {0};
    CHECK(from_two_sides(1.6, &fault) == STATUS_INPUT && fault.word == WORD_PHOTO_FLAKE);
    CHECK(from_two_sides(1.06, &fault) == STATUS_OK);
}

static void corners_by_hand_serve_and_are_checked(void) {
    struct scene scene;
    struct arena *arena = arena_new();
    struct fault fault = {0};
    struct located *located = arena_need(arena, 1, sizeof *located);
    struct point corner[4];
    set(&scene);
    cover_tags(&scene, 4);
    struct plate *plate = plate_expose(&scene);
    const struct picture picture = plate_develop(plate, &scene.sensor, arena);
    for (int k = 0; k < 4; k++) {
        const double mm[2] = {k == 1 || k == 2 ? 120 : 0, k >= 2 ? 90 : 0};
        double px[2];
        plate_place(plate, mm, px);
        corner[k] = (struct point){px[0], px[1]};
    }
    CHECK(locate_by_corners(&picture, &room->card, corner, located, &fault) == STATUS_OK);
    const struct point swapped[4] = {corner[1], corner[0], corner[2], corner[3]};
    CHECK(locate_by_corners(&picture, &room->card, swapped, located, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_CARD_CORNERS_ORDER);
    const struct point out[4] = {{-3, 0}, corner[1], corner[2], corner[3]};
    CHECK(locate_by_corners(&picture, &room->card, out, located, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_CARD_CORNER_OUTSIDE);
    plate_free(plate);
    arena_free(arena);
}

int main(void) {
    struct scene scene;
    room = trial_open(TRIAL_OWN);
    set(&scene);
    plain = plate_expose(&scene);
    RUN(photographs_that_lie_are_refused);
    RUN(spots_that_are_none_are_refused);
    RUN(a_card_without_values_or_window_is_refused);
    RUN(a_card_that_does_not_fit_is_refused);
    RUN(flake_is_refused);
    RUN(corners_by_hand_serve_and_are_checked);
    plate_free(plain);
    trial_close(room);
    return check_done();
}
