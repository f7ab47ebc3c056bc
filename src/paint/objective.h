/* What a match minimises, from the scalar double path (predict.c's own calls, with what does not change taken
 * out of the loop):
 *
 *     F = sum(w dE00) / sum(w) + .1 RMS % + cost_weight cost                 (docs/decisions.md; match.h says
 * what each is) */
#ifndef RUSSET_PAINT_OBJECTIVE_H
#define RUSSET_PAINT_OBJECTIVE_H

#include "base/fault.h"
#include "paint/predict.h"

enum {
    OBJECTIVE_LIGHTS_MOST = 6,
    OBJECTIVE_POINTS = 7,
    OBJECTIVE_TERMS_MOST = OBJECTIVE_LIGHTS_MOST * OBJECTIVE_POINTS
};

/* One colour that is asked for under light `light`; the weights of all terms sum to 1. */
struct objective_term {
    size_t light;
    struct lab lab;
    double weight;
};

struct objective {
    const struct shelf *shelf;
    struct film_case film;
    struct surface surface;
    double backing[BANDS]; /* inner reflectance; 0 when opaque */
    size_t lights;
    const struct weights *light[OBJECTIVE_LIGHTS_MOST];
    size_t light_given[OBJECTIVE_LIGHTS_MOST]; /* its place among the lights that were given */
    size_t terms;
    struct objective_term term[OBJECTIVE_TERMS_MOST];
    bool spectral;
    double target[BANDS];
    double
        price[SHELF_MOST]; /* over the mean of the priced toners; 1 where not known, 0 for all when none is */
    double cost_weight;
};

struct objective_value {
    double f, rms_percent, cost;        /* rms_percent NAN for a Lab-only target */
    double de00[OBJECTIVE_LIGHTS_MOST]; /* by the lights given; expected dE00 for an uncertain target; NAN
                                           where the target does not say */
    struct spectrum reflectance;
};

/* light[count], weight[count]: >= 0, not all 0. A target without a spectrum counts under D65/10 alone,
 * whatever the lights are. An uncertain target stands for seven points under each light: itself (1/4) and two
 * standard deviations up and down each axis of its covariance there (1/8 each; target_doubt.h). RMS is to the
 * estimate itself. */
void objective_make(struct objective *out, const struct shelf *shelf, const struct reading *target,
                    const struct film_case *film, const struct weights *const light[], const double weight[],
                    size_t count, double cost_weight);

/* part[shelf->count], sum 1. */
void objective_of(const struct objective *objective, const double part[], struct objective_value *out);
/* F alone, with its derivative by every part taken as independent (gradient[shelf->count]; NULL: not wanted).
 * F has a kink where a dE00 is 0; with smooth > 0 every dE00 x counts as sqrt(x^2 + smooth^2), with 0 the
 * derivative leaves a term of no difference out. */
double objective_slope(const struct objective *objective, const double part[], double smooth,
                       double gradient[]);

#endif
