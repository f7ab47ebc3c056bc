/* Sprague resampling: CIE 167:2005 against polynomials, against a slow twin, and at the edges of what is
 * accepted. */
#include "check.h"
#include "colour/spectrum.h"
#include "colour/sprague.h"

static double power_sum(const double *coefficient, int degree, double x) {
    double sum = 0;
    for (int i = degree; i >= 0; i--) sum = sum * x + coefficient[i];
    return sum;
}

/* The twin: the unique quintic through points 0 and 1 whose first and second derivatives there are the
 * four-point central ones (the definition of Sprague's osculatory interpolation, Sprague 1880), solved as
 * Hermite's problem. */
static double sprague_twin(const double p[6], double x) {
    const double d0 = (p[0] - 8 * p[1] + 8 * p[3] - p[4]) / 12, d1 = (p[1] - 8 * p[2] + 8 * p[4] - p[5]) / 12;
    const double s0 = (-p[0] + 16 * p[1] - 30 * p[2] + 16 * p[3] - p[4]) / 12;
    const double s1 = (-p[1] + 16 * p[2] - 30 * p[3] + 16 * p[4] - p[5]) / 12;
    const double x3 = x * x * x, x4 = x3 * x, x5 = x4 * x;
    return p[2] * (1 - 10 * x3 + 15 * x4 - 6 * x5) + p[3] * (10 * x3 - 15 * x4 + 6 * x5) +
           d0 * (x - 6 * x3 + 8 * x4 - 3 * x5) + d1 * (-4 * x3 + 7 * x4 - 3 * x5) +
           s0 * (x * x / 2 - 1.5 * x3 + 1.5 * x4 - x5 / 2) + s1 * (x3 / 2 - x4 + x5 / 2);
}

static void polynomials_up_to_degree_4_are_exact_inside(void) {
    unsigned long long seed = 4;
    double worst = 0;
    for (int degree = 0; degree <= 4; degree++)
        for (int trial = 0; trial < 50; trial++) {
            double coefficient[6] = {0}, value[20];
            for (int i = 0; i <= degree; i++) coefficient[i] = check_random(&seed) - .5;
            for (int i = 0; i < 20; i++) value[i] = power_sum(coefficient, degree, .1 * (i - 10));
            for (double at = 2; at <= 17; at += .0625)
                worst = fmax(
                    worst, fabs(sprague_at(value, 20, at) - power_sum(coefficient, degree, .1 * (at - 10))));
        }
    printf("  figure: Sprague against polynomials of degree 0..4, inside: worst %.2g\n", worst);
    CHECK_AT_MOST(worst, 1e-14);
}

/* Degree 5 is where a formula with fourth-degree derivatives must err, by exactly -4x + 40x^3 - 60x^4 + 24x^5
 * (worked by hand from the definition: on x^5 the slopes at 0 and 1 come out as -4 and 1, the curvatures as 0
 * and 20). */
static void degree_5_errs_by_the_known_polynomial(void) {
    double value[9];
    for (int i = 0; i < 9; i++) value[i] = pow(i - 4, 5);
    for (double x = 0; x <= 1; x += 1. / 64)
        CHECK_NEAR(sprague_at(value, 9, 4 + x) - pow(x, 5),
                   -4 * x + 40 * pow(x, 3) - 60 * pow(x, 4) + 24 * pow(x, 5), 1e-11);
}

/* The published end points keep straight lines straight. */
static void straight_lines_are_exact_to_the_ends(void) {
    double value[6];
    for (int i = 0; i < 6; i++) value[i] = .3 + .07 * i;
    for (double at = 0; at <= 5; at += .03125) CHECK_NEAR(sprague_at(value, 6, at), .3 + .07 * at, 1e-14);
}

/* End points as printed in CIE 167:2005: with them put by hand into the twin, the ends agree. */
static void the_ends_meet_the_published_points(void) {
    const double v[6] = {.31, .12, .55, .41, .77, .20};
    const double before2 =
        (884 * v[0] - 1960 * v[1] + 3033 * v[2] - 2648 * v[3] + 1080 * v[4] - 180 * v[5]) / 209;
    const double before1 = (508 * v[0] - 540 * v[1] + 488 * v[2] - 367 * v[3] + 144 * v[4] - 24 * v[5]) / 209;
    const double after1 = (-24 * v[0] + 144 * v[1] - 367 * v[2] + 488 * v[3] - 540 * v[4] + 508 * v[5]) / 209;
    const double after2 =
        (-180 * v[0] + 1080 * v[1] - 2648 * v[2] + 3033 * v[3] - 1960 * v[4] + 884 * v[5]) / 209;
    const double all[10] = {before2, before1, v[0], v[1], v[2], v[3], v[4], v[5], after1, after2};
    for (double at = 0; at <= 5; at += .03125) {
        const int low = at >= 5 ? 4 : (int)at;
        CHECK_NEAR(sprague_at(v, 6, at), sprague_twin(all + low, at - low), 1e-13);
    }
}

static void random_curves_meet_the_twin(void) {
    unsigned long long seed = 17;
    double worst = 0;
    for (int trial = 0; trial < 200; trial++) {
        double value[31];
        for (int i = 0; i < 31; i++) value[i] = check_random(&seed);
        for (double at = 2; at < 28; at += .1)
            worst = fmax(worst,
                         fabs(sprague_at(value, 31, at) - sprague_twin(value + (int)at - 2, at - floor(at))));
    }
    printf("  figure: Sprague against Hermite's problem, 200 random curves: worst %.2g\n", worst);
    CHECK_AT_MOST(worst, 1e-13);
}

