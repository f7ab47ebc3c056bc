/* The pour followed on made-up streams, ten readings a second on a .01 g scale unless said otherwise. */
#include "check.h"
#include "paint/pouring.h"

static const struct pouring_item three[] = {
    {.id = "white", .want_g = 12.7, .fraction = 1, .minus_g = .05, .plus_g = .05},
    {.id = "black", .want_g = .4, .fraction = 1, .minus_g = .02, .plus_g = .02},
    {.id = "binder", .want_g = 46.9, .fraction = 1, .minus_g = .2, .plus_g = .2},
};

struct bench {
    struct pouring pouring;
    long long ms;
    int every_ms;
    double step_g, g;
    int seen[16]; /* events counted */
};

static enum pouring_event put(struct bench *b, double g) {
    b->ms += b->every_ms;
    b->g = g;
    const struct pouring_reading reading = {
        .time_ms = b->ms, .mass_g = round(g / b->step_g) * b->step_g, .step_g = b->step_g, .still = true};
    const enum pouring_event event = pouring_read(&b->pouring, &reading);
    b->seen[event]++;
    return event;
}

/* Holds the reading for a while; returns the last event that was one. */
static enum pouring_event hold(struct bench *b, double g, double seconds) {
    enum pouring_event last = POURING_NOTHING;
    for (int i = 0; i < (int)(seconds * 1000 / b->every_ms); i++) {
        const enum pouring_event event = put(b, g);
        if (event != POURING_NOTHING) last = event;
    }
    return last;
}

/* Pours from where it is to g at so many grams a second, then rests two seconds. */
static enum pouring_event pour(struct bench *b, double g, double g_s) {
    while (b->g < g) put(b, fmin(g, b->g + g_s * b->every_ms / 1000));
    return hold(b, g, 2.5);
}

/* Answers; the answer counts at the next rest. */
static enum pouring_event say(struct bench *b, enum pouring_answer answer) {
    pouring_say(&b->pouring, answer);
    return hold(b, b->g, 2);
}

static struct bench bench_ready(bool ask) {
    struct bench b = {.every_ms = 100, .step_g = .01};
    pouring_start(&b.pouring, three, 3, 0, ask);
    if (!ask) CHECK(hold(&b, 0, 2.5) == POURING_STARTED);
    return b;
}

static double poured(const struct bench *b, int i) {
    return b->pouring.items[i].poured_g;
}

static void a_plain_pour_is_taken_toner_by_toner(void) {
    struct bench b = bench_ready(false);
    CHECK(pour(&b, 12.68, 2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 0), 12.68, 1e-9);
    CHECK(pour(&b, 13.08, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .40, 1e-9);
    CHECK(pour(&b, 60.00, 5) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 2), 46.92, 1e-9);
    CHECK(b.pouring.state == POURING_DONE);
}

static void a_pour_in_parts_is_reported_and_taken_at_the_end(void) {
    struct bench b = bench_ready(false);
    CHECK(pour(&b, 4.31, 2) == POURING_RESTED);
    CHECK_NEAR(poured(&b, 0), 4.31, 1e-9);
    CHECK(b.pouring.at == 0);
    CHECK(pour(&b, 9.9, 2) == POURING_RESTED);
    CHECK(pour(&b, 12.75, 1) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 0), 12.75, 1e-9);
}

static void past_the_window_is_an_overpour(void) {
    struct bench b = bench_ready(false);
    CHECK(pour(&b, 12.76, 2) == POURING_OVERPOURED);
    CHECK(b.pouring.at_taken == 0 && b.pouring.at == 1);
    struct pouring_item more[3];
    memcpy(more, b.pouring.items, sizeof more);
    more[0].want_g = 12.76;
    more[1].want_g = .402;
    more[2].want_g = 47.12;
    pouring_replan(&b.pouring, more, 3);
    CHECK(pour(&b, 13.16, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .40, 1e-9);
}

/* A rescue asks for more of a toner that was done. */
static void a_rescue_may_go_back_to_a_toner(void) {
    struct bench b = bench_ready(false);
    CHECK(pour(&b, 12.7, 2) == POURING_TAKEN);
    CHECK(pour(&b, 13.2, .2) == POURING_OVERPOURED); /* black .5 for .4 */
    struct pouring_item more[4];
    memcpy(more, b.pouring.items, sizeof *more * 3);
    more[1].want_g = .5;
    more[2].want_g = 58.625;
    more[3] = three[0];
    more[3].want_g = 3.175;
    pouring_replan(&b.pouring, more, 4);
    CHECK(b.pouring.at == 2);
    CHECK(pour(&b, 13.2 + 58.62, 5) == POURING_TAKEN);
    CHECK(b.pouring.at == 3);
    CHECK(pour(&b, 13.2 + 58.62 + 3.175, 1) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 3), 3.175, .0051);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
    CHECK(b.pouring.state == POURING_DONE);
}

