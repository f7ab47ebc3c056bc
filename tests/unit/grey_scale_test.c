/* ISO 105-A05 and A04: vectors worked from the formulas in public code (tests/data/checks), the steps of ISO
 * 105-A02, and the seams. */
#include "check_table.h"
#include "colour/grey_scale.h"

static struct lab lab(double l, double a, double b) {
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

static void the_vectors_are_met(void) {
    const struct check_table *t = check_table_read("checks/iso105_a05_a04_own_vectors.csv");
    CHECK(t->rows == 13);
    double worst = 0;
    for (int i = 0; i < t->rows; i++) {
        const double *v = t->value[i];
        const struct lab a = lab(v[0], v[1], v[2]), b = lab(v[3], v[4], v[5]);
        const struct grey_rating change = grey_scale_change(a, b), stain = grey_scale_staining(a, b);
        CHECK_NEAR(change.difference, v[6], 1e-6);
        CHECK_NEAR(change.grade, v[7], 1e-6);
        CHECK_TEXT(change.class_name, t->text[i][8]);
        CHECK_NEAR(stain.difference, v[9], 1e-6);
        CHECK_NEAR(stain.grade, v[10], 1e-6);
        worst = fmax(worst, fmax(fabs(change.grade - v[7]), fabs(stain.grade - v[10])));
    }
    printf("  figure: ISO 105-A05 and A04, 13 vectors: worst grade %.2g\n", worst);
}

/* The grey steps of ISO 105-A02 (dE*ab 0 .8 1.7 2.5 3.4 4.8 6.8 9.6 13.6) are the classes they are printed
 * for. */
static void the_scale_rates_its_own_steps(void) {
    static const double step[] = {0, .8, 1.7, 2.5, 3.4, 4.8, 6.8, 9.6, 13.6};
    static const char *const want[] = {"5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1"};
    for (int i = 0; i < 9; i++) {
        const struct grey_rating r = grey_scale_change(lab(80, 0, 0), lab(80 - step[i], 0, 0));
        CHECK_TEXT(r.class_name, want[i]);
        CHECK_NEAR(r.grade, 5 - .5 * i, .06);
    }
}

static void class_limits_belong_to_the_worse_class(void) {
    static const double limit[] = {.40, 1.25, 2.10, 2.95, 4.10, 5.80, 8.20, 11.60};
    static const char *const worse[] = {"4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1"};
    for (int i = 0; i < 8; i++) {
        CHECK_TEXT(grey_scale_change(lab(limit[i], 0, 0), lab(0, 0, 0)).class_name, worse[i]);
        CHECK(strcmp(grey_scale_change(lab(limit[i] - 1e-9, 0, 0), lab(0, 0, 0)).class_name, worse[i]) != 0);
    }
}

static void grades_stay_in_1_to_5_and_fall(void) {
    double last_change = 5, last_stain = 5;
    for (double d = 0; d < 90; d += .05) {
        const double change = grey_scale_change(lab(90, 0, 0), lab(90 - d, 0, 0)).grade;
        const double stain = grey_scale_staining(lab(90, 0, 0), lab(90 - d, 0, 0)).grade;
        CHECK(change >= 1 && change <= last_change + 1e-12);
        CHECK(stain >= 1 && stain <= last_stain + .015); /* the standard's own step at grade 4 */
        last_change = change, last_stain = stain;
    }
    CHECK(last_change == 1 && last_stain == 1);
    CHECK_TEXT(grey_scale_staining(lab(90, 0, 0), lab(0, 0, 0)).class_name, "1");
    CHECK_TEXT(grey_scale_staining(lab(90, 0, 0), lab(90, 0, 0)).class_name, "5");
}

static void no_jump_where_hues_meet_across_0(void) {
    for (double c = 1; c < 60; c += 7) {
        const struct grey_rating a = grey_scale_change(lab(50, c, .5), lab(50, c, 1e-9));
        const struct grey_rating b = grey_scale_change(lab(50, c, .5), lab(50, c, -1e-9));
        CHECK_NEAR(a.grade, b.grade, 1e-6);
    }
}

int main(void) {
    RUN(the_vectors_are_met);
    RUN(the_scale_rates_its_own_steps);
    RUN(class_limits_belong_to_the_worse_class);
    RUN(grades_stay_in_1_to_5_and_fall);
    RUN(no_jump_where_hues_meet_across_0);
    return check_done();
}
