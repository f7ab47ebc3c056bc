#include "surface/grain.h"
#include <math.h>

static double sum95(double sigma, double chance95) {
    return hypot(2 * sigma, chance95);
}

void grain_doubt(struct grain *grain, const struct areal *chance, int lights, double sd_deg) {
    const double direction = .043 * sd_deg / sqrt(2) / sqrt((double)lights);
    const double amplitude = hypot(direction, .04);
    const double *v = grain->value.value, *c = chance->value;
    const double sigma[AREAL_COUNT] = {[AREAL_SA] = amplitude * v[AREAL_SA],
                                       [AREAL_SQ] = amplitude * v[AREAL_SQ],
                                       [AREAL_SZ] = 1.5 * amplitude * v[AREAL_SZ],
                                       [AREAL_SSK] = .1,
                                       [AREAL_SKU] = .06 * v[AREAL_SKU],
                                       [AREAL_SAL] = hypot(.01, direction / 3) * v[AREAL_SAL],
                                       [AREAL_STR] = .025,
                                       [AREAL_STD] = v[AREAL_STR] < GRAIN_DIRECTED ? 3 : 45,
                                       [AREAL_SDQ] = 1.2 * amplitude * v[AREAL_SDQ],
                                       [AREAL_SDR] = 2.4 * amplitude * v[AREAL_SDR]};
    for (int i = 0; i < AREAL_COUNT; i++) grain->u95.value[i] = sum95(sigma[i], c[i]);
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
