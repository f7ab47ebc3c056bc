/* Kubelka-Munk with and without the beam against radiative transfer: films that paint/beam.c was not fitted
 * to. */
#include "check.h"
#include "paint/beam.h"
#include "paint/surface.h"
#include "room/radiative.h"

static double lightness(double r) {
    return 116 * cbrt(r + .04);
}

enum { FILMS = 400 };
struct lit {
    double absorbed, scattered, bare, truth;
};

static void spray(const struct directions *at, double g, struct lit film[FILMS]) {
    unsigned long long state = 99;
    for (int i = 0; i < FILMS; i++) {
        const double absorbed = 2e-3 * pow(5e3, check_random(&state)),
                     scattered = 5e-3 * pow(1.2e3, check_random(&state));
        const double floor = .02 + .86 * check_random(&state);
        struct medium medium;
        struct slab slab, none;
        double over[DIRECTIONS][DIRECTIONS], bare[DIRECTIONS][DIRECTIONS];
        medium_henyey_greenstein(&medium, absorbed, scattered / (1 - g), g);
        slab_make(&slab, at, &medium, 1);
        slab_make(&none, at, &medium, 0);
        slab_over(over, at, &slab, floor);
        slab_over(bare, at, &none, floor);
        film[i] = (struct lit){absorbed, scattered, surface_leaving(at, bare).diffuse + .04,
                               surface_leaving(at, over).diffuse + .04};
    }
}

/* rms error in L* with k = by_k absorption, s = by_s reduced scattering. */
static double error_of(const struct lit film[FILMS], const struct beam *beam, double by_k, double by_s,
                       double k2) {
    const struct surface surface = {.k1 = .04, .k2 = k2};
    double sum = 0;
    for (int i = 0; i < FILMS; i++) {
        const double under = surface_inner(film[i].bare, &surface, GEOMETRY_SCI);
        const double inner = film_lit(beam, by_k * film[i].absorbed, by_s * film[i].scattered, 1, under);
        const double off =
            lightness(surface_measured(inner, &surface, GEOMETRY_SCI, NULL)) - lightness(film[i].truth);
        sum += off * off;
    }
    return sqrt(sum / FILMS);
}

static double best_plain(const struct lit film[FILMS]) {
    const struct beam off = {false, 0};
    double best = HUGE_VAL;
    for (double k2 = .4; k2 < .7; k2 += .025)
        for (double by_k = 1; by_k < 2.4; by_k += .1)
            for (double by_s = .2; by_s < .85; by_s += .05)
                best = fmin(best, error_of(film, &off, by_k, by_s, k2));
    return best;
}

static void the_beam_comes_near_radiative_transfer(void) {
    static struct directions at;
    static struct lit film[FILMS];
    directions_make(&at, 1.5);
    for (int i = 0; i < 4; i++) {
        const double g = .2 * i;
        const struct beam on = {true, g};
        spray(&at, g, film);
        const double plain = best_plain(film),
                     with = error_of(film, &on, 2.178 + .14 * g, .754 + .045 * g, .606);
        printf("  figure: g %.1f: dL* rms plain %.2f, with the beam %.3f\n", g, plain, with);
        CHECK_AT_MOST(with, .09);
        CHECK(plain > 10 * with);
    }
}

int main(void) {
    RUN(the_beam_comes_near_radiative_transfer);
    return check_done();
}
