/* Weights, XYZ and CIELAB. Sources stand beside each check; tables in tests/data/checks (README of the data:
 * CIE 15:2018, ASTM E308). */
#include "check_table.h"
#include "colour/one_nm.h"
#include "colour/sprague.h"

static const struct view d65_10 = {LIGHT_D65, OBSERVER_10};

static void check_white(enum light light, enum observer observer, double x, double z) {
    const struct xyz white = weights_of((struct view){light, observer})->white;
    CHECK_NEAR(white.x, x, 5.1e-4);
    CHECK_NEAR(white.y, 100, 1e-10);
    CHECK_NEAR(white.z, z, 5.1e-4);
}

/* Sums at 1 nm of the CIE's tables, to the digits given; CIE 15:2018 table T.3 agrees to .01 (it prints
 * 107.32 for Z of D65/10). */
static void whites_are_those_of_the_1_nm_sum(void) {
    check_white(LIGHT_D65, OBSERVER_10, 94.811, 107.305);
    check_white(LIGHT_A, OBSERVER_10, 111.144, 35.200);
    check_white(LIGHT_FL2, OBSERVER_10, 103.244, 68.987);
    check_white(LIGHT_FL11, OBSERVER_10, 103.821, 65.558);
    check_white(LIGHT_LED_B3, OBSERVER_10, 103.310, 67.907);
    check_white(LIGHT_D65, OBSERVER_2, 95.047, 108.883);
    check_white(LIGHT_A, OBSERVER_2, 109.850, 35.585);
}

static const struct spectrum e308_sample = {{.0641, .0654, .0645, .0605, .0562, .0543, .0537, .0541,
                                             .0559, .0603, .0651, .0680, .0705, .0736, .0772, .0809,
                                             .0870, .0990, .1128, .1251, .1360, .1439, .1511, .1590,
                                             .1688, .1828, .1996, .2187, .2397, .2618, .2852}};

/* ASTM E308's worked sample under A and the 1931 observer, as held by a general colour library's tests. */
static void the_e308_sample_is_met(void) {
    const struct xyz got = xyz_of(&e308_sample, weights_of((struct view){LIGHT_A, OBSERVER_2}));
    printf("  figure: E308 sample A/2: off by %.1e %.1e %.1e\n", got.x - 14.54137532, got.y - 10.88641727,
           got.z - 2.04931318);
    CHECK_NEAR(got.x, 14.54137532, 2e-4);
    CHECK_NEAR(got.y, 10.88641727, 2e-4);
    CHECK_NEAR(got.z, 2.04931318, 2e-4);
}

/* XYZ -> Lab under D65/2 with the white 95.047 100 108.883: a general colour library's test values. */
static void lab_meets_published_values(void) {
    static const double check[3][6] = {{10, 20, 30, 51.8372, -56.3591, -13.1812},
                                       {80, 90, 10, 95.9968, -10.6593, 102.8625},
                                       {.5, .6, .4, 5.4198, -2.8790, 3.6230}};
    struct weights w = *weights_of((struct view){LIGHT_D65, OBSERVER_2});
    w.white = (struct xyz){95.047, 100, 108.883};
    for (int i = 0; i < 3; i++) {
        const struct lab lab = lab_of((struct xyz){check[i][0], check[i][1], check[i][2]}, &w);
        CHECK_NEAR(lab.l, check[i][3], 5.1e-5);
        CHECK_NEAR(lab.a, check[i][4], 5.1e-5);
        CHECK_NEAR(lab.b, check[i][5], 5.1e-5);
    }
}

static void white_is_100_0_0_in_every_view(void) {
    struct spectrum diffuser;
    for (int i = 0; i < BANDS; i++) diffuser.band[i] = 1;
    for (int light = 0; light < LIGHT_MEASURED; light++)
        for (int observer = 0; observer < 2; observer++) {
            const struct view view = {(enum light)light, (enum observer)observer};
            const struct lab lab = lab_of_spectrum(&diffuser, weights_of(view));
            CHECK_NEAR(lab.l, 100, 1e-12);
            CHECK_NEAR(lab.a, 0, 1e-12);
            CHECK_NEAR(lab.b, 0, 1e-12);
            CHECK(lab.view.light == view.light && lab.view.observer == view.observer);
        }
}