static void curve_and_slope_go_on_across_the_points(void) {
    unsigned long long seed = 5;
    double value[31];
    for (int i = 0; i < 31; i++) value[i] = check_random(&seed);
    const double h = 1e-5;
    for (int i = 1; i < 30; i++) {
        CHECK_NEAR(sprague_at(value, 31, i), value[i], 1e-14);
        CHECK_NEAR(sprague_at(value, 31, i + 1e-9), value[i], 1e-8);
        const double left = (value[i] - sprague_at(value, 31, i - h)) / h;
        const double right = (sprague_at(value, 31, i + h) - value[i]) / h;
        CHECK_NEAR(left, right, 1e-3);
    }
}

static double smooth(double nm) {
    return .3 + .2 * sin(nm / 60) + .1 * cos(nm / 37);
}

static enum status resample(double first, double step, size_t count, struct spectrum *out,
                            struct fault *fault) {
    static double value[600];
    for (size_t i = 0; i < count; i++) value[i] = smooth(first + step * (double)i);
    return spectrum_resample(&(struct sampled){first, step, count, value}, out, fault);
}

static double worst_of(const struct spectrum *s) {
    double worst = 0;
    for (int i = 0; i < BANDS; i++) worst = fmax(worst, fabs(s->band[i] - smooth(400 + 10 * i)));
    return worst;
}

static void grids_that_hold_the_bands_are_copied_bit_for_bit(void) {
    struct spectrum s;
    struct fault fault;
    const struct {
        double first, step;
        size_t count;
    } grid[] = {{400, 10, 31}, {340, 10, 50}, {380, 5, 71},  {400, 5, 61},
                {380, 1, 401}, {360, 2, 191}, {340, 1, 491}, {380, 10. / 3, 106}};
    for (size_t g = 0; g < sizeof grid / sizeof grid[0]; g++) {
        CHECK(resample(grid[g].first, grid[g].step, grid[g].count, &s, &fault) == STATUS_OK);
        CHECK_AT_MOST(worst_of(&s), g == 7 ? 1e-13 : 0);
    }
}

static void other_grids_are_interpolated(void) {
    struct spectrum s;
    struct fault fault;
    CHECK(resample(400, 20, 16, &s, &fault) == STATUS_OK);
    printf("  figure: 20 nm grid of a smooth curve: worst %.2g\n", worst_of(&s));
    CHECK_AT_MOST(worst_of(&s), 3e-3); /* the ends are only linear-exact */
    CHECK(resample(360, 20, 20, &s, &fault) == STATUS_OK);
    CHECK_AT_MOST(worst_of(&s), 4e-5);
    CHECK(resample(395, 7, 45, &s, &fault) == STATUS_OK);
    CHECK_AT_MOST(worst_of(&s), 1e-4);
    CHECK(resample(383.5, 3.3333333, 100, &s, &fault) == STATUS_OK);
    CHECK_AT_MOST(worst_of(&s), 1e-6);
}

static void refuse(double first, double step, size_t count, enum word word) {
    struct spectrum s;
    struct fault fault = {0};
    s.band[0] = 7;
    CHECK(resample(first, step, count, &s, &fault) == STATUS_INPUT);
    CHECK(fault.word == word);
    CHECK(s.band[0] == 7);
}

static void what_is_no_spectrum_is_refused(void) {
    refuse(410, 10, 30, WORD_GRID_NARROW);
    refuse(400, 10, 30, WORD_GRID_NARROW);
    refuse(330, 10, 40, WORD_GRID_OUTSIDE);
    refuse(380, 10, 47, WORD_GRID_OUTSIDE);
    refuse(400, 25, 13, WORD_GRID_STEP);
    refuse(400, .5, 601 - 1, WORD_GRID_STEP);
    refuse(400, 0, 31, WORD_GRID_STEP);
    refuse(400, (double)NAN, 31, WORD_GRID_STEP);
    refuse((double)NAN, 10, 31, WORD_GRID_OUTSIDE);
    refuse(400, 10, 5, WORD_GRID_FEW);
    refuse(400, 10, 0, WORD_GRID_FEW);
    double bad[31] = {0};
    struct spectrum s;
    struct fault fault;
    const double values[] = {(double)NAN, (double)INFINITY, 1e308};
    for (int i = 0; i < 3; i++) {
        bad[30] = values[i];
        CHECK(spectrum_resample(&(struct sampled){400, 10, 31, bad}, &s, &fault) == STATUS_INPUT);
        CHECK(fault.word == WORD_GRID_NOT_NUMBER);
    }
}

int main(void) {
    RUN(polynomials_up_to_degree_4_are_exact_inside);
    RUN(degree_5_errs_by_the_known_polynomial);
    RUN(straight_lines_are_exact_to_the_ends);
    RUN(the_ends_meet_the_published_points);
    RUN(random_curves_meet_the_twin);
    RUN(curve_and_slope_go_on_across_the_points);
    RUN(grids_that_hold_the_bands_are_copied_bit_for_bit);
    RUN(other_grids_are_interpolated);
    RUN(what_is_no_spectrum_is_refused);
    return check_done();
}
