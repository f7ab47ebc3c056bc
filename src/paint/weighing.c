/* Weighing.
 *
 *   rounding of one reading   u = d / sqrt 12                                   (rectangular distribution,
 * GUM 4.3.7) an addition               u_add = sqrt 2 * sqrt(d^2 / 12 + r^2)              difference of two
 * readings; .41 d when r = 0 smallest net weight       2 u_add / p                                       USP
 * <41>: 820 d for p = .10 % a drop                    .05 g                                             USP
 * <1101>: 45 to 55 mg a slip of the hand        .05 g + .5 % of the pour                          the half
 * per cent is ours, an editable habit
 *
 * Buoyancy is common to all toners and cancels. Rounding to the grid is to the nearest, halves away from
 * zero; a value that is a multiple but for 1e-6 of a step counts as one, so that 0.42 / 0.01 does not fall
 * to 41. */
#include "paint/weighing.h"
#include <assert.h>
#include <math.h>

static const double DROP_G = .05, SLIP_PART = .005, GRID_SLACK = 1e-6;

double weighing_addition_sd(const struct scale *scale) {
    assert(scale->step_g > 0 && scale->repeat_g >= 0);
    return sqrt(2 * (scale->step_g * scale->step_g / 12 + scale->repeat_g * scale->repeat_g));
}

double weighing_smallest_window(const struct scale *scale) {
    return fmax(scale->step_g, weighing_round_up(scale, 2 * weighing_addition_sd(scale)));
}

double weighing_least_net_g(const struct scale *scale, double relative) {
    assert(relative > 0);
    return 2 * weighing_addition_sd(scale) / relative;
}

/* n steps in grams, as the decimal text says it: steps are decimal numbers, 1 / step is exact where step is
 * not. */
static double steps_g(const struct scale *scale, double n) {
    const double per_gram = 1 / scale->step_g, whole = round(per_gram);
    return whole > 0 && fabs(per_gram - whole) < 1e-9 * per_gram ? n / whole : n * scale->step_g;
}

double weighing_round(const struct scale *scale, double g) {
    return steps_g(scale, round(g / scale->step_g));
}

double weighing_round_down(const struct scale *scale, double g) {
    return steps_g(scale, floor(g / scale->step_g + GRID_SLACK));
}

double weighing_round_up(const struct scale *scale, double g) {
    return steps_g(scale, ceil(g / scale->step_g - GRID_SLACK));
}

int weighing_decimals(const struct scale *scale) {
    int digits = 0;
    double step = scale->step_g;
    while (digits < 6 && fabs(step - round(step)) > 1e-6 * step) {
        step *= 10;
        digits++;
    }
    return digits;
}

double weighing_slip_g(double g) {
    return DROP_G + SLIP_PART * fabs(g);
}
