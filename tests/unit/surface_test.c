/* The air interface against tests/data/checks/km_saunderson_hiding_vectors.txt and facts of optics. */
#include "check.h"
#include "paint/film.h"
#include "paint/surface.h"

static unsigned long long seed = 42;

static double between(double low, double high) {
    return low + (high - low) * check_random(&seed);
}

static void saunderson_meets_its_vectors(void) {
    static const double row[4][4] = {{0.01, 0.043863179, 0.003863179, 0},
                                     {0.1, 0.080851064, 0.040851064, 0},
                                     {0.5, 0.314285714, 0.274285714, 0},
                                     {0.9, 0.791304348, 0.751304348, 0}};
    const struct surface surface = {.k1 = 0.04, .k2 = 0.6};
    for (int i = 0; i < 4; i++) {
        CHECK_NEAR(surface_measured(row[i][0], &surface, GEOMETRY_SCI, NULL), row[i][1], 5e-10);
        CHECK_NEAR(surface_measured(row[i][0], &surface, GEOMETRY_SCE, NULL), row[i][2], 5e-10);
        CHECK_NEAR(surface_measured(row[i][0], &surface, GEOMETRY_45_0, NULL), row[i][2], 5e-10);
        CHECK_NEAR(surface_inner(row[i][1], &surface, GEOMETRY_SCI), row[i][0], 5e-9);
    }
    const struct surface other = {.k1 = 0.03, .k2 = 0.65};
    CHECK_NEAR(surface_measured(0.5, &other, GEOMETRY_SCE, NULL), 0.281481481 - 0.03, 5e-10);
}

static const enum geometry geometries[] = {GEOMETRY_UNKNOWN, GEOMETRY_SCI, GEOMETRY_SCE, GEOMETRY_45_0,
                                           GEOMETRY_PHOTO};

static void there_and_back_is_where_it_was(void) {
    double worst = 0;
    for (int i = 0; i < 200000; i++) {
        const struct surface surface = {between(0, 0.2), between(0, 0.95), check_random(&seed),
                                        i % 3 ? between(0, 0.05) : 0, i % 2 ? between(-.2, .2) : 0};
        const enum geometry geometry = geometries[i % 5];
        const double inner = i % 7 == 0 ? 0 : i % 7 == 1 ? 1 : check_random(&seed);
        double slope;
        const double measured = surface_measured(inner, &surface, geometry, &slope);
        CHECK_NEAR(surface_inner(measured, &surface, geometry), inner, 2e-14);
        worst = fmax(worst, fabs(surface_inner(measured, &surface, geometry) - inner));
        CHECK(measured >= 0 && measured <= 1 + fmax(surface.oblique, 0) + 1e-15 && slope > 0);
        const double h = 1e-6, at = fmin(fmax(inner, h), 1 - h);
        const double want = (surface_measured(at + h, &surface, geometry, NULL) -
                             surface_measured(at - h, &surface, geometry, NULL)) /
                            (2 * h);
        surface_measured(at, &surface, geometry, &slope);
        CHECK_NEAR(slope, want, 1e-7 * (1 + want));
    }
    printf("  figure: inner -> measured -> inner, 200000 surfaces: %.2g\n", worst);
}

static void what_no_paint_can_read_is_held_at_the_ends(void) {
    const struct surface surface = {.k1 = 0.04, .k2 = 0.6, .sheen_return = 0.5};
    CHECK_NEAR(surface_inner(0.03, &surface, GEOMETRY_SCI), 0, 0);
    CHECK_NEAR(surface_inner(0.02, &surface, GEOMETRY_SCE), 0, 0);
    CHECK(surface_inner(0.021, &surface, GEOMETRY_SCE) > 0);
    CHECK_NEAR(surface_inner(1.2, &surface, GEOMETRY_SCI), 1, 0);
    CHECK_NEAR(surface_inner(-1, &surface, GEOMETRY_SCE), 0, 0);
}

