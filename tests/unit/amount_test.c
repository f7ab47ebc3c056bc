/* Film, coverage and amounts against worked values.
 *
 * Sources. Coverage 65 % at 125 um = 5.200 m2/l: published handbook value of coatings. Wet = dry/VS and the
 * litres: computed from the formulas on top of amount.h. Transfer by weight of solids: SCAQMD. .15 mm: EN
 * 15987. */
#include "check.h"
#include "paint/amount.h"

static struct amount_case plain(double area_m2, double film_um, double solids_volume, double transfer,
                                double spare) {
    return (struct amount_case){.area_m2 = area_m2,
                                .film_um = film_um,
                                .solids_volume = solids_volume,
                                .transfer = transfer,
                                .spare = spare,
                                .wet_um = (double)NAN,
                                .coat_um = 6,
                                .density_g_ml = 1.05,
                                .thinner_density_g_ml = 1};
}

static struct amount reckoned(struct amount_case in) {
    struct amount amount = {.total_ml = (double)NAN};
    struct fault fault = {0};
    CHECK(amount_reckon(&in, &amount, &fault) == STATUS_OK);
    return amount;
}

static void litres_meet_the_worked_values(void) {
    CHECK_NEAR(reckoned(plain(1.4, 30, 0.25, 0.65, 0.05)).total_ml, 271.38, 0.005);
    CHECK_NEAR(reckoned(plain(0.6, 30, 0.25, 0.65, 0)).total_ml, 110.8, 0.05);
    CHECK_NEAR(reckoned(plain(1, 125, 0.65, 1, 0)).coverage_m2_l, 5.2, 1e-12);
}

static void wet_film_is_dry_film_over_solids(void) {
    struct amount_case in = plain(1, 30, 0.25, 1, 0);
    in.coats = 1;
    CHECK_NEAR(reckoned(in).wet_um, 120, 1e-9);
    in.coats = 3;
    CHECK_NEAR(reckoned(in).wet_um, 40, 1e-9);
}

static void coats_follow_from_the_wet_film(void) {
    struct amount_case in = plain(1, 30, 0.25, 1, 0);
    CHECK(reckoned(in).coats == 5); /* 6 um dry each */
    in.wet_um = 23.695;             /* the worked gun: 5.924 um dry, 6 coats for 30 um */
    CHECK(reckoned(in).coats == 6);
    in.wet_um = 120;
    CHECK(reckoned(in).coats == 1);
    in.wet_um = 119.99;
    CHECK(reckoned(in).coats == 2);
    in.coats = 4, in.wet_um = 40; /* says 40 um of film where 30 were asked for */
    const struct amount both = reckoned(in);
    CHECK(both.film_differs);
    CHECK_NEAR(both.film_um, 40, 1e-9);
    CHECK_NEAR(both.total_ml, 160, 1e-9);
}

static void thinner_lowers_the_solids_and_not_the_paint(void) {
    struct amount_case in = plain(1.4, 30, 0.25, 0.65, 0.05);
    in.thinner = 0.2;
    const struct amount thin = reckoned(in);
    CHECK_NEAR(thin.paint_ml, 271.38, 0.005);
    CHECK_NEAR(thin.thinner_ml, 0.2 * 271.38, 0.005);
    CHECK_NEAR(thin.solids_volume, 0.25 / 1.2, 1e-12);
    CHECK_NEAR(thin.paint_g, thin.paint_ml * 1.05, 1e-9);
}

/* A fade of 1 m x 100 mm takes half the film on .1 m2, by adding up strips of a millimetre as an independent
 * sum. */
static void a_fade_takes_half_its_film(void) {
    struct amount_case in = plain(0.5, 30, 0.25, 0.5, 0);
    in.fade = (struct fade){1000, 100, 0, 0, 0};
    const struct amount amount = reckoned(in);
    double strips_ml = 0;
    for (int mm = 0; mm < 100; mm++) strips_ml += 0.001 * 1.0 * 30 * (1 - (mm + 0.5) / 100) / 0.25 / 0.5;
    CHECK_NEAR(amount.fade_ml, strips_ml, 1e-9);
    CHECK_NEAR(amount.fade_area_m2, 0.1, 1e-12);
    in.fade.blend_coats = 2, in.fade.blend_thinner = 1, in.fade.blend_wet_um = 20;
    const struct amount blended = reckoned(in);
    CHECK_NEAR(blended.blend_ml, 0.1 * 2 * 20 / 0.5, 1e-9);
    CHECK_NEAR(blended.paint_ml, amount.paint_ml + blended.blend_ml / 2, 1e-9);
    CHECK_NEAR(blended.thinner_ml, blended.blend_ml / 2, 1e-9);
}

