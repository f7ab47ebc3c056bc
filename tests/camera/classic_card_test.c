/* The classic chart in its frame, its values the published mean of many: twenty cameras, five lamps, three
 * tilts, twelve leathers each; a slice always, all of it, or the first RUSSET_POSES of its 300 poses, with
 * RUSSET_LONG. */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;
static struct trial_log log_;

static void sweep(const char *title, int first, int poses, int leathers) {
    log_.count = log_.retaken = 0;
    trial_sweep(room, first, poses, leathers, false, false, &log_);
    trial_print_log(title, &log_);
    const struct trial_figures all = trial_sum(&log_, 0, 101);
    CHECK_AT_MOST(all.mean, 1.35);
    CHECK_AT_MOST(all.p95, 3.1);
    CHECK(all.covered >= .9);
    CHECK(all.count < 300 ? all.filled + 2 * all.filled_error >= TRIAL_FILLS_LEAST : all.covered <= .99);
    CHECK_AT_MOST(all.refused, .01 * all.count);
}

static void the_classic_chart_in_the_field(void) {
    sweep("classic chart, slice", 0, 8, 4);
}
static void LONG_the_classic_chart_in_the_field(void) {
    sweep("classic chart", trial_first_pose(), trial_poses_wanted(), TRIAL_LEATHERS);
}

int main(void) {
    room = trial_open(TRIAL_CLASSIC);
    RUN(the_classic_chart_in_the_field);
    RUN(LONG_the_classic_chart_in_the_field);
    trial_close(room);
    return check_done();
}
