/* The mathematics of the camera, piece by piece. */
#include "check.h"
#include "colour/difference.h"
#include "surface/camera_doubt.h"
#include "surface/camera_fit.h"
#include "surface/camera_flat.h"
#include "surface/camera_spectrum.h"
#include "surface/camera_tone.h"
#include "surface/chart24.h"

static const struct weights *d65(void) {
    return weights_of((struct view){LIGHT_D65, OBSERVER_10});
}

/* The example of a published open library's documentation (colour-science 0.3.16, polynomial_expansion of
 * Finlayson et al. 2015, degree 2, roots; the last digits from its tests). */
static void root_polynomial_terms_are_the_published_ones(void) {
    const double rgb[3] = {0.17224810, 0.09170660, 0.06416938};
    const double want[6] = {0.17224810, 0.09170660, 0.06416938, 0.12568328, 0.07671216, 0.10513350};
    double got[FIT_TERMS_MOST];
    CHECK(map_terms(MODEL_ROOT, 3, rgb, got) == 6);
    for (int i = 0; i < 6; i++) CHECK_NEAR(got[i], want[i], 5e-9);
}

/* Finlayson, Mackiewicz and Hurlbert 2015: a root-polynomial keeps its answer under a change of exposure. */
static void exposure_scales_through_the_roots(void) {
    const double rgb[3] = {.31, .12, .05}, brighter[3] = {.62, .24, .10};
    double a[FIT_TERMS_MOST], b[FIT_TERMS_MOST];
    map_terms(MODEL_ROOT, 3, rgb, a);
    map_terms(MODEL_ROOT, 3, brighter, b);
    for (int i = 0; i < 6; i++) CHECK_NEAR(b[i], 2 * a[i], 1e-12);
}

/* Linear sRGB of a reflectance as IEC 61966-2-1 has it (2 degrees, D65). */
static void standard_rgb(const struct spectrum *r, double out[3]) {
    static const double to_rgb[3][3] = {
        {3.2406, -1.5372, -.4986}, {-.9689, 1.8758, .0415}, {.0557, -.2040, 1.0570}};
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_2});
    const struct xyz xyz = xyz_of(r, w);
    const double v[3] = {xyz.x / w->white.x * .9505, xyz.y / 100, xyz.z / w->white.z * 1.089};
    for (int c = 0; c < 3; c++) out[c] = to_rgb[c][0] * v[0] + to_rgb[c][1] * v[1] + to_rgb[c][2] * v[2];
}

/* White stays white, and the published chart (which the map was not made from) comes out for ten degrees. */
static void a_displays_colours_come_out_for_ten_degrees(void) {
    double m[3][3], sum = 0, most = 0;
    map_display(m);
    const struct xyz white = d65()->white;
    CHECK_NEAR(m[0][0] + m[0][1] + m[0][2], white.x, 1e-9);
    CHECK_NEAR(m[1][0] + m[1][1] + m[1][2], white.y, 1e-9);
    CHECK_NEAR(m[2][0] + m[2][1] + m[2][2], white.z, 1e-9);
    for (int i = 0; i < CHART24_PATCHES; i++) {
        struct spectrum r;
        double rgb[3], v[3];
        chart24_reflectance(i, &r);
        standard_rgb(&r, rgb);
        for (int k = 0; k < 3; k++) v[k] = m[k][0] * rgb[0] + m[k][1] * rgb[1] + m[k][2] * rgb[2];
        const double d =
            difference_de00(lab_of_spectrum(&r, d65()), lab_of((struct xyz){v[0], v[1], v[2]}, d65()));
        sum += d / CHART24_PATCHES, most = fmax(most, d);
    }
    printf("  figure: a display's colours for ten degrees, 24 patches: %.2f dE00 mean, %.2f at most\n", sum,
           most);
    CHECK_AT_MOST(sum, 1);
    CHECK_AT_MOST(most, 3);
}

