/* Air, VOC, units and grit against worked values.
 *
 * Sources. Dew points: computed from the Magnus form of Alduchov & Eskridge 1996 (J. Appl. Meteorol. 35:601).
 * Rule of 3 K: practice of ISO 8502-4. Drying index: our model. VOC: 40 CFR 59.104 with the numbers of the
 * worked example. Units: international yard and pound 1959, NIST Handbook 44 appendix C. Grit: ISO 6344-3
 * medians (decimals from memory); CAMI 400 about P800, 600 about P1200: published comparison charts. */
#include "check.h"
#include "trade/air.h"
#include "trade/grit.h"
#include "trade/units.h"
#include "trade/voc.h"

static struct air judged(double air_c, double humidity, double surface_c) {
    const struct air_case in = {air_c, humidity, surface_c, 3, (double)NAN, (double)NAN, (double)NAN};
    struct air air = {0};
    struct fault fault;
    CHECK(air_judge(&in, &air, &fault) == STATUS_OK);
    return air;
}

static void dew_points_are_those_of_the_magnus_form(void) {
    static const double known[][3] = {{20, 50, 9.261}, {25, 60, 16.698}, {30, 70, 23.930}, {15, 80, 11.577},
                                      {10, 90, 8.435}, {16, 71, 10.744}, {20, 100, 20.000}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        CHECK_NEAR(air_dew_point(known[i][0], known[i][1]), known[i][2], 5e-4);
}

/* The other way round, without the formula for the dew point: saturated air at the dew point holds the same
 * water. */
static void the_dew_point_holds_the_same_water(void) {
    for (double t = -20; t <= 60; t += 4)
        for (double rh = 1; rh <= 100; rh += 9)
            CHECK_NEAR(air_saturation_hpa(air_dew_point(t, rh)) / (rh / 100 * air_saturation_hpa(t)), 1,
                       1e-12);
}

static void three_kelvin_decide(void) {
    const struct air wait = judged(16, 71, 13); /* worked example: margin 2.26 K */
    CHECK_NEAR(wait.margin_k, 2.26, 0.005);
    CHECK(!wait.go && wait.reason == AIR_DEW);
    const double dew = air_dew_point(16, 71);
    CHECK(judged(16, 71, dew + 3.0001).go);
    CHECK(!judged(16, 71, dew + 2.9999).go);
    CHECK(!judged(20, 100, 30).go); /* warm enough, but nothing dries in it */
}

static void the_drying_index_meets_its_table(void) {
    static const double known[][3] = {
        {20, 30, 1.466}, {20, 65, 0.677}, {20, 80, 0.375}, {30, 50, 1.298}, {15, 80, 0.324}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        CHECK_NEAR(air_drying_index(known[i][0], known[i][1]) / known[i][2], 1, 0.02);
    CHECK_NEAR(air_drying_index(20, 50), 1, 1e-12);
    CHECK_NEAR(air_drying_index(20, 100), 0, 1e-9);
}

static void drying_falls_with_humidity_and_rises_with_warmth(void) {
    for (double t = -10; t <= 50; t += 5)
        for (double rh = 5; rh <= 95; rh += 5) {
            CHECK(air_drying_index(t, rh) > air_drying_index(t, rh + 5));
            CHECK(air_drying_index(t + 5, rh) > air_drying_index(t, rh));
            const double wet = air_wet_bulb(t, rh);
            CHECK(wet >= air_dew_point(t, rh) && wet <= t);
        }
}

static void limits_of_the_product_sheet_say_wait(void) {
    struct air_case in = {22, 60, 22, 3, 55, (double)NAN, (double)NAN};
    struct air air;
    struct fault fault;
    CHECK(air_judge(&in, &air, &fault) == STATUS_OK && air.reason == AIR_HUMID);
    in.humidity_most = 70, in.surface_least_c = 25;
    CHECK(air_judge(&in, &air, &fault) == STATUS_OK && air.reason == AIR_COLD);
    in.surface_least_c = 10, in.surface_most_c = 20;
    CHECK(air_judge(&in, &air, &fault) == STATUS_OK && air.reason == AIR_HOT);
    in.surface_most_c = 35;
    CHECK(air_judge(&in, &air, &fault) == STATUS_OK && air.go);
}

static const double hostile[] = {(double)NAN, HUGE_VAL, -HUGE_VAL, -1,  0,     1e-308, 0.5,
                                 1,           20,       100,       1e6, 1e308, -1e308};
enum { HOSTILE = sizeof hostile / sizeof hostile[0] };

/* Either a refusal with a sentence, or numbers. */
static void hostile_weather_is_refused_in_words(void) {
    for (int i = 0; i < HOSTILE * HOSTILE * HOSTILE * HOSTILE; i++) {
        const struct air_case in = {hostile[i % HOSTILE],
                                    hostile[i / HOSTILE % HOSTILE],
                                    hostile[i / HOSTILE / HOSTILE % HOSTILE],
                                    hostile[i / HOSTILE / HOSTILE / HOSTILE],
                                    (double)NAN,
                                    hostile[i % HOSTILE],
                                    (double)NAN};
        struct air air;
        struct fault fault = {0};
        if (air_judge(&in, &air, &fault) == STATUS_OK)
            CHECK(isfinite(air.dew_point_c) && isfinite(air.margin_k) && isfinite(air.drying_index));
        else
            CHECK(fault.status == STATUS_INPUT && fault.text[0]);
    }
}

static struct voc voc_known(struct voc_part part) {
    struct voc voc = {(double)NAN, (double)NAN};
    struct fault fault;
    CHECK(voc_of(&part, 1, &voc, &fault) == STATUS_OK);
    return voc;
}

static void voc_meets_the_worked_values(void) {
    const struct voc water = voc_known((struct voc_part){1000, 1.050, 0.60, 0.50, 0, 0});
    CHECK_NEAR(water.regulatory_g_l, 221.05, 0.005);
    CHECK_NEAR(water.actual_g_l, 105.0, 0.005);
    CHECK_NEAR(voc_known((struct voc_part){1, 1.050, 0.60, 0.45, 0.05, 0.791}).regulatory_g_l, 227.70, 0.005);
}

/* Two halves are the whole; water thins the actual figure and not the regulatory one; solvent raises both. */
static void voc_adds_by_parts(void) {
    const struct voc_part paint = {100, 1.05, 0.6, 0.5, 0, 0},
                          halves[] = {{40, 1.05, 0.6, 0.5, 0, 0}, {60, 1.05, 0.6, 0.5, 0, 0}};
    const struct voc_part with_water[] = {paint, {10, 1, 1, 1, 0, 0}},
                          with_solvent[] = {paint, {10, 0.88, 1, 0, 0, 0}};
    struct voc one, two, wet, strong;
    struct fault fault;
    CHECK(voc_of(&paint, 1, &one, &fault) == STATUS_OK && voc_of(halves, 2, &two, &fault) == STATUS_OK);
    CHECK(voc_of(with_water, 2, &wet, &fault) == STATUS_OK &&
          voc_of(with_solvent, 2, &strong, &fault) == STATUS_OK);
    CHECK_NEAR(two.regulatory_g_l, one.regulatory_g_l, 1e-9);
    CHECK_NEAR(wet.regulatory_g_l, one.regulatory_g_l, 1e-9);
    CHECK(wet.actual_g_l < one.actual_g_l);
    CHECK(strong.regulatory_g_l > one.regulatory_g_l && strong.actual_g_l > one.actual_g_l);
}

static void voc_of_nothing_but_water_is_refused(void) {
    const struct voc_part water = {10, 1, 1, 1, 0, 0};
    struct voc voc;
    struct fault fault = {0};
    CHECK(voc_of(&water, 1, &voc, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_VOC_NOTHING_LEFT);
    CHECK(voc_of(NULL, 0, &voc, &fault) == STATUS_INPUT);
    for (int i = 0; i < HOSTILE * HOSTILE * HOSTILE * HOSTILE; i++) {
        const struct voc_part part = {hostile[i % HOSTILE],
                                      hostile[i / HOSTILE % HOSTILE],
                                      hostile[i / HOSTILE / HOSTILE % HOSTILE],
                                      hostile[i / HOSTILE / HOSTILE / HOSTILE],
                                      hostile[(i + 3) % HOSTILE],
                                      hostile[(i + 7) % HOSTILE]};
        if (voc_of(&part, 1, &voc, &fault) == STATUS_OK)
            CHECK(isfinite(voc.regulatory_g_l) && voc.actual_g_l >= 0);
    }
}

static double reads(const char *text, enum unit want) {
    double value = (double)NAN;
    struct fault fault = {0};
    if (unit_read("--x", text, want, -1e9, 1e9, &value, &fault) != STATUS_OK) value = (double)NAN;
    return value;
}

static void units_are_the_published_ones(void) {
    CHECK_NEAR(reads("30psi", UNIT_KPA), 206.8427, 5e-5);
    CHECK_NEAR(reads("10 psig", UNIT_KPA), 68.94757, 5e-6);
    CHECK_NEAR(reads("1mil", UNIT_UM), 25.4, 1e-12);
    CHECK_NEAR(reads("1floz", UNIT_ML), 29.57353, 5e-6);
    CHECK_NEAR(reads("1gal", UNIT_L), 3.785411784, 1e-12);
    CHECK_NEAR(reads("2.5 bar", UNIT_PSI), 36.2594, 1e-4);
    CHECK_NEAR(reads("68F", UNIT_CELSIUS), 20, 1e-12);
    CHECK_NEAR(reads("-40F", UNIT_CELSIUS), -40, 1e-12);
    CHECK_NEAR(reads("1e3ml", UNIT_L), 1, 1e-12);
    CHECK_NEAR(reads("0.03mm", UNIT_UM), 30, 1e-12);
    CHECK_NEAR(reads("30\xC2\xB5m", UNIT_UM), 30, 1e-12);
    CHECK_NEAR(reads("12", UNIT_ML), 12, 0);
    CHECK_NEAR(reads("1 oz", UNIT_G), 28.349523125, 1e-12);
    CHECK_NEAR(reads("15 ft2", UNIT_M2), 1.3935456, 1e-12);
}

static void a_unit_of_another_quantity_is_refused(void) {
    static const char *const bad[] = {"1oz",   "psi", "",      "3 furlongs", "1e",
                                      "--3ml", "nan", "1,5ml", "5 ml ml"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) CHECK(isnan(reads(bad[i], UNIT_ML)));
    struct fault fault;
    double value = 7;
    CHECK(unit_read("--pressure", "900psi", UNIT_KPA, 0, 1000, &value, &fault) == STATUS_USAGE);
    CHECK(fault.word == WORD_ARGUMENT_OUT_OF_BOUNDS && value == 7);
}

static void every_unit_goes_there_and_back(void) {
    for (int a = 0; a < UNIT_COUNT; a++) {
        enum unit found;
        CHECK(unit_from_name(unit_name((enum unit)a), &found) && (int)found == a);
        for (int b = 0; b < UNIT_COUNT; b++) {
            if (unit_quantity((enum unit)a) != unit_quantity((enum unit)b)) continue;
            const double there = unit_convert(3.25, (enum unit)a, (enum unit)b);
            CHECK_NEAR(unit_convert(there, (enum unit)b, (enum unit)a), 3.25, 1e-9);
        }
    }
}

static void a_grit_needs_its_scale(void) {
    struct grit grit;
    struct fault fault;
    CHECK(grit_read("400", &grit, &fault) == STATUS_USAGE && fault.word == WORD_GRIT_NO_SCALE);
    CHECK(grit_read("P320", &grit, &fault) == STATUS_OK);
    CHECK_NEAR(grit.median_um, 46.2, 1e-12);
    CHECK(grit_read("CAMI 400", &grit, &fault) == STATUS_OK && grit.fepa_p == 800);
    CHECK_NEAR(grit.median_um, 21.8, 1e-12);
    CHECK(grit_read("cami600", &grit, &fault) == STATUS_OK && grit.fepa_p == 1200);
    CHECK(grit_read("FEPA P400", &grit, &fault) == STATUS_OK && grit.fepa_p == 400);
    static const char *const bad[] = {"",    "P", "P401", "CAMI", "CAMI 320", "P4e2", "P99999999999999999999",
                                      "400P"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        CHECK(grit_read(bad[i], &grit, &fault) == STATUS_USAGE);
}

int main(void) {
    RUN(dew_points_are_those_of_the_magnus_form);
    RUN(the_dew_point_holds_the_same_water);
    RUN(three_kelvin_decide);
    RUN(the_drying_index_meets_its_table);
    RUN(drying_falls_with_humidity_and_rises_with_warmth);
    RUN(limits_of_the_product_sheet_say_wait);
    RUN(hostile_weather_is_refused_in_words);
    RUN(voc_meets_the_worked_values);
    RUN(voc_adds_by_parts);
    RUN(voc_of_nothing_but_water_is_refused);
    RUN(units_are_the_published_ones);
    RUN(a_unit_of_another_quantity_is_refused);
    RUN(every_unit_goes_there_and_back);
    RUN(a_grit_needs_its_scale);
    return check_done();
}
