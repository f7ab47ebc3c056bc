/* The forward path: mixing, gradients, hiding. Made-up shelves; what is checked against is the film vectors
 * and properties. */
#include "check.h"
#include "paint/predict.h"

enum { TONERS = 5 };
static unsigned long long seed = 7;

static double between(double low, double high) {
    return low + (high - low) * check_random(&seed);
}

static struct toner toner_at_random(void) {
    struct toner toner = {.bend = check_random(&seed) < 0.3 ? between(0, 0.4) : 0,
                          .crowd = check_random(&seed) < 0.3 ? between(0, 2) : 0};
    const double centre = between(0, BANDS), width = between(2, 15), depth = exp(between(-6, 1)),
                 scatter = exp(between(-7, 0));
    for (int b = 0; b < BANDS; b++) {
        const double x = (b - centre) / width;
        toner.k[b] = depth * (exp(-x * x) + 0.01);
        toner.s[b] = scatter * (1 + 0.3 * sin(x));
    }
    return toner;
}

static struct shelf shelf_at_random(struct toner toner[TONERS]) {
    for (int i = 0; i < TONERS; i++) toner[i] = toner_at_random();
    memset(toner[0].k, 0, sizeof toner[0].k); /* a binder */
    memset(toner[0].s, 0, sizeof toner[0].s);
    return (struct shelf){.count = TONERS,
                          .toner = toner,
                          .geometry = GEOMETRY_SCI,
                          .beam = {check_random(&seed) < 0.5, between(0, 0.75)},
                          .surface = {between(0.03, 0.05), between(0.3, 0.7), between(0, 0.5), 0, 0}};
}

static void parts_at_random(double part[TONERS]) {
    double sum = 0;
    for (int i = 0; i < TONERS; i++) sum += part[i] = check_random(&seed) < 0.2 ? 0 : exp(between(-5, 0));
    if (sum <= 0) part[0] = sum = 1;
    for (int i = 0; i < TONERS; i++) part[i] /= sum;
}

static struct film_case case_at_random(void) {
    static const enum geometry geometries[] = {GEOMETRY_SCI, GEOMETRY_SCE, GEOMETRY_45_0, GEOMETRY_PHOTO};
    struct film_case film = {.film_um = check_random(&seed) < 0.2 ? (double)INFINITY : exp(between(0, 5)),
                             .geometry = geometries[(int)between(0, 4)],
                             .sheen_gu = check_random(&seed) < 0.5 ? (double)NAN : exp(between(-1, 4.5))};
    for (int b = 0; b < BANDS; b++) film.backing.band[b] = between(0.05, 0.85);
    return film;
}

static void slopes_meet_finite_differences(void) {
    for (int i = 0; i < 300; i++) {
        struct toner toner[TONERS];
        const struct shelf shelf = shelf_at_random(toner);
        const struct film_case film = case_at_random();
        double part[TONERS], by[TONERS * BANDS];
        parts_at_random(part);
        struct spectrum plain, at, up, down;
        predict_reflectance(&shelf, part, &film, &plain);
        predict_slopes(&shelf, part, &film, &at, by);
        for (int b = 0; b < BANDS; b++) CHECK_NEAR(at.band[b], plain.band[b], 0);
        for (int t = 0; t < TONERS; t++) {
            const double here = part[t], h = 1e-6 * (here + 1e-3);
            if (here == 0) continue; /* a one-sided place */
            part[t] = here + h, predict_reflectance(&shelf, part, &film, &up);
            part[t] = here - h, predict_reflectance(&shelf, part, &film, &down);
            part[t] = here;
            for (int b = 0; b < BANDS; b++) {
                const double want = (up.band[b] - down.band[b]) / (2 * h);
                CHECK_NEAR(by[t * BANDS + b], want, 1e-6 * (1 + fabs(want)) + 1e-15 / h);
            }
        }
    }
}

