/* The beam: off is plain Kubelka-Munk, its slopes agree with differences, thick is opaque. How near it comes
 * to radiative transfer is measured in tests/room/beam_room_test.c. */
#include "check.h"
#include "paint/beam.h"
#include "paint/film.h"

static const struct beam off = {false, 0};

static double random_between(unsigned long long *state, double low, double high) {
    return low * pow(high / low, check_random(state));
}

static void off_is_plain(void) {
    unsigned long long state = 5;
    for (int i = 0; i < 1000; i++) {
        const double k = random_between(&state, 1e-5, 1), s = random_between(&state, 1e-5, 1),
                     x = random_between(&state, 1, 1e4), rg = check_random(&state);
        CHECK(film_lit(&off, k, s, x, rg) == film_inner(k, s, x, rg));
        double a[3], b[3];
        CHECK(film_lit_slopes(&off, k, s, x, rg, &a[0], &a[1], &a[2]) ==
              film_inner_slopes(k, s, x, rg, &b[0], &b[1], &b[2]));
        for (int j = 0; j < 3; j++) CHECK(a[j] == b[j]);
    }
}

static void slopes_agree_with_differences(void) {
    unsigned long long state = 7;
    double worst = 0;
    for (int i = 0; i < 4000; i++) {
        const struct beam beam = {true, .75 * check_random(&state)};
        const double k = random_between(&state, 1e-4, 1), s = random_between(&state, 1e-4, 1),
                     rg = check_random(&state);
        const double x = i % 5 ? random_between(&state, 1, 300) : (double)INFINITY, h = 1e-5;
        double by[3];
        const double r = film_lit_slopes(&beam, k, s, x, rg, &by[0], &by[1], &by[2]);
        CHECK_NEAR(film_lit(&beam, k, s, x, rg), r, 1e-15);
        const double dk = film_lit(&beam, k * (1 + h), s, x, rg) - film_lit(&beam, k * (1 - h), s, x, rg);
        const double ds = film_lit(&beam, k, s * (1 + h), x, rg) - film_lit(&beam, k, s * (1 - h), x, rg);
        worst = fmax(worst, fabs(by[0] * k - dk / 2 / h));
        worst = fmax(worst, fabs(by[1] * s - ds / 2 / h));
        if (isinf(x)) {
            CHECK(by[2] == 0);
            continue;
        }
        const double dx = film_lit(&beam, k, s, x * (1 + h), rg) - film_lit(&beam, k, s, x * (1 - h), rg);
        worst = fmax(worst, fabs(by[2] * x - dx / 2 / h));
    }
    printf("  figure: slopes by logarithms within %.1e of differences\n", worst);
    CHECK_AT_MOST(worst, 1e-8);
}

static void stays_inside_and_keeps_its_order(void) {
    unsigned long long state = 11;
    for (int i = 0; i < 20000; i++) {
        const struct beam beam = {true, .75 * check_random(&state)};
        const double k = random_between(&state, 1e-6, 100), s = random_between(&state, 1e-6, 100),
                     rg = check_random(&state);
        const double x = random_between(&state, .01, 1e4);
        const double r = film_lit(&beam, k, s, x, rg);
        CHECK(r >= 0 && r <= 1);
        CHECK(film_lit(&beam, k * 1.1, s, x, rg) <= r + 1e-12);          /* more absorption is darker */
        CHECK(film_lit(&beam, k, s, x, fmin(1, rg + .01)) >= r - 1e-12); /* a lighter floor is lighter */
    }
}

static void thick_is_opaque(void) {
    for (double g = 0; g <= .75; g += .25)
        for (double k = 1e-3; k < 1; k *= 10) {
            const struct beam beam = {true, g};
            CHECK_NEAR(film_lit(&beam, k, .05, 1e7, .5), film_lit(&beam, k, .05, (double)INFINITY, .5), 1e-6);
        }
}

static void nothing_in_the_film_leaves_the_floor(void) {
    const struct beam beam = {true, .4};
    CHECK_NEAR(film_lit(&beam, 0, 0, 30, .37), .37, 1e-12);
    CHECK_NEAR(film_lit(&beam, 1e-12, 1e-12, 30, .37), .37, 1e-9);
    CHECK(film_lit(&beam, 0, 0, (double)INFINITY, .37) == film_opaque(0, 0));
}

int main(void) {
    RUN(off_is_plain);
    RUN(slopes_agree_with_differences);
    RUN(stays_inside_and_keeps_its_order);
    RUN(thick_is_opaque);
    RUN(nothing_in_the_film_leaves_the_floor);
    return check_done();
}
