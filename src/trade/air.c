#include "trade/air.h"
#include <math.h>

static const double magnus_a = 17.625, magnus_b = 243.04;
static const double reference_c = 20, reference_humidity = 50;
static const double does_not_dry_below = 0.1; /* ten times the usual flash: ours */

double air_saturation_hpa(double celsius) {
    return 6.1094 * exp(magnus_a * celsius / (celsius + magnus_b));
}

double air_dew_point(double air_c, double humidity) {
    const double g = log(humidity / 100) + magnus_a * air_c / (magnus_b + air_c);
    return magnus_b * g / (magnus_a - g);
}

static double vapour_hpa(double air_c, double humidity) {
    return humidity / 100 * air_saturation_hpa(air_c);
}

/* The balance rises with the wet bulb: not above 0 at the dew point, not below 0 at the air's temperature. */
double air_wet_bulb(double air_c, double humidity) {
    const double vapour = vapour_hpa(air_c, humidity);
    double low = fmin(air_dew_point(air_c, humidity), air_c), high = air_c;
    for (int i = 0; i < 80; i++) {
        const double t = low + (high - low) / 2;
        const double cooling = 6.6e-4 * (1 + 1.15e-3 * t) * 1013.25 * (air_c - t);
        if (air_saturation_hpa(t) - vapour > cooling)
            high = t;
        else
            low = t;
    }
    return low + (high - low) / 2;
}

static double deficit_hpa(double air_c, double humidity) {
    const double deficit = air_saturation_hpa(air_wet_bulb(air_c, humidity)) - vapour_hpa(air_c, humidity);
    return deficit > 0 ? deficit : 0;
}

double air_drying_index(double air_c, double humidity) {
    return deficit_hpa(air_c, humidity) / deficit_hpa(reference_c, reference_humidity);
}

static enum air_reason reason_of(const struct air_case *in, const struct air *air) {
    if (!(air->margin_k >= in->margin_needed_k)) return AIR_DEW;
    if (air->drying_index < does_not_dry_below) return AIR_DOES_NOT_DRY;
    if (in->humidity > in->humidity_most) return AIR_HUMID; /* a limit of NAN never says wait */
    if (in->surface_c < in->surface_least_c) return AIR_COLD;
    if (in->surface_c > in->surface_most_c) return AIR_HOT;
    return AIR_GO;
}

static enum status check(const struct air_case *in, struct fault *fault) {
    if (!(in->air_c >= -20 && in->air_c <= 60))
        return FAULT(fault, AIR_NO_WEATHER, "air", NUMBER_TEXT(in->air_c), "-20 to 60 °C");
    if (!(in->humidity >= 0.1 && in->humidity <= 100))
        return FAULT(fault, AIR_NO_WEATHER, "humidity", NUMBER_TEXT(in->humidity), "0.1 to 100 %");
    if (!(in->surface_c >= -20 && in->surface_c <= 90))
        return FAULT(fault, AIR_NO_WEATHER, "surface", NUMBER_TEXT(in->surface_c), "-20 to 90 °C");
    if (!(in->margin_needed_k >= 0 && in->margin_needed_k <= 50))
        return FAULT(fault, AIR_NO_WEATHER, "margin", NUMBER_TEXT(in->margin_needed_k), "0 to 50 K");
    return STATUS_OK;
}

enum status air_judge(const struct air_case *in, struct air *out, struct fault *fault) {
    const enum status status = check(in, fault);
    if (status != STATUS_OK) return status;
    struct air air = {.dew_point_c = air_dew_point(in->air_c, in->humidity),
                      .wet_bulb_c = air_wet_bulb(in->air_c, in->humidity),
                      .drying_index = air_drying_index(in->air_c, in->humidity)};
    air.margin_k = in->surface_c - air.dew_point_c;
    air.surface_needed_c = air.dew_point_c + in->margin_needed_k;
    air.reason = reason_of(in, &air);
    air.go = air.reason == AIR_GO;
    *out = air;
    return STATUS_OK;
}
