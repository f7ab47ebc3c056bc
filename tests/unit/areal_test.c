/* ISO 25178-2 parameters against closed forms of simple surfaces (own calculus; the numbers to seven digits
 * stand in the method notes), ISO 16610-61 transmissions, and a random surface of Gaussian autocorrelation.
 */
#include "random_field.h"
#include "surface/areal.h"

static const double pi = 3.14159265358979323846;

static struct relief wave(int w, int h, double step, double kx, double ky, bool product) {
    struct relief r = {w, h, step, calloc((size_t)w * (size_t)h, sizeof(double))};
    for (int y = 0; y < h && r.z_mm; y++)
        for (int x = 0; x < w; x++) {
            const double a = kx * (x + .5) * step, b = ky * (y + .5) * step;
            r.z_mm[(size_t)y * (size_t)w + (size_t)x] = .05 * (product ? sin(a) * sin(b) : sin(a + b));
        }
    return r;
}

static void one_sine(void) {
    /* 37 waves of 1 mm in 4096 pixels: every phase is met once */
    const double step = 37. / 4096, k = 2 * pi;
    struct relief r = wave(4096, 64, step, k, 0, false);
    struct areal a;
    areal_measure(&r, NULL, &a);
    CHECK_NEAR(a.value[AREAL_SA], .1 / pi, 1e-6 * .1 / pi);
    CHECK_NEAR(a.value[AREAL_SQ], .05 / sqrt(2), 1e-6 * .05);
    CHECK_NEAR(a.value[AREAL_SZ], .1, 1e-6 * .1);
    CHECK_NEAR(a.value[AREAL_SSK], 0, 1e-6);
    CHECK_NEAR(a.value[AREAL_SKU], 1.5, 1e-6);
    CHECK_NEAR(a.value[AREAL_SDQ], .1 * pi / sqrt(2), 1e-6 * .2221441);
    CHECK_NEAR(a.value[AREAL_SDR], .02423523, 1e-6 * .02423523);
    CHECK_NEAR(a.value[AREAL_SAL], .2179529, .01 * .2179529);
    CHECK_AT_MOST(areal_turn(a.value[AREAL_STD], 0), 1);
    CHECK(a.is_open);
    printf("  figure: sine: Sal %.7f (.2179529), Sdr %.8f (.02423523)\n", a.value[AREAL_SAL],
           a.value[AREAL_SDR]);
    free(r.z_mm);
}

static void two_sines(void) {
    const double step = 31. / 2048, k = 2 * pi;
    struct relief r = wave(2048, 2048, step, k, k, true);
    struct areal a;
    areal_measure(&r, NULL, &a);
    CHECK_NEAR(a.value[AREAL_SA], .2 / (pi * pi), 1e-6 * .0202642);
    CHECK_NEAR(a.value[AREAL_SQ], .025, 1e-6 * .025);
    CHECK_NEAR(a.value[AREAL_SKU], 2.25, 1e-6);
    CHECK_NEAR(a.value[AREAL_STR], .8746243, .01 * .8746243);
    CHECK_NEAR(a.value[AREAL_SAL], .2179529, .01 * .2179529);
    CHECK_NEAR(a.value[AREAL_SDR], .02430607, 1e-6 * .02430607);
    CHECK(!a.is_open);
    printf("  figure: product of sines: Str %.7f (.8746243), Sal %.7f\n", a.value[AREAL_STR],
           a.value[AREAL_SAL]);
    free(r.z_mm);
}

static void the_direction_turns_with_the_wave(void) {
    for (int deg = 0; deg < 180; deg += 15) {
        const double k = 2 * pi, t = deg * pi / 180;
        struct relief r = wave(400, 300, .05, k * cos(t), -k * sin(t), false); /* y points down */
        struct areal a;
        areal_measure(&r, NULL, &a);
        CHECK_AT_MOST(areal_turn(a.value[AREAL_STD], deg), 1);
        free(r.z_mm);
    }
}