static void what_the_tools_keep_is_added_once(void) {
    struct amount_case in = plain(0.1, 30, 0.25, 0.65, 0.1);
    const double bare = reckoned(in).total_ml;
    in.loss_ml = 30;
    CHECK_NEAR(reckoned(in).total_ml, bare + 30, 1e-9);
}

static void parts_add_up_whatever_is_asked(void) {
    unsigned long long seed = 11;
    for (int i = 0; i < 20000; i++) {
        struct amount_case in =
            plain(0.01 + 3 * check_random(&seed), 2 + 60 * check_random(&seed),
                  0.1 + 0.5 * check_random(&seed), 0.3 + 0.7 * check_random(&seed), check_random(&seed));
        in.thinner = check_random(&seed);
        in.loss_ml = 40 * check_random(&seed);
        in.fade = (struct fade){2000 * check_random(&seed), 200 * check_random(&seed), 2,
                                2 * check_random(&seed), 20};
        const struct amount a = reckoned(in);
        CHECK_NEAR(a.paint_ml + a.thinner_ml, a.total_ml, 1e-9 * a.total_ml);
        CHECK_NEAR(a.wet_um * a.solids_volume * a.coats, a.film_um, 1e-9 * a.film_um);
        CHECK_NEAR(a.film_ml * in.transfer * a.solids_volume, in.area_m2 * a.film_um,
                   1e-9 * in.area_m2 * a.film_um); /* solids balance */
    }
}

static void a_ring_is_seen_coming(void) {
    const struct fade fade = {1000, 80, 2, 1, 15};
    CHECK_NEAR(fade_hidden_mm(&fade, 30, 15), 40, 1e-12);
    CHECK_NEAR(fade_hidden_mm(&fade, 30, 30), 0, 0);
    CHECK_NEAR(fade_hidden_mm(&fade, 30, HUGE_VAL), 0, 0);
    CHECK(isnan(fade_hidden_mm(&fade, 30, (double)NAN)));
}

static const double hostile[] = {(double)NAN, HUGE_VAL, -HUGE_VAL, -1, 0, 1e-308, 0.25, 1, 30, 1e5, 1e308};
enum { HOSTILE = sizeof hostile / sizeof hostile[0] };

static void hostile_numbers_are_refused_in_words(void) {
    unsigned long long seed = 5;
    int refused = 0;
    for (int i = 0; i < 300000; i++) {
        struct amount_case in = plain(1, 30, 0.25, 0.65, 0);
        double *const at[] = {&in.area_m2,
                              &in.film_um,
                              &in.solids_volume,
                              &in.transfer,
                              &in.spare,
                              &in.thinner,
                              &in.wet_um,
                              &in.coat_um,
                              &in.loss_ml,
                              &in.density_g_ml,
                              &in.fade.length_mm,
                              &in.fade.width_mm,
                              &in.fade.blend_thinner,
                              &in.fade.blend_wet_um};
        for (int k = 0; k < 3; k++)
            *at[(size_t)(check_random(&seed) * 14)] = hostile[(size_t)(check_random(&seed) * HOSTILE)];
        struct amount out;
        struct fault fault = {0};
        if (amount_reckon(&in, &out, &fault) == STATUS_OK) {
            CHECK(isfinite(out.total_ml) && isfinite(out.paint_g) && isfinite(out.wet_um) && out.coats >= 1 &&
                  out.coats <= 60);
        } else {
            CHECK((fault.status == STATUS_INPUT || fault.status == STATUS_NO) && fault.text[0]);
            refused++;
        }
    }
    CHECK(refused > 100000 && refused < 300000);
}

int main(void) {
    RUN(litres_meet_the_worked_values);
    RUN(wet_film_is_dry_film_over_solids);
    RUN(coats_follow_from_the_wet_film);
    RUN(thinner_lowers_the_solids_and_not_the_paint);
    RUN(a_fade_takes_half_its_film);
    RUN(what_the_tools_keep_is_added_once);
    RUN(parts_add_up_whatever_is_asked);
    RUN(a_ring_is_seen_coming);
    RUN(hostile_numbers_are_refused_in_words);
    return check_done();
}
