/* The plan of the coats against worked values and against the amount.
 *
 * Sources. WFT = Q TE/(v W (1-o)): 100 ml/min, .65, .4572 m/s, 200 mm, 50 % = 23.695 um wet, at 25 %
 * solids 5.924 um dry, 6 coats for 30 um (computed). .15 mm: EN 15987. Pot life and flash-off are the
 * sheet's; stretching by the drying index is ours. */
#include "check.h"
#include "trade/coat_plan.h"

static struct coat_case plain(void) {
    return (struct coat_case){.by = BY_GUN,
                              .area_m2 = 0.6,
                              .wide_mm = (double)NAN,
                              .high_mm = (double)NAN,
                              .film_um = 30,
                              .solids_volume = 0.25,
                              .transfer = 0.65,
                              .wet_um = (double)NAN,
                              .gun = {100, 200, 0.5, (double)NAN},
                              .film_um_to_hide = (double)NAN,
                              .flash_s = 600,
                              .drying_index = 1,
                              .pot_life_s = (double)NAN};
}

static struct coat_plan made(struct coat_case in) {
    struct coat_plan plan = {0};
    struct fault fault = {0};
    CHECK(coat_plan_make(&in, &plan, &fault) == STATUS_OK);
    return plan;
}

static void the_gun_lays_the_worked_film(void) {
    CHECK_NEAR(gun_wet_um(100, 0.65, 0.4572, 200, 0.5), 23.695, 5e-4);
    CHECK_NEAR(gun_speed_m_s(100, 0.65, 23.695, 200, 0.5), 0.4572, 1e-5);
    struct coat_case in = plain();
    in.gun.speed_m_s = 0.4572;
    const struct coat_plan plan = made(in);
    CHECK_NEAR(plan.wet_um, 23.695, 5e-4);
    CHECK_NEAR(plan.dry_um, 5.924, 5e-4);
    CHECK(plan.count == 6);
    CHECK_NEAR(plan.film_um, 6 * 5.924, 5e-3);
    CHECK_NEAR(plan.speed_m_s, 0.4572, 1e-12);
}

/* What leaves the gun during the strokes is what the film takes: the same millilitres by time and by area. */
static void what_is_sprayed_is_what_is_laid(void) {
    struct coat_case in = plain();
    in.wide_mm = 1000, in.high_mm = 600;
    const struct coat_plan plan = made(in);
    const double by_time_ml = in.gun.flow_ml_min / 60 * plan.stroke_s * (in.high_mm / plan.step_mm);
    CHECK_NEAR(by_time_ml, plan.coat_ml, 1e-9);
    CHECK_NEAR(plan.coat[0].spray_s * in.gun.flow_ml_min / 60, plan.coat_ml, 1e-9);
    CHECK(plan.strokes == 6);
    CHECK_NEAR(plan.coat_ml * (double)plan.count * 0.25 * 0.65, 0.6 * 30, 1e-9); /* solids on the panel */
}

static void hiding_comes_with_the_coat_that_reaches_it(void) {
    struct coat_case in = plain();
    in.film_um_to_hide = 18;
    CHECK(made(in).hides_at == 3); /* 6 um each, 18 um with the third */
    in.film_um_to_hide = 18.01;
    const struct coat_plan plan = made(in);
    CHECK(plan.hides_at == 4 && !plan.coat[2].hides && plan.coat[3].hides && plan.coat[4].hides);
    in.film_um_to_hide = 31;
    CHECK(made(in).hides_at == 0);
    in.film_um_to_hide = HUGE_VAL;
    CHECK(made(in).hides_at == 0);
}

static void damp_air_stretches_the_wait(void) {
    struct coat_case in = plain();
    in.drying_index = 0.5;
    const struct coat_plan plan = made(in);
    CHECK_NEAR(plan.coat[0].flash_s, 1200, 1e-9);
    CHECK_NEAR(plan.coat[plan.count - 1].flash_s, 0, 0);
    in.drying_index = 0.01;
    struct coat_plan none;
    struct fault fault;
    CHECK(coat_plan_make(&in, &none, &fault) == STATUS_NO && fault.word == WORD_COATS_DO_NOT_DRY);
}

