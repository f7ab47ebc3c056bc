/* Repeats: the mean is robust, what is left out is named, and good sets are left alone. Scatter is normal in
 * L, a, b (Box and Muller), which is common practice for an instrument's repeatability. */
#include "check.h"
#include "colour/repeats.h"

static const struct view d65_10 = {LIGHT_D65, OBSERVER_10};
static unsigned long long seed = 31;

static double normal(void) {
    const double u = check_random(&seed), v = check_random(&seed);
    return sqrt(-2 * log(u + 1e-300)) * cos(2 * M_PI * v);
}

static struct reading lab_reading(const char *id, double l, double a, double b) {
    struct reading r = {.geometry = GEOMETRY_SCI, .lab = {l, a, b, d65_10}};
    snprintf(r.id, sizeof r.id, "%s", id);
    return r;
}

static struct reading flat_reading(const char *id, double level) {
    struct reading r = {.geometry = GEOMETRY_SCI, .has_spectrum = true};
    snprintf(r.id, sizeof r.id, "%s", id);
    for (int i = 0; i < BANDS; i++) r.reflectance.band[i] = level + .002 * i;
    r.lab = lab_of_spectrum(&r.reflectance, weights_of(d65_10));
    return r;
}

static struct repeats take(const struct reading *reading, size_t count, struct arena *arena) {
    struct repeats out = {0};
    struct fault fault = {0};
    CHECK(repeats_mean(reading, count, arena, &out, &fault) == STATUS_OK);
    return out;
}

static void one_is_itself(void) {
    struct arena *arena = arena_new();
    const struct reading one = flat_reading("a", .2);
    const struct repeats r = take(&one, 1, arena);
    CHECK(memcmp(r.mean.reflectance.band, one.reflectance.band, sizeof one.reflectance.band) == 0);
    CHECK(r.kept == 1 && r.rejected_count == 0 && r.mean_de00 == 0 && r.max_de00 == 0);
    CHECK_TEXT(r.mean.id, "a");
    arena_free(arena);
}

static void the_mean_is_of_reflectance(void) {
    struct arena *arena = arena_new();
    const struct reading two[] = {flat_reading("a", .20), flat_reading("b", .22)};
    const struct repeats r = take(two, 2, arena);
    for (int i = 0; i < BANDS; i++) CHECK_NEAR(r.mean.reflectance.band[i], .21 + .002 * i, 1e-15);
    const struct lab want = lab_of_spectrum(&r.mean.reflectance, weights_of(d65_10));
    CHECK(memcmp(&r.mean.lab, &want, sizeof want) == 0);
    CHECK_NEAR(r.max_de00, difference_de00(r.mean.lab, two[0].lab), .05);
    CHECK_NEAR(r.mean_de00,
               (difference_de00(r.mean.lab, two[0].lab) + difference_de00(r.mean.lab, two[1].lab)) / 2,
               1e-12);
    arena_free(arena);
}

static void a_stray_repeat_is_named(enum repeat_why why, struct reading stray) {
    struct arena *arena = arena_new();
    const struct reading all[] = {lab_reading("a", 50, 20, 30), stray, lab_reading("b", 50.2, 20.1, 29.9),
                                  lab_reading("c", 49.9, 19.9, 30.1)};
    const struct repeats r = take(all, 4, arena);
    CHECK(r.kept == 3 && r.rejected_count == 1);
    CHECK(r.rejected[0].index == 1 && r.rejected[0].why == why);
    CHECK_NEAR(r.rejected[0].de00, difference_de00(r.mean.lab, stray.lab), 1e-12);
    CHECK_NEAR(r.mean.lab.l, (50 + 50.2 + 49.9) / 3, 1e-12);
    CHECK_AT_MOST(r.max_de00, .4);
    arena_free(arena);
}

static void strays_are_left_out_and_told_why(void) {
    a_stray_repeat_is_named(REPEAT_DARKER, lab_reading("crack", 46, 20, 30));
    a_stray_repeat_is_named(REPEAT_LIGHTER, lab_reading("gloss", 54, 19, 28));
    a_stray_repeat_is_named(REPEAT_OTHER_COLOUR, lab_reading("stain", 50, 14, 30));
}

static void in_spectra_too(void) {
    struct arena *arena = arena_new();
    const struct reading all[] = {flat_reading("a", .20), flat_reading("b", .201), flat_reading("white", .8)};
    const struct repeats r = take(all, 3, arena);
    CHECK(r.kept == 2 && r.rejected_count == 1 && r.rejected[0].index == 2 &&
          r.rejected[0].why == REPEAT_LIGHTER);
    CHECK_NEAR(r.mean.reflectance.band[5], .2105, 1e-12);
    arena_free(arena);
}