/* By K, S and film: one toner that is the whole mix makes them differences of its own curves. */
static void slopes_by_k_s_and_film_meet_finite_differences(void) {
    for (int i = 0; i < 300; i++) {
        struct toner toner = toner_at_random();
        toner.bend = toner.crowd = 0;
        struct shelf shelf = {.count = 1, .toner = &toner, .surface = {0.04, 0.6, 0.2, 0, 0}};
        struct film_case film = case_at_random();
        const double one = 1;
        double by_k[BANDS], by_s[BANDS], by_film[BANDS];
        struct spectrum at, moved[2];
        predict_ks_slopes(&shelf, &one, &film, &at, by_k, by_s, by_film);
        const int b = (int)between(0, BANDS);
        double *const place[] = {&toner.k[b], &toner.s[b], &film.film_um};
        const double got[] = {by_k[b], by_s[b], by_film[b]};
        for (int j = 0; j < (isinf(film.film_um) ? 2 : 3); j++) {
            const double here = *place[j], h = 1e-6 * here;
            *place[j] = here + h, predict_reflectance(&shelf, &one, &film, &moved[0]);
            *place[j] = here - h, predict_reflectance(&shelf, &one, &film, &moved[1]);
            *place[j] = here;
            const double want = (moved[0].band[b] - moved[1].band[b]) / (2 * h);
            CHECK_NEAR(got[j], want, 1e-5 * fabs(want) + 1e-13 / h);
        }
        CHECK(isinf(film.film_um) ? by_film[b] == 0 : true);
    }
    struct toner clear = {.k = {0}, .s = {0}};
    struct shelf shelf = {.count = 1, .toner = &clear, .surface = {0.04, 0.6, 0, 0, 0}};
    for (int b = 0; b < BANDS; b++) clear.s[b] = 0.1;
    const struct film_case opaque = {
        .film_um = (double)INFINITY, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
    double by_k[BANDS];
    struct spectrum at;
    predict_ks_slopes(&shelf, &(const double){1}, &opaque, &at, by_k, NULL, NULL);
    CHECK(isfinite(by_k[0]) && by_k[0] < -1e3); /* the vertical tangent at K = 0 stays a number */
    CHECK_NEAR(at.band[0], 1, 1e-6);
}

static struct shelf flat_shelf(struct toner *toner, double k, double s) {
    *toner = (struct toner){.bend = 0};
    for (int b = 0; b < BANDS; b++) toner->k[b] = k, toner->s[b] = s;
    return (struct shelf){.count = 1, .toner = toner}; /* no interface: k1 = k2 = 0 */
}

/* tests/data/checks/km_saunderson_hiding_vectors.txt: X at contrast ratio .98 over a white of .80 */
static void film_to_hide_meets_its_vectors(void) {
    static const double row[3][3] = {{0.1, 1, 4.134378}, {0.02, 4, 2.325660}, {0.5, 2, 1.435828}};
    for (int i = 0; i < 3; i++) {
        struct toner toner;
        const struct shelf shelf = flat_shelf(&toner, row[i][0], row[i][1]);
        const double one = 1,
                     film_um = predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, NULL, 0);
        CHECK_NEAR(film_um, row[i][2], 1e-5);
        struct film_case film = {.film_um = film_um, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN};
        CHECK_NEAR(predict_contrast_ratio(&shelf, &one, &film), 0.98, 1e-9);
        film.film_um = (double)INFINITY;
        CHECK_NEAR(predict_contrast_ratio(&shelf, &one, &film), 1, 0);
    }
}

/* The claim of predict.c, with interface, sheen, haze and every kind of curve. */
static void the_contrast_ratio_only_grows_with_the_film(void) {
    for (int i = 0; i < 3000; i++) {
        struct toner toner[TONERS];
        const struct shelf shelf = shelf_at_random(toner);
        double part[TONERS], before = 0;
        parts_at_random(part);
        struct film_case film = case_at_random();
        for (film.film_um = 0.001; film.film_um < 2000; film.film_um *= between(1.05, 2)) {
            const double ratio = predict_contrast_ratio(&shelf, part, &film);
            CHECK(ratio >= before - 1e-14 && ratio >= 0 && ratio <= 1 + 1e-14);
            before = ratio;
        }
    }
}

static void the_film_to_hide_is_where_hiding_begins(void) {
    int never = 0;
    for (int i = 0; i < 500; i++) {
        struct toner toner[TONERS];
        const struct shelf shelf = shelf_at_random(toner);
        double part[TONERS];
        parts_at_random(part);
        struct film_case film = case_at_random();
        film.film_um = predict_film_to_hide(&shelf, part, film.geometry, film.sheen_gu, NULL, 0);
        if (isinf(film.film_um)) {
            film.film_um = 1000;
            CHECK(predict_contrast_ratio(&shelf, part, &film) < PREDICT_HIDES);
            never++;
            continue;
        }
        CHECK(predict_contrast_ratio(&shelf, part, &film) >= PREDICT_HIDES - 1e-12);
        film.film_um *= 1 - 1e-6;
        CHECK(film.film_um < 0.0011 || predict_contrast_ratio(&shelf, part, &film) < PREDICT_HIDES);
    }
    CHECK(never > 5 && never < 250);
}

