/* The air over a wet film: may it be sprayed now, and how fast will it dry?
 *
 * Saturation over water (Magnus form, Alduchov & Eskridge 1996): es(T) = 6.1094 exp(17.625 T / (T + 243.04))
 * hPa, -40..50 C. Dew point: g = ln(RH/100) + 17.625 T/(243.04 + T); Td = 243.04 g / (17.625 - g). The
 * surface must be at least 3 K above the dew point (practice of ISO 8502-4). Drying index: wet-bulb deficit
 * es(Twb) - e against that of 20 C / 50 %, our model; Twb solves es(Twb) - e = 6.6e-4 (1 + 1.15e-3 Twb)
 * 1013.25 (T - Twb) (psychrometer constant; other formulas differ by 1 %). 1 dries as at 20/50, 0.5 takes
 * twice as long, 0 does not dry. */
#ifndef RUSSET_TRADE_AIR_H
#define RUSSET_TRADE_AIR_H

#include "base/fault.h"
#include <stdbool.h>

struct air_case {
    double air_c;           /* -20..60 */
    double humidity;        /* relative, per cent, above 0 to 100 */
    double surface_c;       /* of what is sprayed, -20..90 */
    double margin_needed_k; /* 3 by ISO 8502-4 practice */
    double humidity_most;   /* the product sheet's limits; NAN: not said */
    double surface_least_c, surface_most_c;
};

enum air_reason { AIR_GO, AIR_DEW, AIR_DOES_NOT_DRY, AIR_HUMID, AIR_COLD, AIR_HOT };

struct air {
    double dew_point_c, margin_k, wet_bulb_c;
    double drying_index;
    enum air_reason reason; /* the first thing that says wait, or AIR_GO */
    bool go;
    double surface_needed_c; /* the coldest surface that would be allowed in this air */
};

double air_saturation_hpa(double celsius);
double air_dew_point(double air_c, double humidity);
double air_wet_bulb(double air_c, double humidity);
double air_drying_index(double air_c, double humidity);

/* INPUT for values that are no weather. A "wait" is not an error: air->go tells. */
enum status air_judge(const struct air_case *in, struct air *out, struct fault *fault) MUST_USE;

#endif
