#include "paint/fade.h"
#include "colour/difference.h"
#include <math.h>

enum { STEPS = 128 };

struct scene {
    const struct shelf *shelf;
    const double *part;
    const struct film_case *film;
    struct lab around;
    const struct weights *weights;
};

static double de00_at(const struct scene *scene, double film_um) {
    struct film_case thin = *scene->film;
    struct spectrum seen;
    thin.film_um = film_um;
    if (film_um > 0)
        predict_reflectance(scene->shelf, scene->part, &thin, &seen);
    else
        seen = scene->film->backing; /* no film is not a film of 0 um: the ground is what it reads */
    return difference_de00(scene->around, lab_of_spectrum(&seen, scene->weights));
}

/* Between a thickness that is seen and one that is not. */
static double edge_between(const struct scene *scene, double seen_um, double unseen_um,
                           double not_seen_de00) {
    for (int i = 0; i < 40; i++) {
        const double middle_um = seen_um + (unseen_um - seen_um) / 2;
        if (de00_at(scene, middle_um) > not_seen_de00)
            seen_um = middle_um;
        else
            unseen_um = middle_um;
    }
    return unseen_um;
}

struct fade_look fade_look_at(const struct shelf *shelf, const double part[], const struct film_case *film,
                              const struct spectrum *around, double not_seen_de00) {
    const struct weights *weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const struct scene scene = {shelf, part, film, lab_of_spectrum(around, weights), weights};
    struct fade_look look = {.opaque_de00 = de00_at(&scene, HUGE_VAL),
                             .full_de00 = de00_at(&scene, film->film_um)};
    bool safe = look.full_de00 <= not_seen_de00;
    look.safe_film_um = safe ? 0 : HUGE_VAL;
    look.worst_de00 = look.full_de00;
    look.worst_at_um = film->film_um;
    for (int i = STEPS - 1; i >= 0; i--) {
        const double film_um = film->film_um * i / STEPS, de00 = de00_at(&scene, film_um);
        if (de00 > look.worst_de00) look.worst_de00 = de00, look.worst_at_um = film_um;
        if (!safe || de00 <= not_seen_de00) continue;
        safe = false; /* the first that is seen, coming from full */
        look.safe_film_um = edge_between(&scene, film_um, film->film_um * (i + 1) / STEPS, not_seen_de00);
    }
    return look;
}
