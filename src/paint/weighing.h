/* What a scale can tell, and what a hand can pour. */
#ifndef RUSSET_PAINT_WEIGHING_H
#define RUSSET_PAINT_WEIGHING_H

#define WEIGHING_HALF_DROP_G 0.025 /* what drops can still hit: half of 45 to 55 mg, USP <1101> */

struct scale {
    double step_g;   /* d, the last digit; > 0 */
    double repeat_g; /* sd of repeated readings beyond the rounding; 0: only the rounding counts */
};

/* Standard uncertainty of what was added between two readings. */
double weighing_addition_sd(const struct scale *scale);
/* The smallest miss that the scale can tell from none (two standard uncertainties), a multiple of its step.
 */
double weighing_smallest_window(const struct scale *scale);
/* The smallest net weight that is known to a relative accuracy (.001 = .10 %), two standard uncertainties. */
double weighing_least_net_g(const struct scale *scale, double relative);
/* To the scale's grid. */
double weighing_round(const struct scale *scale, double g);
double weighing_round_down(const struct scale *scale, double g);
double weighing_round_up(const struct scale *scale, double g);
/* Digits behind the decimal point that the step needs: 2 for .01 or .05. */
int weighing_decimals(const struct scale *scale);

/* By how much a careful hand usually misses a pour of g grams: a drop, and half a per cent for the stream. */
double weighing_slip_g(double g);

#endif
