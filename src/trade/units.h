/* Units of the bench and their conversion: value in the base unit = (value + offset) * factor.
 *
 * Factors are exact by definition (international yard and pound agreement 1959; US gallon = 231 cubic inches;
 * standard gravity for psi; BIPM SI brochure, 9th ed.). A bare "oz" is a mass: a volume wants "floz", because
 * taking one for the other is a wrong pour. */
#ifndef RUSSET_TRADE_UNITS_H
#define RUSSET_TRADE_UNITS_H

#include "base/fault.h"
#include <stdbool.h>

enum quantity {
    QUANTITY_PRESSURE,    /* base kPa */
    QUANTITY_VOLUME,      /* ml */
    QUANTITY_LENGTH,      /* mm */
    QUANTITY_MASS,        /* g */
    QUANTITY_AREA,        /* m2 */
    QUANTITY_TEMPERATURE, /* C */
    QUANTITY_FLOW,        /* ml/min */
    QUANTITY_SPEED,       /* m/s */
    QUANTITY_TIME         /* s */
};

/* UNIT(id, name, other names for it, quantity, factor, offset) */
#define UNIT_LIST(UNIT)                                             \
    UNIT(KPA, "kPa", "", PRESSURE, 1, 0)                            \
    UNIT(PSI, "psi", "psig", PRESSURE, 6.894757293168361, 0)        \
    UNIT(BAR, "bar", "", PRESSURE, 100, 0)                          \
    UNIT(MBAR, "mbar", "hPa", PRESSURE, 0.1, 0)                     \
    UNIT(ML, "ml", "cc|cm3", VOLUME, 1, 0)                          \
    UNIT(L, "l", "litre|liter", VOLUME, 1000, 0)                    \
    UNIT(US_FLOZ, "floz", "fl oz|usfloz", VOLUME, 29.5735295625, 0) \
    UNIT(US_PINT, "pt", "uspt", VOLUME, 473.176473, 0)              \
    UNIT(US_QUART, "qt", "usqt", VOLUME, 946.352946, 0)             \
    UNIT(US_GALLON, "gal", "usgal", VOLUME, 3785.411784, 0)         \
    UNIT(IMPERIAL_FLOZ, "impfloz", "", VOLUME, 28.4130625, 0)       \
    UNIT(IMPERIAL_GALLON, "impgal", "", VOLUME, 4546.09, 0)         \
    UNIT(UM, "um", "\xC2\xB5m|\xCE\xBCm|micron", LENGTH, 0.001, 0)  \
    UNIT(MIL, "mil", "mils|thou", LENGTH, 0.0254, 0)                \
    UNIT(MM, "mm", "", LENGTH, 1, 0)                                \
    UNIT(CM, "cm", "", LENGTH, 10, 0)                               \
    UNIT(M, "m", "", LENGTH, 1000, 0)                               \
    UNIT(INCH, "in", "inch", LENGTH, 25.4, 0)                       \
    UNIT(FOOT, "ft", "", LENGTH, 304.8, 0)                          \
    UNIT(G, "g", "", MASS, 1, 0)                                    \
    UNIT(KG, "kg", "", MASS, 1000, 0)                               \
    UNIT(MG, "mg", "", MASS, 0.001, 0)                              \
    UNIT(OUNCE, "oz", "", MASS, 28.349523125, 0)                    \
    UNIT(POUND, "lb", "", MASS, 453.59237, 0)                       \
    UNIT(CARAT, "ct", "", MASS, 0.2, 0)                             \
    UNIT(M2, "m2", "m\xC2\xB2", AREA, 1, 0)                         \
    UNIT(DM2, "dm2", "", AREA, 0.01, 0)                             \
    UNIT(CM2, "cm2", "", AREA, 1e-4, 0)                             \
    UNIT(MM2, "mm2", "", AREA, 1e-6, 0)                             \
    UNIT(SQUARE_FOOT, "ft2", "sqft", AREA, 0.09290304, 0)           \
    UNIT(SQUARE_INCH, "in2", "sqin", AREA, 0.00064516, 0)           \
    UNIT(CELSIUS, "C",                                              \
         "\xC2\xB0"                                                 \
         "C",                                                       \
         TEMPERATURE, 1, 0)                                         \
    UNIT(FAHRENHEIT, "F",                                           \
         "\xC2\xB0"                                                 \
         "F",                                                       \
         TEMPERATURE, 5.0 / 9.0, -32)                               \
    UNIT(KELVIN, "K", "", TEMPERATURE, 1, -273.15)                  \
    UNIT(ML_MIN, "ml/min", "cc/min", FLOW, 1, 0)                    \
    UNIT(ML_S, "ml/s", "", FLOW, 60, 0)                             \
    UNIT(L_MIN, "l/min", "", FLOW, 1000, 0)                         \
    UNIT(FLOZ_MIN, "floz/min", "", FLOW, 29.5735295625, 0)          \
    UNIT(M_S, "m/s", "", SPEED, 1, 0)                               \
    UNIT(CM_S, "cm/s", "", SPEED, 0.01, 0)                          \
    UNIT(MM_S, "mm/s", "", SPEED, 0.001, 0)                         \
    UNIT(M_MIN, "m/min", "", SPEED, 1.0 / 60.0, 0)                  \
    UNIT(FT_MIN, "ft/min", "fpm", SPEED, 0.00508, 0)                \
    UNIT(IN_S, "in/s", "", SPEED, 0.0254, 0)                        \
    UNIT(SECOND, "s", "", TIME, 1, 0)                               \
    UNIT(MINUTE, "min", "", TIME, 60, 0)                            \
    UNIT(HOUR, "h", "", TIME, 3600, 0)

enum unit {
#define UNIT(id, name, others, quantity, factor, offset) UNIT_##id,
    UNIT_LIST(UNIT)
#undef UNIT
        UNIT_COUNT
};

const char *unit_name(enum unit unit);
enum quantity unit_quantity(enum unit unit);
bool unit_from_name(const char *name,
                    enum unit *out); /* exact, then ignoring case where that is not ambiguous */

/* Between two units of one quantity (asserted). */
double unit_convert(double value, enum unit from, enum unit to);

/* "30psi", "30 psi", "30": a number, and a unit or `want` when there is none; *out is in `want`. USAGE,
 * naming the option, when the number is none, the unit unknown or of another quantity, or the result outside
 * low..high (in `want`). */
enum status unit_read(const char *option, const char *text, enum unit want, double low, double high,
                      double *out, struct fault *fault) MUST_USE;
/* The same with a unit that must be there; any unit. */
enum status unit_read_any(const char *text, double *value, enum unit *unit, struct fault *fault) MUST_USE;

#endif