/* The slope of Lab against differences, across the foot of the cube root (CIE 15: (6/29)^3). */
static void the_slope_of_lab_is_its_derivative(void) {
    const struct xyz at[4] = {{30, 25, 10}, {.5, .6, .4}, {.84, .886, .9}, {80, 90, 10}};
    for (int i = 0; i < 4; i++) {
        double slope[3][3];
        lab_slope(at[i], slope);
        const double h = 1e-6;
        struct xyz up = at[i], down = at[i];
        up.y += h, down.y -= h;
        const struct lab a = lab_of(up, d65()), b = lab_of(down, d65());
        CHECK_NEAR(slope[0][1], (a.l - b.l) / (2 * h), 1e-4);
        CHECK_NEAR(slope[1][1], (a.a - b.a) / (2 * h), 1e-4);
        CHECK_NEAR(slope[2][1], (a.b - b.b) / (2 * h), 1e-4);
    }
}

/* A camera that is a linear function of XYZ is undone exactly (the ridge leaves a little); the chart's 24
 * published reflectances are the patches. */
static void a_linear_camera_is_undone(void) {
    struct fit_sample sample[24];
    struct camera_map map;
    double hold[3][3], worst = 0;
    map_display(hold);
    for (int i = 0; i < 24; i++) {
        struct spectrum r;
        chart24_reflectance(i, &r);
        const struct xyz v = xyz_of(&r, d65());
        sample[i] = (struct fit_sample){.lab = lab_of(v, d65()), .weight = 1};
        sample[i].light[0] = (1.9 * v.x - .6 * v.y - .3 * v.z) / 100;
        sample[i].light[1] = (-.5 * v.x + 1.4 * v.y + .1 * v.z) / 100;
        sample[i].light[2] = (.1 * v.x - .2 * v.y + .95 * v.z) / 100;
    }
    CHECK(map_fit(MODEL_MATRIX, 3, sample, 24, (const double(*)[3])hold, FIT_LOOSE, NULL, &map));
    for (int i = 0; i < 24; i++)
        worst = fmax(worst, difference_de00(sample[i].lab, map_lab(&map, sample[i].light)));
    printf("  figure: a linear camera, 24 patches: worst %.4f dE00\n", worst);
    CHECK_AT_MOST(worst, .15);
    sample[5].weight = 0; /* a patch that is left out does not matter */
    sample[5].lab.l = 5;
    CHECK(map_fit(MODEL_MATRIX, 3, sample, 24, (const double(*)[3])hold, FIT_LOOSE, NULL, &map));
    CHECK_AT_MOST(difference_de00(sample[4].lab, map_lab(&map, sample[4].light)), .15);
}

static const struct tone_form straight = {.kind = TONE_STRAIGHT}, grey_curve = {.kind = TONE_GREY};

static double s_curve(double e) { /* something that a phone might do, with a veil of 2 % */
    const double v = e + .02, s = pow(v, .8) * (1 + .3 * v) / 1.3;
    return s;
}

static void a_tone_curve_is_found_from_seven_greys(void) {
    const double y[8] = {.88, .55, .36, .22, .12, .065, .035, .004};
    struct tone_knot knot[8];
    struct camera_tone grey, line;
    for (int i = 0; i < 8; i++) knot[i] = (struct tone_knot){s_curve(y[i]), y[i], 1};
    CHECK(tone_fit(knot, 8, &grey_curve, &grey));
    CHECK(grey.kind == TONE_GREY);
    CHECK(tone_fit(knot, 8, &straight, &line));
    double off = 0, off_line = 0;
    for (double e = .01; e < .85; e *= 1.07) {
        off = fmax(off, fabs(tone_light(&grey, s_curve(e)) / e - 1));
        off_line = fmax(off_line, fabs(tone_light(&line, s_curve(e)) / e - 1));
    }
    printf("  figure: tone curve between greys: light off by %.2f %% at most (a straight line: %.0f %%)\n",
           100 * off, 100 * off_line);
    CHECK_AT_MOST(off, .03);
    double before = -1;
    for (double v = 0; v < 1; v += .001) {
        const double light = tone_light(&grey, v);
        CHECK(light >= before);
        before = light;
    }
}

