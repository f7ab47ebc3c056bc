/* The final check: is the repair near enough to the sound part, as far as the readings can tell?
 *
 * A difference that was measured with an uncertainty passes when it lies inside the tolerance with 95 %,
 * fails when it lies outside with 95 %, and else cannot be told (guarded acceptance and rejection, the
 * thought of ISO 14253-1 and JCGM 106). For colour the chance that dE00 <= tolerance is counted over 2048
 * points of a fixed quasi-random sequence (Roberts' R3) of the normal distribution of the
 * difference; CIEDE2000 itself is taken at every point, so that its bend near zero does not matter. Gloss and
 * grain: normal distribution. The whole passes when every spot passes in every light, and fails when any
 * fails. The grade is ISO 105-A05, change in colour, from the first light (D65/10). */
#ifndef RUSSET_TRADE_INSPECTION_H
#define RUSSET_TRADE_INSPECTION_H

#include "colour/grey_scale.h"
#include <stdbool.h>
#include <stddef.h>

enum verdict { VERDICT_PASS, VERDICT_CANNOT_TELL, VERDICT_FAIL };
const char *verdict_symbol(enum verdict verdict); /* "pass", "cannot tell", "fail" */

/* Tolerances on dE00 by where the repair ends (ours, editable): not seen .8, a panel to an edge 1.5, only
 * with a fade 2.5. */
double tolerance_within_panel(void), tolerance_to_edge(void), tolerance_with_fade(void);

enum { INSPECTION_LIGHTS_MOST = 8, INSPECTION_SPOTS_MOST = 64, INSPECTION_GRAINS_MOST = 16 };

struct lab_pair {
    struct lab sound, repair; /* of one view */
    double cov[3][3];         /* of the difference repair - sound in L, a, b */
};

struct judged {
    /* The difference as it was read, and the 5 and 95 % points of what it may truly be. Of a colour it is a
     * distance: value may lie below low, since doubt in any direction only adds to a distance near zero. */
    double value, low, high;
    double tolerance, inside; /* inside: the chance that it is within the tolerance */
    enum verdict verdict;
};

/* dE00 of a pair. cov must be symmetric and positive semi-definite; it is used as far as it is. */
struct judged judge_colour(const struct lab_pair *pair, double tolerance);
/* |difference| <= tolerance for a difference with standard uncertainty u >= 0. */
struct judged judge_number(double difference, double u, double tolerance);

struct inspection_spot {
    size_t light_count;
    struct lab_pair light[INSPECTION_LIGHTS_MOST];
    double gloss_difference_gu, gloss_u; /* NAN: not read */
};

struct grain_pair {
    double sound, repair, u; /* u: of repair / sound */
};

struct inspection_case {
    double de00, de00_other, gloss_gu,
        grain; /* tolerances: first light, other lights, gloss, part of the grain */
    size_t spot_count, grain_count;
    const struct inspection_spot *spot;
    const struct grain_pair *grains;
};

struct inspection {
    enum verdict verdict;
    struct judged colour[INSPECTION_SPOTS_MOST][INSPECTION_LIGHTS_MOST];
    struct judged gloss[INSPECTION_SPOTS_MOST];  /* value NAN where none was read */
    struct judged grain[INSPECTION_GRAINS_MOST]; /* of the ratio repair / sound - 1 */
    size_t worst_spot, worst_light;              /* largest dE00 against its tolerance */
    double mean_de00;                            /* first light, over the spots */
    struct grey_rating grade;                    /* of the worst spot in the first light */
};

/* At least one spot with a light; counts inside the bounds above (asserted). */
void inspect(const struct inspection_case *in, struct inspection *out);

#endif