static void xyz_comes_back_from_lab_across_the_knee(void) {
    const struct weights *w = weights_of(d65_10);
    for (double y = -1; y <= 110; y += .173) {
        const struct xyz in = {y * .7 + .1, y, 1.1 * y - .3}, out = xyz_of_lab(lab_of(in, w), w);
        CHECK_NEAR(out.x, in.x, 1e-11);
        CHECK_NEAR(out.y, in.y, 1e-11);
        CHECK_NEAR(out.z, in.z, 1e-11);
    }
    const double knee = 100 * pow(24. / 116, 3);
    const double below = lab_of((struct xyz){0, knee - 1e-9, 0}, w).l,
                 above = lab_of((struct xyz){0, knee + 1e-9, 0}, w).l;
    CHECK_NEAR(below, 8, 1e-7);
    CHECK_NEAR(above - below, 2e-9 * 116 * 841. / 108 / 100, 1e-12);
}

static void hue_and_chroma(void) {
    const double check[][4] = {
        {1, 0, 1, 0}, {0, 2, 2, 90},    {-3, 0, 3, 180},  {0, -4, 4, 270}, {3, 4, 5, 53.13010235415598},
        {0, 0, 0, 0}, {-0., -0., 0, 0}, {1, -1e-20, 1, 0}};
    for (size_t i = 0; i < sizeof check / sizeof check[0]; i++) {
        const struct lch lch = lch_of((struct lab){50, check[i][0], check[i][1], d65_10});
        CHECK_NEAR(lch.c, check[i][2], 1e-14);
        CHECK_NEAR(lch.h_deg, check[i][3], 1e-12);
        CHECK(lch.h_deg >= 0 && lch.h_deg < 360);
    }
}

/* ASTM E2022's own way from the same 1 nm tables: Lagrange's cubic between bands of 360..830 (its quadratic
 * in the outer intervals), then what lies beyond 400..700 to the end bands. The supplied tables come out to
 * their digits, which proves lights, observers and the normalisation apart from the interpolation. */
enum { WIDE_BANDS = 48 }; /* 360..830 by 10 */

static double lagrange_at(int b, double at) {
    const int low = at >= WIDE_BANDS - 1 ? WIDE_BANDS - 2 : (int)at;
    int first = low - 1, count = 4;
    if (low == 0) first = 0, count = 3;
    if (low == WIDE_BANDS - 2) first = WIDE_BANDS - 3, count = 3;
    if (b < first || b >= first + count) return 0;
    double product = 1;
    for (int j = first; j < first + count; j++)
        if (j != b) product *= (at - j) / (b - j);
    return product;
}

static double wide_weight(const struct one_nm *light, const struct one_nm *f, const struct one_nm *y,
                          int wide) {
    double sum = 0, white = 0;
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        sum += light->value[i] * f->value[i] * lagrange_at(wide, i / 10.);
        white += light->value[i] * y->value[i];
    }
    return 100 * sum / white;
}

static double e2022_weight(const struct one_nm *light, const struct one_nm *f, const struct one_nm *y,
                           int b) {
    const int first = b == 0 ? 0 : b + 4, last = b == BANDS - 1 ? WIDE_BANDS - 1 : b + 4;
    double sum = 0;
    for (int wide = first; wide <= last; wide++) sum += wide_weight(light, f, y, wide);
    return sum;
}