/* Gain and offset of a curve of the usual form, from three greys; and its light is light again. */
static void a_curve_of_the_usual_form_is_taken_back(void) {
    const struct tone_form form = {TONE_BENT, .18, .3};
    const double y[3] = {.8, .2, .03};
    struct tone_knot knot[3];
    struct camera_tone tone;
    for (int i = 0; i < 3; i++) {
        const double v = cbrt(y[i]), seen = v - (.18 + .3 * (1 - 2 * v)) * v * (1 - v);
        knot[i] = (struct tone_knot){.01 + .85 * seen * seen * seen, y[i], 1};
    }
    CHECK(tone_fit(knot, 3, &form, &tone) && tone.kind == TONE_BENT);
    CHECK_NEAR(tone.gain, .85, 1e-9);
    CHECK_NEAR(tone.offset, .01, 1e-9);
    double before = -1;
    for (int i = 0; i < 3; i++) CHECK_NEAR(tone_light(&tone, knot[i].value), y[i], 1e-9);
    for (double v = 0; v < 1; v += .001) {
        const double light = tone_light(&tone, v);
        CHECK(light >= before);
        before = light;
    }
}

static void a_straight_camera_needs_no_curve(void) {
    struct tone_knot knot[5];
    struct camera_tone tone;
    for (int i = 0; i < 5; i++) knot[i] = (struct tone_knot){.1 + .7 * .2 * (i + .1), .2 * (i + .1), 1};
    CHECK(tone_fit(knot, 5, &straight, &tone));
    CHECK_NEAR(tone.gain, .7, 1e-9);
    CHECK_NEAR(tone.offset, .1, 1e-9);
    /* The blacks of a sheet of dabs whose only white was left out: they tell no line. */
    struct tone_knot dark[3] = {{.0075, .0081, 1}, {.0078, .0082, 1}, {.77, .88, 1}};
    CHECK(!tone_fit(dark, 2, &straight, &tone));
    CHECK(tone_fit(dark, 3, &straight, &tone) && tone.gain > .8 && tone.gain < .95);
    for (int i = 0; i < 5; i++) knot[i].value = 1 - knot[i].value; /* falls: no camera does */
    CHECK(!tone_fit(knot, 5, &straight, &tone));
}

/* A known fall-off comes back although one place in ten is print. */
static void uneven_light_is_found_under_print(void) {
    enum { N = 100 };
    const double size[2] = {120, 90};
    double mm[N][2], light[N][3];
    unsigned long long state = 3;
    struct camera_flat flat;
    for (int i = 0; i < N; i++) {
        mm[i][0] = 6 + 12 * (i % 10), mm[i][1] = 4.5 + 9 * (i / 10);
        const double x = (mm[i][0] - 60) / 60, y = (mm[i][1] - 45) / 60;
        for (int c = 0; c < 3; c++)
            light[i][c] = .18 * exp(.06 * x - .04 * y - .05 * x * x - .03 * y * y + .01 * x * y) *
                          (1 + .004 * (check_random(&state) - .5)) * (i % 10 == 3 ? .4 : 1);
    }
    CHECK(flat_fit((const double(*)[2])mm, (const double(*)[3])light, N, size, &flat));
    for (int i = 0; i < N; i++) {
        const double x = (mm[i][0] - 60) / 60, y = (mm[i][1] - 45) / 60;
        const double want = .18 * exp(.06 * x - .04 * y - .05 * x * x - .03 * y * y + .01 * x * y);
        CHECK_NEAR(flat_at(&flat, 1, mm[i]) / want, 1, .003);
    }
    CHECK(!flat_fit((const double(*)[2])mm, (const double(*)[3])light, 11, size, &flat));
    CHECK_NEAR(flat_at(&flat, 0, mm[7]), 1, 0);
}

/* u95 of a covariance that is alike in all directions: the 95 % point of a chi-squared with 3 degrees of
 * freedom is 7.815 (any table); by Monte Carlo for one that is not. */
