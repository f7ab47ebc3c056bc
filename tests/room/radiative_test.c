/* The referee itself, against published values and an independent twin.
 * Sources: van de Hulst 1980 (slab a .9, g .75, optical depth 2: R .09739, T .66096) and Giovanelli 1955
 * (half space, a .9, isotropic, index 1.5: R .2600 with the surface's own reflection), both as they are
 * quoted in Wang, Jacques and Zheng 1995 (MCML), from memory; Chandrasekhar 1960, Radiative Transfer: H
 * function of isotropic scattering, solved here by iteration; Prahl's tables are made the same way. */
#include "check.h"
#include "room/radiative.h"

static struct directions matched, glassy;

static void published_slab_is_met(void) {
    struct medium medium;
    struct slab slab;
    medium_henyey_greenstein(&medium, 10, 90, .75);
    slab_make(&slab, &matched, &medium, .02);
    const double r = slab_flux(&matched, slab.r, DIRECTIONS - 1),
                 t = slab_flux(&matched, slab.t, DIRECTIONS - 1);
    printf("  figure: slab a .9 g .75 tau 2: R %.5f (.09739), T %.5f (.66096)\n", r, t);
    CHECK_NEAR(r, .09739, 3e-5);
    CHECK_NEAR(t, .66096, 3e-5);
}

static void published_half_space_under_glass_is_met(void) {
    struct medium medium;
    struct slab slab;
    medium_henyey_greenstein(&medium, 10, 90, 0);
    slab_make(&slab, &glassy, &medium, 10);
    const double r = surface_leaving(&glassy, slab.r).diffuse + glassy.outside;
    printf("  figure: half space a .9 isotropic index 1.5: R %.5f (.2600)\n", r);
    CHECK_NEAR(r, .2600, 2e-4);
}

static void nothing_is_lost_without_absorption(void) {
    struct medium medium;
    struct slab slab;
    double worst = 0;
    for (int g = 0; g < 4; g++)
        for (double film = .01; film < 300; film *= 3) {
            medium_henyey_greenstein(&medium, 0, .7, .25 * g);
            slab_make(&slab, &glassy, &medium, film);
            for (int from = -1; from < DIRECTIONS; from++)
                worst = fmax(worst,
                             fabs(slab_flux(&glassy, slab.r, from) + slab_flux(&glassy, slab.t, from) - 1));
            double over[DIRECTIONS][DIRECTIONS];
            slab_over(over, &glassy, &slab, 1);
            worst = fmax(worst, fabs(surface_leaving(&glassy, over).diffuse + glassy.outside - 1));
        }
    printf("  figure: energy lost without absorption at most %.1e\n", worst);
    CHECK_AT_MOST(worst, 2e-9);
}

/* Chandrasekhar: 1/H(mu) = sqrt(1 - a) + a/2 integral x H(x) / (mu + x) dx. */
static void chandrasekhar(double albedo, double *plane, double *spherical) {
    enum { POINTS = 4000 };
    static double x[POINTS], h[POINTS];
    for (int i = 0; i < POINTS; i++) x[i] = (i + .5) / POINTS, h[i] = 1;
    const double root = sqrt(1 - albedo);
    double h_one = 1;
    for (int step = 0; step < 60; step++) {
        static double next[POINTS];
        h_one = 0;
        for (int i = 0; i < POINTS; i++) {
            double sum = 0;
            for (int j = 0; j < POINTS; j += 1) sum += x[j] * h[j] / (x[i] + x[j]);
            next[i] = 1 / (root + albedo / 2 * sum / POINTS);
        }
        double change = 0;
        for (int j = 0; j < POINTS; j++) change = fmax(change, fabs(h[j] - next[j])), h[j] = next[j];
        if (change < 1e-9) break;
    }
    double sum = 0, first = 0;
    for (int j = 0; j < POINTS; j++) sum += x[j] * h[j] / (1 + x[j]), first += x[j] * h[j];
    h_one = 1 / (root + albedo / 2 * sum / POINTS);
    *plane = 1 - root * h_one;
    *spherical = 1 - 2 * root * first / POINTS;
}

static void half_space_agrees_with_chandrasekhar(void) {
    const double albedos[] = {.2, .8, .98};
    for (int i = 0; i < 3; i++) {
        struct medium medium;
        struct slab slab;
        double plane, spherical;
        chandrasekhar(albedos[i], &plane, &spherical);
        medium_henyey_greenstein(&medium, 1 - albedos[i], albedos[i], 0);
        slab_make(&slab, &matched, &medium, 4000);
        printf("  figure: albedo %.2f: plane %.6f (H: %.6f), diffuse %.6f (H: %.6f)\n", albedos[i],
               slab_flux(&matched, slab.r, DIRECTIONS - 1), plane, slab_flux(&matched, slab.r, -1),
               spherical);
        CHECK_NEAR(slab_flux(&matched, slab.r, DIRECTIONS - 1), plane, 2e-5);
        CHECK_NEAR(slab_flux(&matched, slab.r, -1), spherical, 2e-5);
    }
}

static void a_dye_follows_bouguer(void) {
    struct medium medium;
    struct slab slab;
    medium_henyey_greenstein(&medium, .05, 0, 0);
    slab_make(&slab, &glassy, &medium, 30);
    CHECK_NEAR(slab_flux(&glassy, slab.t, DIRECTIONS - 1), exp(-1.5), 2e-4);
}

static void light_may_go_either_way(void) {
    struct medium medium;
    struct slab slab;
    medium_henyey_greenstein(&medium, .02, .3, .6);
    slab_make(&slab, &glassy, &medium, 30);
    for (int i = 0; i < DIRECTIONS; i++)
        for (int j = 0; j < i; j++) {
            CHECK_NEAR(slab.r[i][j], slab.r[j][i], 1e-10);
            CHECK_NEAR(slab.t[i][j], slab.t[j][i], 1e-10);
        }
}

/* Two films of the same paint are one film. */
static void adding_agrees_with_doubling(void) {
    struct medium medium;
    struct slab thin, thick;
    double floor[DIRECTIONS][DIRECTIONS], stacked[DIRECTIONS][DIRECTIONS], whole[DIRECTIONS][DIRECTIONS];
    medium_henyey_greenstein(&medium, .01, .3, .5);
    slab_make(&thin, &glassy, &medium, 12);
    slab_make(&thick, &glassy, &medium, 30);
    slab_over(floor, &glassy, &thin, .6);
    slab_make(&thin, &glassy, &medium, 18);
    slab_stack_reflection(stacked, &thin, floor);
    slab_over(whole, &glassy, &thick, .6);
    CHECK_NEAR(surface_leaving(&glassy, stacked).diffuse, surface_leaving(&glassy, whole).diffuse, 2e-5);
    CHECK_NEAR(surface_leaving(&glassy, stacked).oblique, surface_leaving(&glassy, whole).oblique, 2e-5);
}

int main(void) {
    directions_make(&matched, 1);
    directions_make(&glassy, 1.5);
    RUN(published_slab_is_met);
    RUN(published_half_space_under_glass_is_met);
    RUN(nothing_is_lost_without_absorption);
    RUN(half_space_agrees_with_chandrasekhar);
    RUN(a_dye_follows_bouguer);
    RUN(light_may_go_either_way);
    RUN(adding_agrees_with_doubling);
    return check_done();
}