static void a_gaussian_field(void) {
    /* 48 x 48 mm hold some 13,000 grains: what chance leaves of the shortest way is under 1 % */
    const double step = .03, t = .25, sq = .01, m = 4 * sq * sq / (t * t);
    double sal = 0, str = 0;
    for (unsigned long long seed = 1; seed <= 2; seed++) {
        struct relief r = {1600, 1600, step, random_field(1600, step, sq, t, t, seed)};
        struct areal a;
        areal_measure(&r, NULL, &a);
        CHECK_NEAR(a.value[AREAL_SQ], sq, 1e-9);
        CHECK_NEAR(a.value[AREAL_SDQ], 2 * sq / t, .005 * 2 * sq / t);
        const double sdr = sqrt(pi * m) / 2 * exp(1 / m) * erfc(1 / sqrt(m));
        CHECK_NEAR(a.value[AREAL_SDR], sdr, .01 * sdr);
        sal += a.value[AREAL_SAL] / 2, str += a.value[AREAL_STR] / 2;
        free(r.z_mm);
    }
    printf("  figure: Gaussian ACF: Sal %.5f mm (%.5f), Str %.4f\n", sal, 1.2686362 * t, str);
    CHECK_NEAR(sal, 1.2686362 * t, .01 * 1.2686362 * t);
    CHECK_NEAR(str, 1, .01);
}

static void a_plane_and_a_bowl_are_levelled_away(void) {
    struct relief r = {90, 60, .1, calloc(90 * 60, sizeof(double))};
    struct areal a;
    for (int i = 0; i < 90 * 60 && r.z_mm; i++) r.z_mm[i] = .3 * (i % 90) * .1 + .4 * (i / 90) * .1;
    areal_measure(&r, NULL, &a);
    CHECK_NEAR(a.value[AREAL_SDQ], .5, 1e-9);
    for (int i = 0; i < 90 * 60 && r.z_mm; i++)
        r.z_mm[i] += 1e-3 * (i % 90) * (i % 90) - 2e-4 * (i % 90) * (i / 90);
    areal_level(&r);
    areal_measure(&r, NULL, &a);
    CHECK_AT_MOST(a.value[AREAL_SZ], 1e-11);
    free(r.z_mm);
}

static void a_flat_surface_has_no_grain(void) {
    double z[20 * 20] = {0};
    const struct relief r = {20, 20, .1, z};
    struct areal a;
    areal_measure(&r, NULL, &a);
    for (int i = 0; i < AREAL_COUNT; i++) CHECK_NEAR(a.value[i], 0, 0);
}

/* ISO 16610-61: what is let through at multiples of the limit. */
static void the_filter_lets_through_what_the_standard_says(void) {
    static const double ratio[] = {4, 2, 1, .5, 1. / 3}, want[] = {.957603, .840896, .5, .0625, .001953};
    for (int i = 0; i < 5; i++) {
        CHECK_NEAR(areal_transmission(ratio[i]), want[i], 1e-6);
        struct relief r = {480, 32, 1. / 48, calloc(480 * 32, sizeof(double))};
        const double waves = 2; /* whole halves of a cosine: an eigenvector of the mirrored field */
        for (int k = 0; k < 480 * 32 && r.z_mm; k++) r.z_mm[k] = cos(2 * pi * waves * (k % 480 + .5) / 480);
        const double lambda = 10 / waves;
        areal_filter(&r, lambda / ratio[i], 0);
        CHECK_NEAR(r.z_mm[0], want[i] * cos(2 * pi * waves * .5 / 480), 1e-6);
        free(r.z_mm);
    }
}

static void chance_shrinks_with_the_field(void) {
    double u[2];
    for (int i = 0; i < 2; i++) {
        const int n = 192 << i;
        struct relief r = {n, n, .05, random_field(n, .05, .03, .4, .4, 9)};
        struct areal whole, u95;
        areal_measure(&r, NULL, &whole), areal_chance(&r, &whole, NULL, &u95);
        u[i] = u95.value[AREAL_SAL];
        free(r.z_mm);
    }
    CHECK(u[0] > u[1] && u[1] > 0);
}

int main(void) {
    RUN(one_sine);
    RUN(two_sines);
    RUN(the_direction_turns_with_the_wave);
    RUN(a_gaussian_field);
    RUN(a_plane_and_a_bowl_are_levelled_away);
    RUN(a_flat_surface_has_no_grain);
    RUN(the_filter_lets_through_what_the_standard_says);
    RUN(chance_shrinks_with_the_field);
    return check_done();
}
