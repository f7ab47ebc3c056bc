#include "surface/grain.h"
#include <math.h>

/* Of the pieces' spread over three, how much the whole field shows. What is a mean over the field shows all
 * of it; the highest and the lowest place do not average. Measured on pieces of far larger random fields
 * (tests/unit/stereo_test.c, other seeds than those that are quoted). */
static const double of_chance[AREAL_COUNT] = {
    [AREAL_SA] = 1,  [AREAL_SQ] = 1,  [AREAL_SZ] = 2.5, [AREAL_SSK] = 1, [AREAL_SKU] = 1,
    [AREAL_SAL] = 1, [AREAL_STR] = 1, [AREAL_STD] = 1,  [AREAL_SDQ] = 1, [AREAL_SDR] = 1};

/* What gloss leaves in all amplitudes alike, 1 sigma, beside the torches' own error. */
static const double gloss_left = .013;

/* One way of the slopes 1 % too steep against the other: a round grain reads .6 % less round, Sal .3 % off.
 */
static const double str_askew = .6, sal_askew = .3;

void grain_doubt(struct grain *grain, const struct areal *chance, double common, double askew) {
    const double amplitude = hypot(common, gloss_left);
    const double *v = grain->value.value, *c = chance->value;
    const double sigma[AREAL_COUNT] = {[AREAL_SA] = amplitude * v[AREAL_SA],
                                       [AREAL_SQ] = amplitude * v[AREAL_SQ],
                                       [AREAL_SZ] = 1.5 * amplitude * v[AREAL_SZ],
                                       [AREAL_SSK] = .01,
                                       [AREAL_SKU] = .006 * v[AREAL_SKU],
                                       [AREAL_SAL] = hypot(.003, sal_askew * askew) * v[AREAL_SAL],
                                       [AREAL_STR] = hypot(.003, str_askew * askew * v[AREAL_STR]),
                                       [AREAL_STD] = v[AREAL_STR] < GRAIN_DIRECTED ? 3 : 45,
                                       [AREAL_SDQ] = amplitude * v[AREAL_SDQ],
                                       [AREAL_SDR] = 2 * amplitude * v[AREAL_SDR]};
    for (int i = 0; i < AREAL_COUNT; i++) grain->u95.value[i] = hypot(2 * sigma[i], of_chance[i] * c[i]);
    grain->u95.value[AREAL_STD] = fmin(90, grain->u95.value[AREAL_STD]);
}

enum grain_verdict grain_differs(const struct grain *a, const struct grain *b, enum areal_parameter which,
                                 double *difference, double *u95) {
    *difference = b->value.value[which] - a->value.value[which];
    *u95 = hypot(a->u95.value[which], b->u95.value[which]);
    if (which == AREAL_STD) {
        *difference = areal_turn(b->value.value[which], a->value.value[which]);
        if (a->value.value[AREAL_STR] >= GRAIN_DIRECTED || b->value.value[AREAL_STR] >= GRAIN_DIRECTED)
            return GRAIN_NOT_TOLD;
    }
    return fabs(*difference) > *u95 ? GRAIN_DIFFERENT : GRAIN_SAME;
}