/* Within half a dE00 nothing is left out, however well the others agree. */
static void close_ones_all_stay(void) {
    struct arena *arena = arena_new();
    const struct reading all[] = {lab_reading("a", 50, 0, 0), lab_reading("b", 50, 0, 0),
                                  lab_reading("c", 50, 0, 0), lab_reading("d", 50.45, 0, 0)};
    CHECK(take(all, 4, arena).kept == 4);
    arena_free(arena);
}

static void geometry_is_the_one_that_is_said(void) {
    struct arena *arena = arena_new();
    struct reading all[] = {lab_reading("a", 50, 0, 0), lab_reading("b", 50, 0, 0)};
    all[0].geometry = GEOMETRY_UNKNOWN;
    CHECK(take(all, 2, arena).mean.geometry == GEOMETRY_SCI);
    arena_free(arena);
}

static void covariance_is_averaged_not_divided(void) {
    struct arena *arena = arena_new();
    struct reading all[] = {lab_reading("a", 50, 0, 0), lab_reading("b", 50.1, 0, 0)};
    for (int i = 0; i < 2; i++)
        all[i].has_cov = true, all[i].lab_cov[0][0] = 1 + i, all[i].lab_cov[1][2] = .5;
    const struct repeats r = take(all, 2, arena);
    CHECK(r.mean.has_cov);
    CHECK_NEAR(r.mean.lab_cov[0][0], 1.5, 1e-15);
    CHECK_NEAR(r.mean.lab_cov[1][2], .5, 1e-15);
    arena_free(arena);
}

static void refuse(const struct reading *all, size_t n, enum word word) {
    struct arena *arena = arena_new();
    struct repeats out = {.kept = 77};
    struct fault fault = {0};
    CHECK(repeats_mean(all, n, arena, &out, &fault) == STATUS_INPUT);
    CHECK(fault.word == word);
    CHECK(out.kept == 77);
    arena_free(arena);
}

static void what_are_no_repeats_is_refused(void) {
    struct reading mixed[] = {lab_reading("a", 50, 0, 0), flat_reading("b", .2)};
    refuse(mixed, 2, WORD_REPEATS_MIXED);
    struct reading angles[] = {lab_reading("a", 50, 0, 0), lab_reading("b", 50, 0, 0)};
    angles[1].geometry = GEOMETRY_SCE;
    refuse(angles, 2, WORD_REPEATS_GEOMETRY);
    const struct reading chart[] = {lab_reading("red", 50, 50, 20), lab_reading("blue", 40, 5, -40),
                                    lab_reading("white", 95, 0, 0), lab_reading("black", 20, 0, 0)};
    refuse(chart, 4, WORD_REPEATS_FAR);
}

/* How often a good set loses a repeat, and how often a stray of 2 L* among them is caught; sd .25 of each of
 * L, a, b. */
static void good_sets_are_left_alone(void) {
    for (size_t n = 3; n <= 9; n += 2) {
        int hurt = 0, caught = 0;
        for (int trial = 0; trial < 2000; trial++) {
            struct arena *arena = arena_new();
            struct reading all[9];
            for (size_t i = 0; i < n; i++) {
                const double l = normal(), a = normal(), b = normal();
                all[i] = lab_reading("r", 40 + .25 * l, 15 + .25 * a, 20 + .25 * b);
            }
            hurt += take(all, n, arena).rejected_count > 0;
            all[n - 1].lab.l = 37.5;
            const struct repeats r = take(all, n, arena);
            caught += r.rejected_count > 0 && r.rejected[r.rejected_count - 1].index == n - 1;
            arena_free(arena);
        }
        printf("  figure: %zu repeats, sd .25: %.2f %% of good sets lose one, a stray of -2.5 L* is caught "
               "in %.1f %%\n",
               n, hurt / 20., caught / 20.);
        CHECK_AT_MOST(hurt, n == 3 ? 60 : 20);
        CHECK(caught > (n == 3 ? 1000 : 1600));
    }
}

int main(void) {
    RUN(one_is_itself);
    RUN(the_mean_is_of_reflectance);
    RUN(strays_are_left_out_and_told_why);
    RUN(in_spectra_too);
    RUN(close_ones_all_stay);
    RUN(geometry_is_the_one_that_is_said);
    RUN(covariance_is_averaged_not_divided);
    RUN(what_are_no_repeats_is_refused);
    RUN(good_sets_are_left_alone);
    return check_done();
}