static double worst_against(const char *light_text, enum light light, enum observer observer) {
    char name[200];
    snprintf(name, sizeof name, "checks/own_E2022_10nm_%s_%s_400-700.csv", light_text,
             observer == OBSERVER_10 ? "10deg" : "2deg");
    const struct check_table *table = check_table_read(name);
    CHECK(table->rows == BANDS);
    struct one_nm power;
    struct one_nm_observer cmf;
    one_nm_light(light, &power);
    one_nm_observer(observer, &cmf);
    double worst = 0;
    for (int b = 0; b < BANDS; b++) {
        worst = fmax(worst, fabs(e2022_weight(&power, &cmf.x, &cmf.y, b) - table->value[b][1]));
        worst = fmax(worst, fabs(e2022_weight(&power, &cmf.y, &cmf.y, b) - table->value[b][2]));
        worst = fmax(worst, fabs(e2022_weight(&power, &cmf.z, &cmf.y, b) - table->value[b][3]));
    }
    return worst;
}

static void the_supplied_e2022_tables_are_met_to_their_digits(void) {
    static const struct {
        const char *text;
        enum light light;
    } list[] = {{"D65", LIGHT_D65}, {"A", LIGHT_A},     {"FL11", LIGHT_FL11},
                {"D50", LIGHT_D50}, {"FL2", LIGHT_FL2}, {"LED-B3", LIGHT_LED_B3}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++)
        for (int observer = 0; observer < 2; observer++) {
            const double worst = worst_against(list[i].text, list[i].light, (enum observer)observer);
            printf("  figure: E2022 weights %s/%s: worst %.1e\n", list[i].text,
                   observer == OBSERVER_10 ? "10" : "2", worst);
            CHECK_AT_MOST(worst, 5.1e-7);
        }
}

/* The slow way: interpolate the sample itself to 1 nm, then add up. */
static struct xyz slow_xyz(const struct spectrum *r, struct view view) {
    struct one_nm light;
    struct one_nm_observer cmf;
    one_nm_light(view.light, &light);
    one_nm_observer(view.observer, &cmf);
    struct xyz sum = {0};
    double white = 0;
    for (int i = 0; i < ONE_NM_COUNT; i++) {
        const double at = fmin(fmax((ONE_NM_FIRST + i - 400) / 10., 0), BANDS - 1);
        const double seen = light.value[i] * sprague_at(r->band, BANDS, at);
        sum.x += seen * cmf.x.value[i], sum.y += seen * cmf.y.value[i], sum.z += seen * cmf.z.value[i];
        white += light.value[i] * cmf.y.value[i];
    }
    return (struct xyz){100 * sum.x / white, 100 * sum.y / white, 100 * sum.z / white};
}

static void folded_weights_meet_the_slow_sum(void) {
    unsigned long long seed = 9;
    double worst = 0;
    for (int trial = 0; trial < 24; trial++) {
        struct spectrum r;
        for (int i = 0; i < BANDS; i++) r.band[i] = check_random(&seed);
        const struct view view = {(enum light)(trial % LIGHT_MEASURED), trial % 2 ? OBSERVER_2 : OBSERVER_10};
        const struct xyz a = xyz_of(&r, weights_of(view)), b = slow_xyz(&r, view);
        worst = fmax(worst, fmax(fabs(a.x - b.x), fmax(fabs(a.y - b.y), fabs(a.z - b.z))));
    }
    printf("  figure: folded weights against the 1 nm sum, 24 random spectra: worst %.1e\n", worst);
    CHECK_AT_MOST(worst, 1e-11);
}

static void light_names(void) {
    enum light light;
    for (int i = 0; i < LIGHT_MEASURED; i++) {
        CHECK(light_from_name(light_name((enum light)i), &light));
        CHECK(light == (enum light)i);
    }
    CHECK(light_from_name("f11", &light) && light == LIGHT_FL11);
    CHECK(light_from_name("F2", &light) && light == LIGHT_FL2);
    CHECK(light_from_name("led-b3", &light) && light == LIGHT_LED_B3);
    CHECK(!light_from_name("", &light));
    CHECK(!light_from_name("lamp", &light)); /* that one has no table */
    CHECK(!light_from_name("D55", &light));
}