static void a_lifted_cup_goes_on_when_it_is_back(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    CHECK(hold(&b, -8.3, 3) == POURING_ASKED);
    CHECK(b.pouring.state == POURING_AWAY);
    CHECK(hold(&b, 12.72, 3) == POURING_BACK);
    CHECK(pour(&b, 13.12, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
    CHECK_NEAR(poured(&b, 1), .40, 1e-9); /* the place on the pan made .02: not poured */
}

static void a_cup_that_comes_back_heavier_is_asked_about(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 5, 2);
    (void)hold(&b, -8.3, 3);
    CHECK(hold(&b, 9.1, 3) == POURING_ASKED);
    CHECK(poured(&b, 0) == 5);
    struct bench other = b;
    CHECK(say(&b, ANSWER_POURED) == POURING_RESTED);
    CHECK_NEAR(poured(&b, 0), 9.1, 1e-9);
    CHECK(say(&other, ANSWER_SAME) == POURING_BACK);
    CHECK_NEAR(poured(&other, 0), 5, 1e-9);
    CHECK(pour(&other, 9.1 + 7.7, 2) == POURING_TAKEN);
    CHECK_NEAR(poured(&other, 0), 12.7, 1e-9);
}

static void a_jumping_zero_is_asked_about_and_loses_nothing(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    CHECK(hold(&b, 0, 3) == POURING_ASKED);
    CHECK(b.pouring.reason == AWAY_ZERO);
    CHECK(say(&b, ANSWER_SAME) == POURING_BACK);
    CHECK(pour(&b, .4, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .4, 1e-9);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
}

static void a_tare_that_the_scale_tells_of_is_followed(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    b.ms += 100;
    const struct pouring_reading tared = {
        .time_ms = b.ms, .mass_g = 0, .step_g = .01, .still = true, .tared = true};
    CHECK(pouring_read(&b.pouring, &tared) == POURING_BACK);
    b.g = 0;
    CHECK(pour(&b, .4, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .4, 1e-9);
}

static void a_thing_put_down_is_not_a_pour(void) {
    struct bench b = bench_ready(false);
    CHECK(hold(&b, 12.7, 3) == POURING_ASKED); /* just the weight that is wanted */
    CHECK(b.pouring.reason == AWAY_PUT && poured(&b, 0) == 0);
    CHECK(hold(&b, 0, 3) == POURING_BACK);
    CHECK(pour(&b, 12.7, 2) == POURING_TAKEN);
}

/* A slow scale filter: the thing comes up over a second. */
static void a_thing_put_down_is_told_through_the_filter_of_the_scale(void) {
    struct bench b = bench_ready(false);
    for (int i = 0; i < 60; i++) put(&b, 6.0 * (1 - exp(-i / 4.0)));
    CHECK(b.pouring.state == POURING_AWAY && b.pouring.reason == AWAY_PUT);
    CHECK(poured(&b, 0) == 0);
}

static void a_leaning_hand_is_put_right_when_it_goes(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 5, 2);
    (void)pour(&b, 5.6, .3); /* a hand rests on the rim */
    CHECK_NEAR(poured(&b, 0), 5.6, 1e-9);
    struct bench other = b;
    CHECK(hold(&b, 5.01, 3) == POURING_RESTED);
    CHECK_NEAR(poured(&b, 0), 5.01, 1e-9);
    CHECK(hold(&other, 5.2, 3) == POURING_ASKED); /* neither here nor there */
    CHECK(say(&other, ANSWER_POURED) == POURING_RESTED);
    CHECK_NEAR(poured(&other, 0), 5.2, 1e-9);
}

static void overload_and_gaps_lose_nothing(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    CHECK(pouring_gap(&b.pouring, AWAY_OVERLOAD) == POURING_LEFT);
    CHECK(hold(&b, 12.71, 3) == POURING_BACK);
    b.ms += 60000; /* unplugged for a minute */
    CHECK(put(&b, 12.71) == POURING_LEFT);
    CHECK(hold(&b, 12.71, 3) == POURING_BACK);
    b.ms += 60000;
    CHECK(put(&b, 13.11) == POURING_LEFT);
    CHECK(hold(&b, 13.11, 3) == POURING_ASKED); /* poured while nobody looked? */
    CHECK(say(&b, ANSWER_POURED) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .4, .011);
}

static void drift_before_a_pour_moves_the_zero(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    (void)hold(&b, 12.71, 4);
    CHECK(poured(&b, 1) == 0);
    CHECK(pour(&b, 13.11, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .4, 1e-9);
    (void)hold(&b, 13.10, 4); /* down: evaporation or drift, never a pour */
    (void)hold(&b, 13.08, 4);
    (void)hold(&b, 13.06, 4);
    CHECK(b.pouring.state == POURING_POUR);
    CHECK(pour(&b, 59.96, 5) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 2), 46.9, 1e-9);
}

static void a_creep_is_asked_about_before_it_fills_a_window(void) {
    struct bench b = bench_ready(false);
    (void)pour(&b, 12.7, 2);
    enum pouring_event event = POURING_NOTHING;
    double g = 12.7;
    while (event == POURING_NOTHING && g < 14) event = hold(&b, g += .01, 3);
    CHECK(event == POURING_ASKED && b.pouring.reason == AWAY_CREPT);
    CHECK(g < 12.75);
    CHECK(poured(&b, 1) == 0);
    CHECK(say(&b, ANSWER_SAME) == POURING_BACK);
    CHECK(pour(&b, g + .4, .2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 1), .4, 1e-9);
}

static void spikes_and_other_steps_are_nothing(void) {
    struct bench b = bench_ready(false);
    for (int i = 0; i < 200; i++) {
        put(&b, 0);
        put(&b, 0);
        put(&b, 0);
        put(&b, i & 1 ? 500 : -40);
        b.step_g = 1; /* a line that lost its decimals */
        put(&b, 12.7);
        b.step_g = .01;
    }
    CHECK(b.seen[POURING_STARTED] == 1 && b.seen[POURING_LEFT] == 0 && b.seen[POURING_ASKED] == 0);
    CHECK(poured(&b, 0) == 0);
}

static void moving_readings_are_never_a_rest(void) {
    struct bench b = bench_ready(false);
    for (int i = 0; i < 100; i++) {
        b.ms += 100;
        const struct pouring_reading reading = {
            .time_ms = b.ms, .mass_g = 12.7, .step_g = .01, .still = false};
        (void)pouring_read(&b.pouring, &reading);
    }
    CHECK(poured(&b, 0) == 0);
}

static void a_burst_of_old_readings_is_no_rest(void) {
    struct bench b = bench_ready(false);
    b.every_ms = 0;
    for (int i = 0; i < 100; i++) put(&b, 12.7);
    CHECK(poured(&b, 0) == 0 && b.pouring.state == POURING_POUR);
}

static void the_cup_is_confirmed_when_somebody_is_there(void) {
    struct bench b = bench_ready(true);
    CHECK(hold(&b, 0, 3) == POURING_READY);
    (void)hold(&b, 8.3, 3); /* the cup */
    CHECK(b.pouring.state == POURING_START);
    CHECK(say(&b, ANSWER_SAME) == POURING_STARTED);
    CHECK(pour(&b, 8.3 + 12.7, 2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
}

static void a_half_poured_toner_is_gone_on_with(void) {
    struct bench b = {.every_ms = 100, .step_g = .01};
    struct pouring_item items[3];
    memcpy(items, three, sizeof items);
    items[0].poured_g = 5;
    pouring_start(&b.pouring, items, 3, 0, false);
    CHECK(hold(&b, 20, 2.5) == POURING_STARTED);
    CHECK(pour(&b, 27.7, 2) == POURING_TAKEN);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
}

/* It broke off in the middle of a pour: the tared scale shows half a gram that nobody wrote down. */
static void what_was_poured_when_it_broke_off_is_asked_about(void) {
    struct pouring_item items[3];
    memcpy(items, three, sizeof items);
    items[0].poured_g = 5;
    struct bench tared = {.every_ms = 100, .step_g = .01}, cup = tared, far = tared;
    pouring_start(&tared.pouring, items, 3, 0, true);
    CHECK(hold(&tared, 5.5, 2.5) == POURING_READY);
    CHECK(pouring_has_more(&tared.pouring));
    CHECK(say(&tared, ANSWER_POURED) == POURING_RESTED);
    CHECK_NEAR(poured(&tared, 0), 5.5, 1e-9);
    CHECK(pour(&tared, 12.7, 2) == POURING_TAKEN);
    CHECK_NEAR(poured(&tared, 0), 12.7, 1e-9);
    pouring_start(&cup.pouring, items, 3, 0, true); /* the same reading, and it is the cup */
    CHECK(hold(&cup, 5.5, 2.5) == POURING_READY);
    CHECK(say(&cup, ANSWER_SAME) == POURING_STARTED);
    CHECK_NEAR(poured(&cup, 0), 5, 1e-9);
    pouring_start(&far.pouring, items, 3, 0, true); /* a cup of its own weight is not asked about */
    CHECK(hold(&far, 31.2, 2.5) == POURING_READY);
    CHECK(!pouring_has_more(&far.pouring));
    CHECK(say(&far, ANSWER_POURED) == POURING_STARTED);
    CHECK_NEAR(poured(&far, 0), 5, 1e-9);
}

/* A toner in two parts: what the bed misses is taken off the rest, also after a break. */
static void a_toner_in_two_parts_comes_to_its_whole(void) {
    struct bench b = {.every_ms = 100, .step_g = .01};
    struct pouring_item parts[3];
    memcpy(parts, three, sizeof parts);
    parts[0] = parts[2];
    parts[0].want_g = 20;
    parts[0].minus_g = parts[0].plus_g = 1;
    parts[0].carries = true;
    parts[2].want_g = 26.9;
    pouring_start(&b.pouring, parts, 3, 0, false);
    (void)hold(&b, 0, 2.5);
    CHECK(pour(&b, 23, 5) == POURING_TAKEN);
    CHECK_NEAR(b.pouring.items[2].want_g, 23.9, 1e-9);
    parts[0].poured_g = 23;
    pouring_start(&b.pouring, parts, 3, 0, false);
    CHECK_NEAR(b.pouring.items[2].want_g, 23.9, 1e-9);
    parts[0].poured_g = 0;
    pouring_start(&b.pouring, parts, 3, 0, false);
    b.g = 0;
    (void)hold(&b, 0, 2.5);
    CHECK(pour(&b, 47.2, 5) == POURING_OVERPOURED);
}

static void coarse_and_slow_scales_pour_too(void) {
    struct bench b = {.every_ms = 500, .step_g = .1};
    pouring_start(&b.pouring, three, 3, 0, false);
    (void)hold(&b, 0, 8);
    b.pouring.items[0].minus_g = b.pouring.items[0].plus_g = .1;
    CHECK(pour(&b, 12.7, 1) == POURING_NOTHING || poured(&b, 0) > 0);
    (void)hold(&b, 12.7, 8);
    CHECK_NEAR(poured(&b, 0), 12.7, 1e-9);
}

static void the_bar_grows_faster_near_its_window(void) {
    CHECK_NEAR(pouring_bar(12.7, .05, 0), 0, 0);
    CHECK_NEAR(pouring_bar(12.7, .05, 12.7), 1, 1e-12);
    CHECK_NEAR(pouring_bar(12.7, .05, 20), 1, 0);
    double before = 0, slope = 0;
    for (int i = 1; i <= 100; i++) {
        const double bar = pouring_bar(12.7, .05, 12.7 * i / 100);
        CHECK(bar - before > slope);
        slope = bar - before;
        before = bar;
    }
    CHECK(pouring_bar(12.7, .05, 0.9 * 12.7) < 0.5); /* the last tenth has half the bar */
}

int main(void) {
    RUN(a_plain_pour_is_taken_toner_by_toner);
    RUN(a_pour_in_parts_is_reported_and_taken_at_the_end);
    RUN(past_the_window_is_an_overpour);
    RUN(a_rescue_may_go_back_to_a_toner);
    RUN(a_lifted_cup_goes_on_when_it_is_back);
    RUN(a_cup_that_comes_back_heavier_is_asked_about);
    RUN(a_jumping_zero_is_asked_about_and_loses_nothing);
    RUN(a_tare_that_the_scale_tells_of_is_followed);
    RUN(a_thing_put_down_is_not_a_pour);
    RUN(a_thing_put_down_is_told_through_the_filter_of_the_scale);
    RUN(a_leaning_hand_is_put_right_when_it_goes);
    RUN(overload_and_gaps_lose_nothing);
    RUN(drift_before_a_pour_moves_the_zero);
    RUN(a_creep_is_asked_about_before_it_fills_a_window);
    RUN(spikes_and_other_steps_are_nothing);
    RUN(moving_readings_are_never_a_rest);
    RUN(a_burst_of_old_readings_is_no_rest);
    RUN(the_cup_is_confirmed_when_somebody_is_there);
    RUN(a_half_poured_toner_is_gone_on_with);
    RUN(what_was_poured_when_it_broke_off_is_asked_about);
    RUN(a_toner_in_two_parts_comes_to_its_whole);
    RUN(coarse_and_slow_scales_pour_too);
    RUN(the_bar_grows_faster_near_its_window);
    return check_done();
}
