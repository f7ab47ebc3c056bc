/* Sheen by blending matte and gloss clear: a curve through the shop's own ladder.
 *
 * No curve of such blends is published, so the shop measures a ladder: known fractions of matte clear (by
 * volume), their gloss. The curve is monotone cubic (paint/monotone.h) on the scale ln(GU + c); c = 0 is the
 * logarithm, a large c nearly linear, and the ladder itself
 * chooses c, and whether it is drawn along the fraction or its root, by leaving out each inner row in turn.
 * Rows that rise by less than the meter's noise are pooled; more is refused and the odd row is named. With
 * the two ends only, the line on the logarithm is a guess and says so.
 *
 * Uncertainty (95 %) is two of sqrt(day^2 + (r GU)^2 + a^2): r from the leave-one-out residuals, a = .1 GU of
 * read-out, day = 12 % between one mixing and the next, which a test patch takes away (all ours, not
 * published). A test patch shifts ln GU by its posterior mean. */
#ifndef RUSSET_PAINT_SHEEN_H
#define RUSSET_PAINT_SHEEN_H

#include "base/fault.h"
#include "paint/gloss.h"
#include <stdbool.h>

enum { SHEEN_ROWS_MOST = 64, SHEEN_STRIP_MOST = 15, SHEEN_COATS = 3 };

struct sheen_row {
    double matte;            /* fraction by volume, 0..1 */
    double gu[GLOSS_ANGLES]; /* NAN: not measured */
    double coats;            /* NAN: not said, taken as those that are wanted */
    int line;                /* of the file, for sentences */
};

struct sheen_ladder {
    const char *name; /* of the file */
    size_t count;
    const struct sheen_row *row;
};

struct sheen_curve {
    enum gloss_angle angle;
    size_t count;
    double matte[SHEEN_ROWS_MOST];
    double along[SHEEN_ROWS_MOST], scaled[SHEEN_ROWS_MOST], slope[SHEEN_ROWS_MOST]; /* of the drawn curve */
    bool root;        /* drawn along the root of the fraction: ladders that fall off a cliff at first */
    double offset_gu; /* c */
    double coats;     /* of the rows that were used */
    bool other_coats; /* not those that were wanted */
    bool guess;       /* two ends only */
    bool pooled;      /* rows rose within noise and were drawn together */
    size_t left_out;  /* inner rows that were left out in turn, 0 when there were none */
    double worst_gu;  /* largest leave-one-out error, and as a part of that row's GU */
    double worst_part, rms_part;
    double shift, shift_sd; /* of ln GU, from test patches; the day's spread when there are none */
    size_t patches;
};

/* INPUT: fewer than two rows at that angle, two rows of one fraction that disagree, a ladder that rises (the
 * odd row is named). */
enum status sheen_fit(const struct sheen_ladder *ladder, enum gloss_angle angle, double coats,
                      struct sheen_curve *out, struct fault *fault) MUST_USE;

struct sheen_patch {
    double matte, gu;
};
/* All patches together; replaces an earlier correction. */
void sheen_correct(struct sheen_curve *curve, const struct sheen_patch patch[], size_t count);

struct sheen_value {
    double gu, low_gu, high_gu; /* 95 % */
};
struct sheen_value sheen_at(const struct sheen_curve *curve, double matte);

/* The fraction that gives gu, inside the ladder's own fractions; in a flat stretch its middle. NO, with the
 * nearest end in *matte, when the ladder does not reach it. */
enum status sheen_find(const struct sheen_curve *curve, double gu, double *matte,
                       struct fault *fault) MUST_USE;

/* count fractions from low to high for a strip of dabs: even steps of ln GU along the curve, or of fraction
 * without one (NULL). */
void sheen_strip(const struct sheen_curve *curve, double low, double high, size_t count, double matte[]);

#endif