/* n -> k1 at the normal, diffuse from outside, k2: the figures of the vectors file. */
static void fresnel_meets_its_figures(void) {
    static const double row[6][3] = {{1.40, 0.076812, 0.528985}, {1.45, 0.084367, 0.564503},
                                     {1.48, 0.088829, 0.584016}, {1.50, 0.091778, 0.596346},
                                     {1.55, 0.099066, 0.625001}, {1.60, 0.106246, 0.650877}};
    for (int i = 0; i < 6; i++) {
        CHECK_NEAR(fresnel_diffuse_outside(row[i][0]), row[i][1], 5e-7);
        CHECK_NEAR(fresnel_diffuse_inside(row[i][0]), row[i][2], 5e-7);
    }
    CHECK_NEAR(fresnel_at(1.5, 0), 0.04, 1e-15);
    CHECK_NEAR(fresnel_at(1.48, 0), 0.037461, 5e-7);
    CHECK_NEAR(fresnel_at(1.567, 20), 0.0490781, 5e-8); /* ISO 2813's black glass */
    CHECK_NEAR(fresnel_at(1.567, 60), 0.1000560, 5e-8);
    CHECK_NEAR(fresnel_at(1.567, 85), 0.6191482, 5e-8);
    CHECK_NEAR(fresnel_at(1.5, 90), 1, 1e-12);
    CHECK_NEAR(fresnel_at(1, 37), 0, 1e-30);
    CHECK_NEAR(100 * fresnel_at(1.5, 60) / fresnel_at(1.567, 60), 89.14, 0.005);
}

/* Walsh 1926: the closed form of the diffuse reflection, as a second way to it. */
static double walsh(double n) {
    const double n2 = n * n, plus = n2 + 1, minus = n2 - 1;
    return 0.5 + (n - 1) * (3 * n + 1) / (6 * (n + 1) * (n + 1)) +
           n2 * minus * minus / (plus * plus * plus) * log((n - 1) / (n + 1)) -
           2 * n2 * n * (n2 + 2 * n - 1) / (plus * (n2 * n2 - 1)) +
           8 * n2 * n2 * (n2 * n2 + 1) / (plus * (n2 * n2 - 1) * (n2 * n2 - 1)) * log(n);
}

static void the_diffuse_reflection_meets_walsh(void) {
    for (double n = 1.05; n < 2.5; n += 0.05) CHECK_NEAR(fresnel_diffuse_outside(n), walsh(n), 2e-6);
}

static void a_matter_surface_returns_more_and_never_less(void) {
    double before[5] = {2, 2, 2, 2, 2};
    for (double gu = 0; gu < 130; gu = gu * 1.02 + 0.01)
        for (int g = 1; g < 5; g++) {
            const double part = sheen_return(gu, geometries[g]);
            CHECK(part >= 0 && part <= 1 && part <= before[g]);
            before[g] = part;
        }
    CHECK(sheen_return(0.5, GEOMETRY_SCE) > 0.98 && sheen_return(89, GEOMETRY_SCE) < 1e-6);
    CHECK(sheen_return(0.5, GEOMETRY_45_0) > 0.98 && sheen_return(89, GEOMETRY_45_0) < 1e-6);
    CHECK(sheen_return(20, GEOMETRY_45_0) <
          sheen_return(20, GEOMETRY_SCE)); /* 45/0 looks further off the mirror than a trap does */
    CHECK_NEAR(sheen_return(20, GEOMETRY_PHOTO), sheen_return(20, GEOMETRY_45_0), 0);
    printf("  figure: k1 returned at 1, 3, 10, 30, 60 GU: sce");
    for (int i = 0; i < 5; i++)
        printf(" %.3f", sheen_return((const double[]){1, 3, 10, 30, 60}[i], GEOMETRY_SCE));
    printf(", 45/0");
    for (int i = 0; i < 5; i++)
        printf(" %.3f", sheen_return((const double[]){1, 3, 10, 30, 60}[i], GEOMETRY_45_0));
    printf("\n");
}