static void no_coat_is_laid_from_a_dead_pot(void) {
    for (double life_s = 300; life_s < 6000; life_s += 70)
        for (double ago_s = 0; ago_s < 2000; ago_s += 130) {
            struct coat_case in = plain();
            in.pot_life_s = life_s, in.mixed_ago_s = ago_s;
            const struct coat_plan plan = made(in);
            double mixed_s = -ago_s;
            for (size_t i = 0; i < plan.count; i++) {
                if (plan.coat[i].pot != (i ? plan.coat[i - 1].pot : 1)) mixed_s = plan.coat[i].start_s;
                CHECK(plan.coat[i].start_s + plan.coat[i].spray_s <= mixed_s + life_s + 1e-9);
            }
            CHECK(plan.pots == plan.coat[plan.count - 1].pot);
        }
    struct coat_case in = plain();
    in.area_m2 = 100, in.pot_life_s = 600;
    struct coat_plan plan;
    struct fault fault;
    CHECK(coat_plan_make(&in, &plan, &fault) == STATUS_NO && fault.word == WORD_COATS_POT_TOO_SHORT);
}

static void old_film_counts(void) {
    struct coat_case in = plain();
    in.old_film_um = 120;
    CHECK(!made(in).too_thick); /* 150 um is still inside */
    in.old_film_um = 121;
    CHECK(made(in).too_thick);
}

static void a_sponge_has_no_strokes(void) {
    struct coat_case in = plain();
    in.by = BY_SPONGE;
    const struct coat_plan plan = made(in);
    CHECK(plan.strokes == 0 && isnan(plan.speed_m_s));
    CHECK(plan.count == 4); /* 30 um wet, 7.5 um dry */
    CHECK_NEAR(plan.film_um, 30, 1e-9);
}

static const double hostile[] = {(double)NAN, HUGE_VAL, -HUGE_VAL, -1, 0, 1e-308, 0.5, 1, 30, 1e5, 1e308};
enum { HOSTILE = sizeof hostile / sizeof hostile[0] };

static void hostile_numbers_are_refused_in_words(void) {
    unsigned long long seed = 8;
    int refused = 0;
    for (int i = 0; i < 200000; i++) {
        struct coat_case in = plain();
        double *const at[] = {&in.area_m2,         &in.wide_mm,     &in.high_mm,     &in.film_um,
                              &in.solids_volume,   &in.transfer,    &in.thinner,     &in.wet_um,
                              &in.gun.flow_ml_min, &in.gun.fan_mm,  &in.gun.overlap, &in.gun.speed_m_s,
                              &in.film_um_to_hide, &in.old_film_um, &in.flash_s,     &in.drying_index,
                              &in.pot_life_s,      &in.mixed_ago_s};
        for (int k = 0; k < 3; k++)
            *at[(size_t)(check_random(&seed) * 18)] = hostile[(size_t)(check_random(&seed) * HOSTILE)];
        in.by = (enum applied_by)(check_random(&seed) * BY_COUNT);
        struct coat_plan plan;
        struct fault fault = {0};
        if (coat_plan_make(&in, &plan, &fault) == STATUS_OK) {
            CHECK(plan.count >= 1 && plan.count <= AMOUNT_COATS_MOST);
            CHECK(isfinite(plan.coat_ml) && isfinite(plan.film_um) && isfinite(plan.total_s));
            CHECK(isfinite(plan.stroke_s) || !application_of(in.by)->sprays);
        } else {
            CHECK((fault.status == STATUS_INPUT || fault.status == STATUS_NO) && fault.text[0]);
            refused++;
        }
    }
    CHECK(refused > 50000 && refused < 200000);
}

int main(void) {
    RUN(the_gun_lays_the_worked_film);
    RUN(what_is_sprayed_is_what_is_laid);
    RUN(hiding_comes_with_the_coat_that_reaches_it);
    RUN(damp_air_stretches_the_wait);
    RUN(no_coat_is_laid_from_a_dead_pot);
    RUN(old_film_counts);
    RUN(a_sponge_has_no_strokes);
    RUN(hostile_numbers_are_refused_in_words);
    return check_done();
}