/* A lamp measured exactly as the CIE prints D65 is D65. */
static void a_lamp_that_is_d65_is_d65(void) {
    struct one_nm d65;
    one_nm_light(LIGHT_D65, &d65);
    double five[96];
    for (int i = 0; i < 95; i++) five[i] = 1e-9 * d65.value[5 * i];
    struct weights w;
    struct fault fault;
    CHECK(weights_of_lamp(&(struct sampled){360, 5, 95, five}, OBSERVER_10, &w, &fault) == STATUS_OK);
    const struct weights *want = weights_of(d65_10);
    CHECK(w.view.light == LIGHT_MEASURED && w.view.observer == OBSERVER_10);
    for (int b = 0; b < BANDS; b++) {
        CHECK_NEAR(w.x[b], want->x[b], 1e-12);
        CHECK_NEAR(w.y[b], want->y[b], 1e-12);
        CHECK_NEAR(w.z[b], want->z[b], 1e-12);
    }
    /* Measured only from 400 to 700, with the ends held, it is D65 to what the ends weigh. */
    CHECK(weights_of_lamp(&(struct sampled){400, 5, 61, five + 8}, OBSERVER_10, &w, &fault) == STATUS_OK);
    const struct lab a = lab_of_spectrum(&e308_sample, &w), b = lab_of_spectrum(&e308_sample, want);
    printf("  figure: D65 cut to 400..700 moves the E308 sample by %.4f %.4f %.4f Lab\n", a.l - b.l,
           a.a - b.a, a.b - b.b);
    CHECK_NEAR(a.l, b.l, .02);
    CHECK_NEAR(a.a, b.a, .02);
    CHECK_NEAR(a.b, b.b, .02);
}

static void refuse_lamp(double first, double step, size_t count, const double *value, enum word word) {
    struct weights w;
    struct fault fault = {0};
    w.x[0] = 7;
    CHECK(weights_of_lamp(&(struct sampled){first, step, count, value}, OBSERVER_10, &w, &fault) ==
          STATUS_INPUT);
    CHECK(fault.word == word);
    CHECK(w.x[0] == 7);
}

static void what_is_no_lamp_is_refused(void) {
    double value[70];
    for (int i = 0; i < 70; i++) value[i] = 1;
    refuse_lamp(410, 5, 70, value, WORD_LAMP_NARROW);
    refuse_lamp(400, 5, 60, value, WORD_LAMP_NARROW);
    refuse_lamp((double)NAN, 5, 61, value, WORD_LAMP_NARROW);
    refuse_lamp(400, 0, 61, value, WORD_LAMP_STEP);
    refuse_lamp(400, 25, 20, value, WORD_LAMP_STEP);
    refuse_lamp(400, 5, 1, value, WORD_LAMP_STEP);
    value[3] = -.5;
    refuse_lamp(400, 5, 61, value, WORD_LAMP_NEGATIVE);
    value[3] = (double)NAN;
    refuse_lamp(400, 5, 61, value, WORD_LAMP_NOT_NUMBER);
    for (int i = 0; i < 70; i++) value[i] = 0;
    refuse_lamp(400, 5, 61, value, WORD_LAMP_DARK);
}

int main(void) {
    RUN(whites_are_those_of_the_1_nm_sum);
    RUN(the_e308_sample_is_met);
    RUN(lab_meets_published_values);
    RUN(white_is_100_0_0_in_every_view);
    RUN(xyz_comes_back_from_lab_across_the_knee);
    RUN(hue_and_chroma);
    RUN(the_supplied_e2022_tables_are_met_to_their_digits);
    RUN(folded_weights_meet_the_slow_sum);
    RUN(light_names);
    RUN(a_lamp_that_is_d65_is_d65);
    RUN(what_is_no_lamp_is_refused);
    return check_done();
}
