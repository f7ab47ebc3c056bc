/* The classic chart in its frame, its values the published mean of many: twenty cameras, five lamps, three
 * tilts, twelve leathers each; a slice always, all of it with RUSSET_LONG. */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;
static struct trial_log log_;

static void run(int n, int leathers) {
    struct scene scene;
    int leather[TRIAL_LEATHERS];
    trial_scene(room, n / TILTS / LAMPS, (enum lamp)(n / TILTS % LAMPS), n % TILTS, &scene);
    trial_leathers(n, leather);
    trial_pose(room, &scene, leather, leathers, false, &log_);
}

static void check_classic(const char *title, double mean, double p95) {
    const struct trial_figures all = trial_sum(&log_, 0, 101), dark = trial_sum(&log_, 0, 25);
    trial_print(title, &all);
    trial_print("the same, L* under 25", &dark);
    CHECK_AT_MOST(all.mean, mean);
    CHECK_AT_MOST(all.p95, p95);
    CHECK(all.covered >= .9 && all.covered <= .99);
    CHECK_AT_MOST(all.refused, .01 * all.count);
}

static void the_classic_chart_in_the_field(void) {
    log_.count = log_.retaken = 0;
    for (int n = 0; n < 6; n++) run((n * 53 + 4) % 300, 4);
    const struct trial_figures all = trial_sum(&log_, 0, 101);
    trial_print("classic chart, slice", &all);
    CHECK_AT_MOST(all.mean, 1.6);
    CHECK_AT_MOST(all.p95, 3.5);
    CHECK(all.covered >= .85);
    CHECK(all.refused == 0);
}

static void LONG_the_classic_chart_in_the_field(void) {
    log_.count = log_.retaken = 0;
    for (int n = 0; n < CAMERAS * LAMPS * TILTS; n++) run(n, TRIAL_LEATHERS);
    check_classic("classic chart", 1.35, 3.1);
}

int main(void) {
    room = trial_open(TRIAL_CLASSIC);
    RUN(the_classic_chart_in_the_field);
    RUN(LONG_the_classic_chart_in_the_field);
    trial_close(room);
    return check_done();
}
