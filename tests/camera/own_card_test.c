/* The own card in the field: twenty cameras, five lamps, three tilts, twelve leathers each; a slice always,
 * all of it (about half an hour on one core), or RUSSET_POSES of its 300 poses from RUSSET_FIRST_POSE on,
 * with RUSSET_LONG.
 */
#include "camera/trial.h"
#include "check.h"

static struct trial_room *room;
static struct trial_log log_;

static void sweep(const char *title, int first, int poses, int leathers, bool like, bool large, double mean) {
    log_.count = log_.retaken = 0;
    trial_sweep(room, first, poses, leathers, like, large, &log_);
    trial_print_log(title, &log_);
    const struct trial_figures all = trial_sum(&log_, 0, 101), dark = trial_sum(&log_, 0, 25);
    CHECK_AT_MOST(all.mean, mean);
    CHECK_AT_MOST(dark.mean, 1);
    CHECK_AT_MOST(dark.p95, 2.2);
    CHECK(all.covered >= .9);
    CHECK(all.count < 200 ? all.filled + 2 * all.filled_error >= TRIAL_FILLS_LEAST : all.covered <= .99);
    CHECK_AT_MOST(all.refused, .01 * all.count);
}

static void the_own_card_in_the_field(void) {
    sweep("own card, slice", 0, 10, 4, false, false, 1); /* 40 readings of 3600, ten of them dark */
}
static void LONG_the_own_card_in_the_field(void) {
    sweep("own card", trial_first_pose(), trial_poses_wanted(), TRIAL_LEATHERS, false, false, 1);
}
static void LONG_twenty_photographs_of_twelve_megapixels(void) {
    if (trial_first_pose() == 0) sweep("own card, 12 megapixels", 0, 20, TRIAL_LEATHERS, false, true, 1);
}
static void LONG_leathers_of_the_cards_own_toners(void) {
    const int poses = trial_poses_wanted();
    sweep("own card, leathers of its toners", trial_first_pose(), poses < 100 ? poses : 100, TRIAL_LEATHERS,
          true, false, 1.25);
}

int main(void) {
    room = trial_open(TRIAL_OWN);
    RUN(the_own_card_in_the_field);
    RUN(LONG_the_own_card_in_the_field);
    RUN(LONG_twenty_photographs_of_twelve_megapixels);
    RUN(LONG_leathers_of_the_cards_own_toners);
    trial_close(room);
    return check_done();
}
