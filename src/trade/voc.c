#include "trade/voc.h"
#include <math.h>
#include <stdbool.h>

static bool is_within(double x, double low, double high) {
    return x >= low && x <= high;
}

static enum status check(const struct voc_part *p, struct fault *fault) {
    if (!is_within(p->mass_g, 0, 1e9))
        return FAULT(fault, VOC_OUT_OF_BOUNDS, "mass", NUMBER_TEXT(p->mass_g), "0 or more");
    if (!is_within(p->density_g_ml, 0.3, 3))
        return FAULT(fault, VOC_OUT_OF_BOUNDS, "density", NUMBER_TEXT(p->density_g_ml), "0.3 to 3 g/ml");
    if (!is_within(p->volatiles, 0, 1))
        return FAULT(fault, VOC_OUT_OF_BOUNDS, "volatile part", NUMBER_TEXT(p->volatiles), "0 to 1");
    if (!is_within(p->water, 0, 1) || !is_within(p->exempt, 0, 1) ||
        p->water + p->exempt > p->volatiles + 1e-12)
        return FAULT(fault, VOC_WATER_OVER_VOLATILES, NUMBER_TEXT(p->water + p->exempt),
                     NUMBER_TEXT(p->volatiles));
    if (p->exempt > 0 && !is_within(p->exempt_density_g_ml, 0.3, 3))
        return FAULT(fault, VOC_OUT_OF_BOUNDS, "density of the exempt compound",
                     NUMBER_TEXT(p->exempt_density_g_ml), "0.3 to 3 g/ml");
    return STATUS_OK;
}

enum status voc_of(const struct voc_part part[], size_t count, struct voc *out, struct fault *fault) {
    double organic_g = 0, volume_ml = 0, less_ml = 0;
    for (size_t i = 0; i < count; i++) {
        const struct voc_part *p = &part[i];
        const enum status status = check(p, fault);
        if (status != STATUS_OK) return status;
        const double exempt_g = p->mass_g * p->exempt;
        organic_g += p->mass_g * (p->volatiles - p->water) - exempt_g;
        volume_ml += p->mass_g / p->density_g_ml;
        less_ml += p->mass_g * p->water + (exempt_g > 0 ? exempt_g / p->exempt_density_g_ml : 0);
    }
    const double rest_ml = volume_ml - less_ml;
    if (!(rest_ml > 1e-9 * volume_ml))
        return FAULT(fault, VOC_NOTHING_LEFT, NUMBER_TEXT(less_ml), NUMBER_TEXT(volume_ml));
    organic_g = fmax(organic_g, 0); /* rounding may leave a trace below zero */
    *out = (struct voc){1000 * organic_g / rest_ml, 1000 * organic_g / volume_ml};
    return STATUS_OK;
}