static void u95_holds_95_in_100(void) {
    const struct lab lab = {42, 14, 22, {LIGHT_D65, OBSERVER_10}};
    double cov[3][3] = {{1.2, .2, -.1}, {.2, .5, .3}, {-.1, .3, .9}};
    const double u95 = doubt_u95(lab, cov);
    const struct de00_metric m = difference_metric(lab);
    unsigned long long state = 9;
    /* Cholesky by hand. */
    const double a = sqrt(1.2), b = .2 / a, c = -.1 / a, d = sqrt(.5 - b * b), e = (.3 - b * c) / d,
                 f = sqrt(.9 - c * c - e * e);
    int inside = 0;
    const int n = 40000;
    for (int i = 0; i < n; i++) {
        double z[3];
        for (int k = 0; k < 3; k++) {
            z[k] = -6;
            for (int j = 0; j < 12; j++) z[k] += check_random(&state);
        }
        const double v[3] = {a * z[0], b * z[0] + d * z[1], c * z[0] + e * z[1] + f * z[2]};
        double square = 0;
        for (int k = 0; k < 3; k++) square += pow(m.f[k][0] * v[0] + m.f[k][1] * v[1] + m.f[k][2] * v[2], 2);
        inside += square <= u95 * u95;
    }
    printf("  figure: u95 holds %.1f %% of draws\n", 100. * inside / n);
    CHECK_NEAR((double)inside / n, .95, .01);
}

/* Spectra of the chart as a library of their mixtures: the estimate has the Lab that was asked for, and its
 * band holds the truth of mixtures that are not in the library. */
static void a_reflectance_has_the_lab_and_a_band(void) {
    enum { MIXES = 24 * 23 / 2 };
    static struct spectrum library[MIXES];
    struct spectrum pure[24];
    size_t n = 0;
    int inside = 0, bands = 0;
    for (int i = 0; i < 24; i++) chart24_reflectance(i, &pure[i]);
    for (int i = 0; i < 24; i++)
        for (int k = 0; k < i; k++, n++)
            for (int b = 0; b < BANDS; b++) library[n].band[b] = sqrt(pure[i].band[b] * pure[k].band[b]);
    for (int i = 0; i < 23; i++) {
        struct spectrum truth;
        struct spectrum_guess guess;
        double cov[3][3] = {{.01, 0, 0}, {0, .01, 0}, {0, 0, .01}};
        for (int b = 0; b < BANDS; b++)
            truth.band[b] = pow(pure[i].band[b], .3) * pow(pure[i + 1].band[b], .7);
        const struct lab lab = lab_of_spectrum(&truth, d65());
        struct arena *arena = arena_new();
        CHECK(spectrum_guess(library, n, true, lab, cov, arena, &guess));
        CHECK_AT_MOST(difference_de76(lab, lab_of_spectrum(&guess.reflectance, d65())), 1e-2);
        for (int b = 0; b < BANDS; b++, bands++)
            inside += fabs(truth.band[b] - guess.reflectance.band[b]) <= guess.band.band[b];
        arena_free(arena);
    }
    printf("  figure: band holds %.1f %% of the bands of unseen mixtures\n", 100. * inside / bands);
    CHECK((double)inside / bands > .88);
}

int main(void) {
    RUN(root_polynomial_terms_are_the_published_ones);
    RUN(exposure_scales_through_the_roots);
    RUN(a_displays_colours_come_out_for_ten_degrees);
    RUN(the_slope_of_lab_is_its_derivative);
    RUN(a_linear_camera_is_undone);
    RUN(a_tone_curve_is_found_from_seven_greys);
    RUN(a_curve_of_the_usual_form_is_taken_back);
    RUN(a_straight_camera_needs_no_curve);
    RUN(uneven_light_is_found_under_print);
    RUN(u95_holds_95_in_100);
    RUN(a_reflectance_has_the_lab_and_a_band);
    return check_done();
}