/* The facet model by brute force: tilt many facets, count where their rays go. */
static void the_lobe_is_what_tilted_facets_do(void) {
    const double radians = 3.14159265358979323846 / 180;
    for (double gu = 2; gu < 80; gu *= 2) {
        double m = 60; /* degrees; find the slope again by sampling in the plane and across it */
        double low = 0.05, high = 60;
        for (int i = 0; i < 50; i++) {
            m = sqrt(low * high);
            if (89.14 * erf(2.2 / (sqrt(2) * 2 * m)) * erf(5.85 / (sqrt(2) * m)) > gu)
                low = m;
            else
                high = m;
        }
        int inside = 0, trapped = 0;
        const int rays = 400000;
        for (int i = 0; i < rays; i++) {
            const double radius = sqrt(-2 * log(1 - check_random(&seed))) * m,
                         turn = 360 * radians * check_random(&seed);
            const double along = radius * cos(turn), across = radius * sin(turn); /* tilts, degrees */
            inside += fabs(2 * along) < 2.2 && fabs(2 * 0.5 * across) < 5.85;
            trapped += hypot(2 * along, 2 * across) < 6;
        }
        CHECK_NEAR(89.14 * inside / rays, gu, 0.03 * gu + 0.2);
        CHECK_NEAR(1 - (double)trapped / rays, sheen_return(gu, GEOMETRY_SCE), 0.004);
    }
}

static void haze_is_a_thin_white_film_over_the_colour(void) {
    const struct surface bare = {.k1 = 0.04, .k2 = 0.6}, hazy = {.k1 = 0.04, .k2 = 0.6, .haze = 0.004};
    for (double inner = 0; inner <= 1; inner += 0.05) {
        const double through = film_inner(0, 1, 0.004, inner);
        CHECK_NEAR(surface_measured(inner, &hazy, GEOMETRY_SCE, NULL),
                   surface_measured(through, &bare, GEOMETRY_SCE, NULL), 1e-15);
    }
    CHECK_NEAR(sheen_haze(89.14, NULL), 0, 1e-12);
    CHECK_NEAR(sheen_haze(120, NULL), 0, 0);
    CHECK_NEAR(sheen_haze(8.914, NULL), TOPCOAT_MODELLED_HAZE, 1e-12);
    const struct topcoat measured = {.measured = true, .haze_per_decade = 0.003},
                         unmeasured = {.haze_per_decade = 0.003};
    CHECK_NEAR(sheen_haze(0.8914, &measured), 0.006, 1e-12);
    CHECK_NEAR(sheen_haze(0.8914, &unmeasured), 2 * TOPCOAT_MODELLED_HAZE, 1e-12);
    double before = 1;
    for (double gu = 0; gu < 100; gu += 0.5) {
        CHECK(sheen_haze(gu, &measured) <= before);
        before = sheen_haze(gu, &measured);
    }
}

/* What the shop's clears were read to return stands at its own sheens, falls between them, and meets the
 * model's shape beyond; without readings it is the model. */
static void what_clears_return_is_met_where_it_was_read(void) {
    const struct topcoat none = {0}, read = {.measured = true,
                                             .sheens = 3,
                                             .sheen_gu = {4, 20, 50},
                                             .returned = {.92, .64, .25}};
    for (int g = 0; g < 2; g++) {
        const enum geometry geometry = g ? GEOMETRY_45_0 : GEOMETRY_SCE;
        double before = 1;
        for (size_t i = 0; i < read.sheens; i++)
            CHECK_NEAR(topcoat_return(&read, read.sheen_gu[i], geometry), read.returned[i], 1e-12);
        CHECK_NEAR(topcoat_return(&read, sqrt(4 * 20.), geometry), 1 / (1 + sqrt(.08 / .92 * .36 / .64)),
                   1e-12); /* halfway in the logarithm: mean logit */
        for (double gu = .2; gu < 100; gu *= 1.1) {
            const double now = topcoat_return(&read, gu, geometry);
            CHECK(now >= 0 && now <= before + 1e-12);
            before = now;
            CHECK(topcoat_return(&none, gu, geometry) == sheen_return(gu, geometry));
        }
    }
}

int main(void) {
    RUN(saunderson_meets_its_vectors);
    RUN(there_and_back_is_where_it_was);
    RUN(what_no_paint_can_read_is_held_at_the_ends);
    RUN(fresnel_meets_its_figures);
    RUN(the_diffuse_reflection_meets_walsh);
    RUN(a_matter_surface_returns_more_and_never_less);
    RUN(the_lobe_is_what_tilted_facets_do);
    RUN(haze_is_a_thin_white_film_over_the_colour);
    RUN(what_clears_return_is_met_where_it_was_read);
    return check_done();
}
