#include "paint/sheen_shift.h"
#include "colour/difference.h"
#include <math.h>

static struct sheen_shift between(const struct spectrum *before, const struct spectrum *after) {
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    struct sheen_shift shift = {.from = lab_of_spectrum(before, weights),
                                .to = lab_of_spectrum(after, weights),
                                .reflectance = *after};
    shift.de00 = difference_de00(shift.from, shift.to);
    return shift;
}

struct sheen_shift sheen_shift_of_mix(const struct shelf *shelf, const double part[],
                                      const struct film_case *film, double from_gu, double to_gu) {
    struct film_case under = *film;
    struct spectrum before, after;
    under.sheen_gu = from_gu;
    predict_reflectance(shelf, part, &under, &before);
    under.sheen_gu = to_gu;
    predict_reflectance(shelf, part, &under, &after);
    return between(&before, &after);
}

struct sheen_shift sheen_shift_of_reading(const struct shelf *shelf, const struct spectrum *reflectance,
                                          enum geometry geometry, double from_gu, double to_gu) {
    const struct film_case old = {.film_um = HUGE_VAL, .geometry = geometry, .sheen_gu = from_gu};
    const struct film_case new = {.film_um = HUGE_VAL, .geometry = geometry, .sheen_gu = to_gu};
    const struct surface from = predict_surface(shelf, &old), to = predict_surface(shelf, &new);
    struct spectrum after;
    for (int b = 0; b < BANDS; b++)
        after.band[b] =
            surface_measured(surface_inner(reflectance->band[b], &from, geometry), &to, geometry, NULL);
    return between(reflectance, &after);
}