static void the_worst_backing_counts(void) {
    struct toner toner;
    struct shelf shelf = flat_shelf(&toner, 0.02, 0.4);
    shelf.surface = (struct surface){.k1 = 0.04, .k2 = 0.6};
    struct spectrum brown, bright;
    for (int b = 0; b < BANDS; b++) brown.band[b] = 0.1 + 0.01 * b, bright.band[b] = 0.9;
    const double one = 1, alone = predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, NULL, 0);
    CHECK_NEAR(predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, &brown, 1), alone,
               0); /* between black and white: never worse */
    const struct spectrum both[] = {brown, bright};
    const double worst = predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, both, 2);
    CHECK(worst > alone * 1.02 && worst < alone * 2);
    /* by hand: Y over black and over that backing are .98 apart there */
    struct film_case film = {
        .film_um = worst, .geometry = GEOMETRY_SCI, .sheen_gu = (double)NAN, .backing = bright};
    struct spectrum over_bright, over_black;
    predict_reflectance(&shelf, &one, &film, &over_bright);
    for (int b = 0; b < BANDS; b++) film.backing.band[b] = 0.04; /* reads k1: inner 0 */
    predict_reflectance(&shelf, &one, &film, &over_black);
    CHECK_NEAR(over_black.band[15] / over_bright.band[15], 0.98, 1e-6); /* flat curves: every band is Y */
}

static void what_cannot_hide_says_so(void) {
    struct toner toner;
    struct shelf shelf = flat_shelf(&toner, 1e-7, 1e-6);
    const double one = 1;
    CHECK(isinf(predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, NULL, 0)));
    shelf = flat_shelf(&toner, 0, 0);
    CHECK(isinf(predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, NULL, 0)));
    shelf = flat_shelf(&toner, 1, 1);
    shelf.relative_s = true;
    CHECK(isnan(predict_film_to_hide(&shelf, &one, GEOMETRY_SCI, (double)NAN, NULL, 0)));
    CHECK_NEAR(predict_coats(24, 6), 4, 0);
    CHECK_NEAR(predict_coats(24.1, 6), 5, 0);
    CHECK_NEAR(predict_coats(0.01, 6), 1, 0);
    CHECK(isinf(predict_coats((double)INFINITY, 6)) && isnan(predict_coats((double)NAN, 6)));
}

/* A thick film is an opaque one; a matt finish lifts black in sce and 45/0, hardly white, and sci only by the
 * haze. */
static void sheen_moves_dark_colours(void) {
    struct toner toner;
    const double one = 1;
    struct spectrum matt, glossy, bare;
    for (int dark = 0; dark < 2; dark++) {
        struct shelf shelf = flat_shelf(&toner, dark ? 1 : 1e-4, dark ? 0.01 : 0.3);
        shelf.surface = (struct surface){.k1 = 0.04, .k2 = 0.6, .sheen_return = 0.1};
        for (int g = GEOMETRY_SCI; g <= GEOMETRY_45_0; g++) {
            struct film_case film = {
                .film_um = (double)INFINITY, .geometry = (enum geometry)g, .sheen_gu = 2};
            predict_reflectance(&shelf, &one, &film, &matt);
            film.sheen_gu = 85;
            predict_reflectance(&shelf, &one, &film, &glossy);
            film.sheen_gu = (double)NAN;
            predict_reflectance(&shelf, &one, &film, &bare);
            const double rise = matt.band[0] - glossy.band[0], haze = sheen_haze(2, NULL) * 0.96 * 0.4;
            if (g == GEOMETRY_SCI) CHECK_NEAR(rise, dark ? haze : 0, 1e-4);
            if (g != GEOMETRY_SCI) CHECK(rise > 0.02 && rise < 0.045);
            if (g == GEOMETRY_SCI) CHECK_NEAR(bare.band[0], glossy.band[0], 1e-4);
        }
    }
}

int main(void) {
    RUN(slopes_meet_finite_differences);
    RUN(slopes_by_k_s_and_film_meet_finite_differences);
    RUN(film_to_hide_meets_its_vectors);
    RUN(the_contrast_ratio_only_grows_with_the_film);
    RUN(the_film_to_hide_is_where_hiding_begins);
    RUN(the_worst_backing_counts);
    RUN(what_cannot_hide_says_so);
    RUN(sheen_moves_dark_colours);
    return check_done();
}
