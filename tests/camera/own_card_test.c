/* The own card in the field: twenty cameras, five lamps, three tilts, twelve leathers each; a slice always,
 * all of it with RUSSET_LONG. */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;
static struct trial_log log_;

static void tell(const char *title) {
    char line[120];
    struct trial_figures f = trial_sum(&log_, 0, 101);
    trial_print(title, &f);
    f = trial_sum(&log_, 0, 25);
    snprintf(line, sizeof line, "%s, L* under 25", title);
    trial_print(line, &f);
    printf("  figure: %s: %d photographs taken again, one stop darker\n", title, log_.retaken);
}

static void run(int camera, enum lamp lamp, int tilt, int leathers, bool like) {
    struct scene scene;
    int leather[TRIAL_LEATHERS];
    const int n = (camera * LAMPS + (int)lamp) * TILTS + tilt;
    trial_scene(room, camera, lamp, tilt, &scene);
    trial_leathers(n, leather);
    if (like)
        for (int i = 0; i < leathers; i++) leather[i] = (12 * n + i) % LEATHERS_LIKE;
    trial_pose(room, &scene, leather, leathers, like, &log_);
}

static void check_own(double mean, double dark_mean, double refused) {
    const struct trial_figures all = trial_sum(&log_, 0, 101), dark = trial_sum(&log_, 0, 25);
    CHECK_AT_MOST(all.mean, mean);
    CHECK_AT_MOST(dark.mean, dark_mean);
    CHECK_AT_MOST(dark.p95, 2.2);
    CHECK(all.covered >= .9 && all.covered <= .99);
    CHECK_AT_MOST(all.refused, refused * all.count);
}

static void the_own_card_in_the_field(void) {
    log_.count = log_.retaken = 0;
    for (int n = 0; n < 10; n++) run((7 * n + 1) % CAMERAS, (enum lamp)(n % LAMPS), n % TILTS, 4, false);
    tell("own card, slice");
    check_own(1, 1, .02); /* 40 readings of 3600, ten of them dark */
}

static void LONG_the_own_card_in_the_field(void) {
    log_.count = log_.retaken = 0;
    for (int n = 0; n < CAMERAS * LAMPS * TILTS; n++)
        run(n / TILTS / LAMPS, (enum lamp)(n / TILTS % LAMPS), n % TILTS, TRIAL_LEATHERS, false);
    tell("own card");
    check_own(1, 1, .01);
}

static void LONG_leathers_of_the_cards_own_toners(void) {
    log_.count = log_.retaken = 0;
    for (int n = 0; n < CAMERAS * LAMPS; n++)
        run(n / LAMPS, (enum lamp)(n % LAMPS), n % TILTS, TRIAL_LEATHERS, true);
    tell("own card, leathers of its toners");
    check_own(1.25, 1, .01);
}

int main(void) {
    room = trial_open(TRIAL_OWN);
    RUN(the_own_card_in_the_field);
    RUN(LONG_the_own_card_in_the_field);
    RUN(LONG_leathers_of_the_cards_own_toners);
    trial_close(room);
    return check_done();
}
