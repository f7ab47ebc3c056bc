/* A ring over ground, and the colour under another sheen, through the film model.
 *
 * Sources. dE00 as ISO 22700 judges finished leather; .8 is ours. The toners are invented: a black, a brown,
 * a white. */
#include "check.h"
#include "colour/difference.h"
#include "paint/fade.h"
#include "paint/sheen_shift.h"

static struct toner toner[3];

static struct shelf shelf_of_three(void) {
    for (int b = 0; b < BANDS; b++) {
        toner[0].k[b] = 0.9, toner[0].s[b] = 0.01;
        toner[1].k[b] = 0.25 * exp(-(double)b / 9), toner[1].s[b] = 0.08;
        toner[2].k[b] = 0.001, toner[2].s[b] = 0.5;
    }
    return (struct shelf){.count = 3,
                          .toner = toner,
                          .geometry = GEOMETRY_SCE,
                          .surface = {.k1 = 0.04, .k2 = 0.6, .sheen_return = 0.2}};
}

static const double brown[] = {0.1, 0.6, 0.3}, black[] = {0.95, 0.05, 0};

static struct film_case over(double reflectance, double film_um) {
    struct film_case film = {.film_um = film_um, .geometry = GEOMETRY_SCE, .sheen_gu = (double)NAN};
    for (int b = 0; b < BANDS; b++) film.backing.band[b] = reflectance;
    return film;
}

static struct lab lab_under_d65(const struct spectrum *s) {
    return lab_of_spectrum(s, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

/* At the safe film it is just not seen, a tenth thinner it is; a slow walk finds the same worst. */
static void the_safe_film_is_where_it_begins_to_show(void) {
    const struct shelf shelf = shelf_of_three();
    for (double ground = 0.1; ground < 0.9; ground += 0.2) {
        const struct film_case film = over(ground, 40);
        struct film_case opaque = film, thin = film;
        struct spectrum around, seen;
        opaque.film_um = HUGE_VAL;
        predict_reflectance(&shelf, brown, &opaque, &around);
        const struct fade_look look = fade_look_at(&shelf, brown, &film, &around, FADE_NOT_SEEN_DE00);
        CHECK(look.full_de00 < 0.8 && look.safe_film_um > 0 && look.safe_film_um < 40);
        thin.film_um = look.safe_film_um;
        predict_reflectance(&shelf, brown, &thin, &seen);
        CHECK_NEAR(difference_de00(lab_under_d65(&around), lab_under_d65(&seen)), 0.8, 1e-6);
        double worst = 0;
        for (int i = 0; i <= 4000; i++) {
            thin.film_um = i * 0.01;
            predict_reflectance(&shelf, brown, &thin, &seen);
            const double de00 = difference_de00(lab_under_d65(&around), lab_under_d65(&seen));
            worst = fmax(worst, de00);
            if (thin.film_um > look.safe_film_um) CHECK(de00 <= 0.8 + 1e-9);
        }
        CHECK_NEAR(look.worst_de00, worst, 0.02 * worst);
    }
}

static void a_ground_of_the_same_colour_shows_no_ring(void) {
    const struct shelf shelf = shelf_of_three();
    struct film_case film = over(0.5, HUGE_VAL);
    struct spectrum around;
    predict_reflectance(&shelf, brown, &film, &around);
    film.film_um = 20;
    film.backing = around;
    const struct fade_look look = fade_look_at(&shelf, brown, &film, &around, FADE_NOT_SEEN_DE00);
    CHECK_AT_MOST(look.worst_de00, 0.05);
    CHECK_NEAR(look.safe_film_um, 0, 0);
}

/* As every shelf that was fitted over black and white has it; down to no film at all. */
static void a_shelf_with_a_beam_fades_too(void) {
    struct shelf shelf = shelf_of_three();
    shelf.beam = (struct beam){.on = true, .forward = 0.3};
    struct film_case film = over(0.05, HUGE_VAL);
    struct spectrum around;
    predict_reflectance(&shelf, brown, &film, &around);
    film.film_um = 20;
    const struct fade_look look = fade_look_at(&shelf, brown, &film, &around, FADE_NOT_SEEN_DE00);
    CHECK_NEAR(look.opaque_de00, 0, 1e-9);
    CHECK(look.worst_de00 >= look.full_de00);
    CHECK_NEAR(look.worst_at_um, 0, 1e-9); /* over a dark ground: where there is no film */
}

static void a_film_that_does_not_hide_is_never_safe(void) {
    const struct shelf shelf = shelf_of_three();
    struct film_case film = over(0.05, HUGE_VAL);
    struct spectrum around;
    predict_reflectance(&shelf, brown, &film, &around);
    film.film_um = 0.5;
    const struct fade_look look = fade_look_at(&shelf, brown, &film, &around, FADE_NOT_SEEN_DE00);
    CHECK(isinf(look.safe_film_um));
    CHECK_NEAR(look.opaque_de00, 0, 1e-9);
}

/* A reading taken under one sheen, carried to another, is what the mix predicts there. */
static void a_reading_and_its_mix_shift_alike(void) {
    const struct shelf shelf = shelf_of_three();
    static const enum geometry geometry[] = {GEOMETRY_SCI, GEOMETRY_SCE, GEOMETRY_45_0};
    for (int g = 0; g < 3; g++)
        for (double from = 1; from < 90; from *= 2.3)
            for (double to = 1; to < 90; to *= 2.3) {
                struct film_case film = over(0.5, HUGE_VAL);
                film.geometry = geometry[g], film.sheen_gu = from;
                struct spectrum seen;
                predict_reflectance(&shelf, black, &film, &seen);
                const struct sheen_shift mix = sheen_shift_of_mix(&shelf, black, &film, from, to);
                const struct sheen_shift reading =
                    sheen_shift_of_reading(&shelf, &seen, geometry[g], from, to);
                for (int b = 0; b < BANDS; b++)
                    CHECK_NEAR(reading.reflectance.band[b], mix.reflectance.band[b], 2e-4);
                if (from == to) CHECK_NEAR(mix.de00, 0, 1e-9);
            }
}

static void matter_is_lighter_and_black_shifts_most(void) {
    const struct shelf shelf = shelf_of_three();
    const struct film_case film = over(0.5, HUGE_VAL);
    const struct sheen_shift dark = sheen_shift_of_mix(&shelf, black, &film, 60, 3),
                             mid = sheen_shift_of_mix(&shelf, brown, &film, 60, 3);
    CHECK(dark.to.l > dark.from.l && mid.to.l > mid.from.l);
    CHECK(dark.de00 > mid.de00);
    printf("  figure: 60 to 3 GU, sce: black %.2f dE00 (L %.1f to %.1f), brown %.2f dE00\n", dark.de00,
           dark.from.l, dark.to.l, mid.de00);
}

int main(void) {
    RUN(the_safe_film_is_where_it_begins_to_show);
    RUN(a_ground_of_the_same_colour_shows_no_ring);
    RUN(a_shelf_with_a_beam_fades_too);
    RUN(a_film_that_does_not_hide_is_never_safe);
    RUN(a_reading_and_its_mix_shift_alike);
    RUN(matter_is_lighter_and_black_shifts_most);
    return check_done();
}
