/* What a correction must keep, whatever the colours: only additions, inside the limit, to what is left of the
 * pot. */
#include "acrylics_shelf.h"
#include "colour/difference.h"
#include "paint/adjust.h"
#include "paint/eye.h"

static struct arena *arena;
static struct shelf shelf;

static void read_shelf(void) {
    arena = arena_new();
    acrylics_shelf_read(arena, &shelf);
}

static struct lab day(const double part[]) {
    const struct film_case opaque = {
        .film_um = (double)INFINITY, .geometry = shelf.geometry, .sheen_gu = (double)NAN};
    struct spectrum seen;
    predict_reflectance(&shelf, part, &opaque, &seen);
    return lab_of_spectrum(&seen, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

/* A pot of the first toners of the shelf, and a target a little way off. */
static struct adjust_task task_of(double pot_g[SHELF_MOST], double scale) {
    struct adjust_task task = {
        .pot_g = pot_g, .pot_limit_g = 90 * scale, .tolerance = 0.5, .doubt = doubt_usual};
    double part[SHELF_MOST] = {0}, sum = 0;
    match_task_preset(&task.match, &shelf);
    for (size_t i = 0; i < shelf.count; i++)
        pot_g[i] = scale * (shelf.toner[i].role == ROLE_BINDER  ? 30
                            : shelf.toner[i].role == ROLE_WHITE ? 20
                                                                : 10.0 / (double)(shelf.count - 2));
    for (size_t i = 0; i < shelf.count; i++) sum += pot_g[i];
    for (size_t i = 0; i < shelf.count; i++) part[i] = pot_g[i] / sum;
    const double direction[3] = {-1, 0.7, 0.4};
    task.match.target =
        (struct reading){.geometry = shelf.geometry, .lab = eye_step(day(part), direction, 2)};
    return task;
}

static double sum_of(const struct adjust_result *r) {
    double sum = 0;
    for (size_t i = 0; i < r->count; i++) sum += r->addition[i].mass_g;
    return sum;
}

/* 20 g taken from 60 g: the additions are those of a pot of 40 g, and two thirds of those of the whole. */
static void twenty_grams_taken_from_sixty_are_not_dosed(void) {
    double whole_g[SHELF_MOST] = {0}, taken_g[SHELF_MOST] = {0}, forty_g[SHELF_MOST] = {0};
    struct adjust_task whole = task_of(whole_g, 1), taken = task_of(taken_g, 1),
                       forty = task_of(forty_g, 2.0 / 3);
    struct adjust_result a, b, c;
    struct fault fault;
    taken.taken_g = 20;
    taken.pot_limit_g = forty.pot_limit_g;
    CHECK(adjust_run(&whole, NULL, arena, &a, &fault) == STATUS_OK);
    CHECK(adjust_run(&taken, NULL, arena, &b, &fault) == STATUS_OK);
    CHECK(adjust_run(&forty, NULL, arena, &c, &fault) == STATUS_OK);
    CHECK(a.count > 0 && b.count > 0);
    CHECK_NEAR(b.remains_g, 40, 1e-9);
    CHECK(b.count == c.count);
    for (size_t i = 0; i < b.count && i < c.count; i++) {
        CHECK(b.addition[i].toner == c.addition[i].toner);
        CHECK_NEAR(b.addition[i].mass_g, c.addition[i].mass_g, 0.0101);
    }
    CHECK_NEAR(b.total_g, 40 + sum_of(&b), 1e-6);
    CHECK_AT_MOST(fabs(sum_of(&b) - sum_of(&a) * 2 / 3), 0.1 * sum_of(&a) + 0.05);
    printf("  figure: additions %.2f g to 60 g, %.2f g to the 40 g that 20 g were taken from\n", sum_of(&a),
           sum_of(&b));
}

static void the_limit_holds_and_nothing_is_taken_out(void) {
    double pot_g[SHELF_MOST] = {0};
    for (double limit = 60; limit < 95; limit += 3.37) {
        struct adjust_task task = task_of(pot_g, 1);
        struct adjust_result r;
        struct fault fault;
        task.pot_limit_g = limit;
        CHECK(adjust_run(&task, NULL, arena, &r, &fault) == STATUS_OK);
        CHECK_AT_MOST(r.total_g, limit + 1e-6);
        for (size_t i = 0; i < r.count; i++) {
            const double steps = r.addition[i].mass_g / task.match.scale_step_g;
            CHECK(r.addition[i].mass_g > 0);
            CHECK_NEAR(steps, floor(steps + 0.5), 1e-6);
        }
        CHECK(r.de00_after <= r.de00_now + 1e-6);
    }
}

/* A target from a photograph is sure to 1 or 2 dE00 only; the correction goes by the difference of two such
 * readings and is judged by it: what is said of it agrees with itself, and is the same as of a sure target.
 */
static void an_unsure_target_is_reached_as_a_sure_one_is(void) {
    double pot_g[SHELF_MOST] = {0};
    struct adjust_task task = task_of(pot_g, 1);
    struct adjust_result sure, unsure;
    struct fault fault;
    CHECK(adjust_run(&task, NULL, arena, &sure, &fault) == STATUS_OK);
    task.match.target.has_cov = true;
    for (int i = 0; i < 3; i++) task.match.target.lab_cov[i][i] = 1;
    CHECK(adjust_run(&task, NULL, arena, &unsure, &fault) == STATUS_OK);
    CHECK(sure.reaches && unsure.reaches && unsure.count == sure.count);
    CHECK_NEAR(unsure.de00_after, sure.de00_after, 1e-9);
    CHECK_NEAR(unsure.de00_after, difference_de00(task.match.target.lab, unsure.after_lab), 1e-6);
    CHECK_AT_MOST(unsure.de00_after, unsure.de00_after_p95);
}

/* A pot that is full to its limit: nothing fits, and that is said by adding nothing. */
static void a_full_pot_gets_nothing(void) {
    double pot_g[SHELF_MOST] = {0};
    struct adjust_task task = task_of(pot_g, 1);
    struct adjust_result r;
    struct fault fault;
    task.pot_limit_g = 60;
    CHECK(adjust_run(&task, NULL, arena, &r, &fault) == STATUS_OK);
    CHECK(r.count == 0 && !r.reaches);
    CHECK_NEAR(r.total_g, 60, 1e-9);
    CHECK(r.start_over_g > 0 && r.start_over_g < 60 && r.fresh_count > 0);
}

static void an_impossible_pot_is_refused_in_words(void) {
    double pot_g[SHELF_MOST] = {0};
    struct adjust_task task = task_of(pot_g, 1);
    struct adjust_result r;
    struct fault fault;
    task.taken_g = 60;
    CHECK(adjust_run(&task, NULL, arena, &r, &fault) == STATUS_INPUT &&
          fault.word == WORD_POT_TAKEN_TOO_MUCH);
    task.taken_g = 0;
    task.pot_limit_g = 40;
    CHECK(adjust_run(&task, NULL, arena, &r, &fault) == STATUS_INPUT &&
          fault.word == WORD_POT_LIMIT_TOO_SMALL);
    memset(pot_g, 0, sizeof pot_g);
    CHECK(adjust_run(&task, NULL, arena, &r, &fault) == STATUS_INPUT && fault.word == WORD_POT_EMPTY);
}

static void words_of_the_eye_go_where_they_say(void) {
    const struct lab now = {40, 10, 15, {LIGHT_D65, OBSERVER_10}};
    struct lab to;
    struct fault fault;
    CHECK(eye_words("redder 1, darker 2", now, &to, &fault) == STATUS_OK);
    CHECK(to.a > now.a && to.l < now.l && to.b == now.b);
    CHECK(eye_words("cleaner 3", now, &to, &fault) == STATUS_OK);
    CHECK_NEAR(difference_de00(now, to), 3.0, 1e-6);
    CHECK(hypot(to.a, to.b) > hypot(now.a, now.b));
    CHECK(eye_words("redder", now, &to, &fault) != STATUS_OK);
    CHECK(eye_words("redder 1, darker 1, greener 1", now, &to, &fault) == STATUS_USAGE &&
          fault.word == WORD_EYE_OPPOSITES);
    CHECK(eye_words("greyer 1", now, &to, &fault) != STATUS_OK);
    CHECK(eye_words("redder 4", now, &to, &fault) != STATUS_OK);
    CHECK(eye_words("", now, &to, &fault) != STATUS_OK);
}

/* A shelf that learnt and kept its cards is as sure of a mix as the learning was, and surer of what the cards
 * held than of what they did not. */
static void a_shelf_knows_what_its_cards_have_shown(void) {
    double pot_g[SHELF_MOST] = {0}, part[3][SHELF_MOST] = {{0}};
    struct card card[3];
    struct toner toner[SHELF_MOST];
    struct shelf learnt = shelf;
    int other = -1;
    task_of(pot_g, 1);
    for (size_t i = 0; i < shelf.count; i++)
        if (shelf.toner[i].role == ROLE_COLOUR) other = (int)i; /* the last colour lies in no card */
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int i = 0; i < (int)shelf.count; i++)
            sum += part[c][i] = i == other ? 0 : pot_g[i] * (1 + 0.4 * ((c + i) % 3 - 1));
        for (size_t i = 0; i < shelf.count; i++) part[c][i] /= sum;
        card[c] = (struct card){.part = part[c]};
        card[c].film = (struct film_case){
            .film_um = (double)INFINITY, .geometry = shelf.geometry, .sheen_gu = (double)NAN};
        predict_reflectance(&shelf, part[c], &card[c].film, &card[c].measured);
        for (int b = 0; b < BANDS; b++) card[c].measured.band[b] *= 1.02;
    }
    memcpy(toner, shelf.toner, shelf.count * sizeof *toner);
    learnt.toner = toner;
    struct calibration *learning = calibration_new(&shelf, card, 3, 1, &doubt_usual);
    calibration_apply(learning, 0, &learnt);
    learnt.card = card, learnt.cards = 3;
    struct calibration *kept = calibration_of_shelf(&learnt, &doubt_usual);
    double then[3][3], now[3][3], with_other[3][3], mix[SHELF_MOST];
    calibration_lab_cov(learning, part[0], &card[0].film, 0, then);
    calibration_lab_cov(kept, part[0], &card[0].film, 0, now);
    for (size_t i = 0; i < shelf.count; i++) mix[i] = 0.95 * part[0][i] + ((int)i == other ? 0.05 : 0);
    calibration_lab_cov(kept, mix, &card[0].film, 0, with_other);
    for (int i = 0; i < 3; i++) CHECK_NEAR(now[i][i], then[i][i], 0.1 * then[i][i]);
    CHECK(now[0][0] + now[1][1] + now[2][2] < with_other[0][0] + with_other[1][1] + with_other[2][2]);
    calibration_free(learning);
    calibration_free(kept);
}

int main(void) {
    read_shelf();
    RUN(twenty_grams_taken_from_sixty_are_not_dosed);
    RUN(the_limit_holds_and_nothing_is_taken_out);
    RUN(an_unsure_target_is_reached_as_a_sure_one_is);
    RUN(a_full_pot_gets_nothing);
    RUN(an_impossible_pot_is_refused_in_words);
    RUN(a_shelf_knows_what_its_cards_have_shown);
    RUN(words_of_the_eye_go_where_they_say);
    arena_free(arena);
    return check_done();
}
