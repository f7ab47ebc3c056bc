/* The model without pixels says what whole pictures say; and the sweeps that are too many for pictures. */
#include "camera/quick.h"
#include "camera/trial.h"
#include "check.h"
#include "colour/difference.h"

/* The same scene both ways. */
static void quick_and_whole_agree(void) {
    struct trial_room *room = trial_open(TRIAL_OWN);
    double sum = 0, most = 0;
    const int pictures = 6;
    for (int n = 0; n < pictures; n++) {
        struct scene scene;
        struct arena *arena = arena_new();
        struct camera_result *whole = arena_need(arena, 1, sizeof *whole),
                             *quick = arena_need(arena, 1, sizeof *quick);
        struct fault fault = {0};
        trial_scene(room, 3 * n + 1, (enum lamp)(n % LAMPS), n % TILTS, &scene);
        scene.window.colour = room->leather[7 * n + 1];
        scene.window.grain = .02, scene.window.glints = 0;
        struct plate *plate = plate_expose(&scene);
        const struct picture picture = plate_develop(plate, &scene.sensor, arena);
        CHECK(trial_read(&room->card, &picture, NULL, 0, false, arena, whole, &fault) == STATUS_OK);
        CHECK(quick_read(&scene, NULL, 0, false, arena, quick, &fault) == STATUS_OK);
        const double d = difference_de00(whole->mean.lab, quick->mean.lab);
        sum += d / pictures, most = fmax(most, d);
        plate_free(plate);
        arena_free(arena);
    }
    printf("  figure: a picture and its model without pixels: %.2f dE00 apart on the mean, %.2f at most\n",
           sum, most);
    CHECK_AT_MOST(sum, .5);
    CHECK_AT_MOST(most, 1);
    trial_close(room);
}

static struct trial_log log_;

static void sweep(enum trial_card kind, bool like, int step, const char *title, struct trial_figures *all,
                  struct trial_figures *dark) {
    struct trial_room *room = trial_open(kind);
    log_.count = log_.retaken = 0;
    for (int n = 0; n < CAMERAS * LAMPS * TILTS; n += step) {
        struct scene scene;
        int leather[TRIAL_LEATHERS];
        trial_scene(room, n / TILTS / LAMPS, (enum lamp)(n / TILTS % LAMPS), n % TILTS, &scene);
        trial_leathers(n, leather);
        for (int i = 0; i < TRIAL_LEATHERS; i++) {
            struct arena *arena = arena_new();
            struct camera_result *result = arena_need(arena, 1, sizeof *result);
            struct fault fault = {0};
            scene.window.colour = like ? room->like[(12 * n + i) % LEATHERS_LIKE] : room->leather[leather[i]];
            const bool read = quick_read(&scene, NULL, 0, like, arena, result, &fault) == STATUS_OK;
            log_.result[log_.count++] = read ? trial_judge(&result->mean, &scene.window.colour)
                                             : (struct trial_result){.refused = true, .why = fault.word};
            arena_free(arena);
        }
    }
    *all = trial_sum(&log_, 0, 101), *dark = trial_sum(&log_, 0, 25);
    trial_print(title, all);
    trial_print("the same, L* under 25", dark);
    trial_close(room);
}

static void the_own_card_by_the_model(void) {
    struct trial_figures all, dark;
    const int step = getenv("RUSSET_LONG") ? 1 : 29;
    sweep(TRIAL_OWN, false, step, "own card, model without pixels", &all, &dark);
    CHECK_AT_MOST(all.mean, 1);
    CHECK_AT_MOST(dark.mean, 1);
    CHECK_AT_MOST(dark.p95, 2.2);
    CHECK(all.covered >= .9 && all.covered <= .99);
}

static void the_classic_chart_by_the_model(void) {
    struct trial_figures all, dark;
    const int step = getenv("RUSSET_LONG") ? 1 : 29;
    sweep(TRIAL_CLASSIC, false, step, "classic chart, model without pixels", &all, &dark);
    CHECK_AT_MOST(all.mean, 1.35);
    CHECK_AT_MOST(all.p95, 3.1);
    CHECK(all.covered >= .9 && all.covered <= .99);
}

static void leathers_of_the_cards_toners_by_the_model(void) {
    struct trial_figures all, dark;
    const int step = getenv("RUSSET_LONG") ? 3 : 47;
    sweep(TRIAL_OWN, true, step, "own card, leathers of its toners, model without pixels", &all, &dark);
    CHECK_AT_MOST(all.mean, 1.25);
    CHECK_AT_MOST(dark.mean, 1);
}

int main(void) {
    RUN(quick_and_whole_agree);
    RUN(the_own_card_by_the_model);
    RUN(the_classic_chart_by_the_model);
    RUN(leathers_of_the_cards_toners_by_the_model);
    return check_done();
}
