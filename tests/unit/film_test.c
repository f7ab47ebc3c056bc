/* The film against things that are not its closed form: integration of the differential equation of Kubelka
 * and Munk 1931, the exponential of its matrix exponential in 113 bits, the limits of theory, and
 * tests/data/checks/km_saunderson_hiding_vectors.txt. */
#include "check.h"
#include "paint/film.h"
#include <float.h>

#pragma GCC diagnostic ignored "-Wdouble-promotion" /* here doubles meet wider numbers on purpose */

static unsigned long long seed = 20261125;

static double between(double low, double high) {
    return low + (high - low) * check_random(&seed);
}

/* Spread evenly over the decades; one in eight is exactly 0. */
static double decades(double low, double high) {
    if (check_random(&seed) < 0.125) return 0;
    return exp(between(log(low), log(high)));
}

static double ground(void) {
    const double pick = check_random(&seed);
    return pick < 0.1 ? 0 : pick < 0.2 ? 1 : check_random(&seed);
}

/* ---- Runge-Kutta 4(5) of Dormand and Prince 1980 with step control, for R and its slopes by K and S
 * together. ---- */

struct state {
    double r, by_k, by_s;
};

static struct state slope(struct state at, double k, double s) {
    const double weaken = -2 * s * (1 - at.r) - 2 * k; /* d f / d R */
    return (struct state){s * (1 - at.r) * (1 - at.r) - 2 * k * at.r, weaken * at.by_k - 2 * at.r,
                          weaken * at.by_s + (1 - at.r) * (1 - at.r)};
}

static struct state moved(struct state at, const double *weight, const struct state *stage, int n, double h) {
    for (int i = 0; i < n; i++) {
        at.r += h * weight[i] * stage[i].r;
        at.by_k += h * weight[i] * stage[i].by_k;
        at.by_s += h * weight[i] * stage[i].by_s;
    }
    return at;
}

static const double tableau[6][6] = {
    {1. / 5},
    {3. / 40, 9. / 40},
    {44. / 45, -56. / 15, 32. / 9},
    {19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
    {9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
    {35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
};
static const double fourth[7] = {5179. / 57600,    0,           7571. / 16695, 393. / 640,
                                 -92097. / 339200, 187. / 2100, 1. / 40};

static struct state integrated(double k, double s, double x, double backing) {
    struct state at = {backing, 0, 0};
    double here = 0, h = 1e-4 * x;
    while (here < x) {
        if (here + h > x) h = x - here;
        struct state stage[7] = {slope(at, k, s)}, next = at;
        for (int i = 0; i < 6; i++) {
            next = moved(at, tableau[i], stage, i + 1, h);
            stage[i + 1] = slope(next, k, s);
        }
        const struct state check = moved(at, fourth, stage, 7, h);
        const double size = 1 + fabs(next.by_k) + fabs(next.by_s);
        const double error =
            (fabs(check.r - next.r) + (fabs(check.by_k - next.by_k) + fabs(check.by_s - next.by_s)) / size) /
            1e-13;
        if (error <= 1) at = next, here += h;
        h *= fmin(4, fmax(0.2, 0.9 * pow(error + 1e-30, -0.2)));
    }
    return at;
}

/* ---- The same film as a Moebius map: exp of [[-(K+S), S], [-S, K+S]] X by scaling and squaring, in 113
 * bits, because a white without absorption makes a matrix whose squares lose half their digits. ---- */

#if LDBL_MANT_DIG >= 113
typedef long double quad;
#else
typedef __float128 quad;
#endif

struct map {
    quad a, b, c, d;
};

static quad larger(quad p, quad q) {
    p = p < 0 ? -p : p;
    q = q < 0 ? -q : q;
    return p > q ? p : q;
}

static struct map product(struct map p, struct map q) {
    const struct map m = {p.a * q.a + p.b * q.c, p.a * q.b + p.b * q.d, p.c * q.a + p.d * q.c,
                          p.c * q.b + p.d * q.d};
    const quad scale = 1 / larger(larger(m.a, m.b), larger(m.c, m.d));
    return (struct map){m.a * scale, m.b * scale, m.c * scale, m.d * scale};
}

static quad by_matrix(quad k, quad s, quad x, quad backing) {
    int halvings = 0;
    while ((k + s) * x > 0.125) x /= 2, halvings++;
    const struct map step = {-(k + s) * x, s * x, -s * x, (k + s) * x};
    struct map sum = {1, 0, 0, 1};
    for (int n = 20; n >= 1; n--) { /* Horner: 1 + A/1 (1 + A/2 (1 + ...)) */
        const struct map m = {step.a * sum.a + step.b * sum.c, step.a * sum.b + step.b * sum.d,
                              step.c * sum.a + step.d * sum.c, step.c * sum.b + step.d * sum.d};
        sum = (struct map){1 + m.a / n, m.b / n, m.c / n, 1 + m.d / n};
    }
    for (int i = 0; i < halvings; i++) sum = product(sum, sum);
    return (sum.a * backing + sum.b) / (sum.c * backing + sum.d);
}

/* ---- Tests ---- */

static void the_published_vectors_are_met(void) {
    static const double row[7][5] = {{0, 0.1, 1, 1, 0.461033623},      {0.8, 0.1, 1, 1, 0.712347287},
                                     {0, 0.5, 2, 1.5, 0.495822524},    {0.85, 0.5, 2, 1.5, 0.505054409},
                                     {0.05, 2, 0.5, 0.8, 0.100012529}, {0.9, 0.02, 4, 0.5, 0.901634880},
                                     {0, 0.02, 4, 0.5, 0.661521995}};
    for (int i = 0; i < 7; i++)
        CHECK_NEAR(film_inner(row[i][1], row[i][2], row[i][3], row[i][0]), row[i][4], 5e-10);
    CHECK_NEAR(film_opaque(0.1, 1), 0.641742430504416, 1e-15);
    CHECK_NEAR(film_opaque(1, 1), 0.2679491924311228, 1e-15);
    CHECK_NEAR(film_opaque(0.25, 1), 0.5, 1e-15);
    CHECK_NEAR(film_inner(0.1, 1, 4.134378, 0) / film_inner(0.1, 1, 4.134378, 0.8), 0.98, 1e-6);
    CHECK_NEAR(film_inner(0.02, 4, 2.325660, 0) / film_inner(0.02, 4, 2.325660, 0.8), 0.98, 1e-6);
    CHECK_NEAR(film_inner(0.5, 2, 1.435828, 0) / film_inner(0.5, 2, 1.435828, 0.8), 0.98, 1e-6);
}

static void integration_slice(int count, double *worst, double *worst_slope) {
    for (int i = 0; i < count; i++) {
        const double x = decades(1e-2, 1e2) + 1e-3, rg = ground();
        const double k = decades(1e-6, 50) / x, s = decades(1e-6, 50) / x;
        double by_k, by_s, by_film;
        const double r = film_inner_slopes(k, s, x, rg, &by_k, &by_s, &by_film);
        const struct state want = integrated(k, s, x, rg);
        CHECK_NEAR(r, want.r, 1e-9);
        CHECK_NEAR(film_inner(k, s, x, rg), r, 0);
        CHECK_NEAR(by_k, want.by_k, 1e-9 * (1 + fabs(want.by_k)) * (1 + x));
        CHECK_NEAR(by_s, want.by_s, 1e-9 * (1 + fabs(want.by_s)) * (1 + x));
        CHECK_NEAR(by_film, slope(want, k, s).r, 1e-9 * (1 + k + s));
        *worst = fmax(*worst, fabs(r - want.r));
        *worst_slope = fmax(*worst_slope, fmax(fabs(by_k - want.by_k), fabs(by_s - want.by_s)) / (1 + x));
    }
}

static void the_closed_form_meets_the_differential_equation(void) {
    double worst = 0, worst_slope = 0;
    integration_slice(1500, &worst, &worst_slope);
    printf("  figure: closed form against integration, KX and SX to 50, 1500 films: R %.2g, slopes by K and "
           "S over (1 + X) %.2g\n",
           worst, worst_slope);
}

static void LONG_the_closed_form_meets_the_differential_equation(void) {
    double worst = 0, worst_slope = 0;
    integration_slice(100000, &worst, &worst_slope);
    printf("  figure: 100000 films: R %.2g, slopes %.2g\n", worst, worst_slope);
}

static void whole_range_slice(int count) {
    double worst = 0;
    for (int i = 0; i < count; i++) {
        const double k = decades(1e-6, 1e3), s = decades(1e-6, 1e3), x = decades(1e-6, 1e3), rg = ground();
        const double r = film_inner(k, s, x, rg), want = (double)by_matrix(k, s, x, rg);
        CHECK_NEAR(r, want, 2e-15 + 1e-13 * fabs(want));
        CHECK(r >= 0 && r <= 1 + 4 * DBL_EPSILON);
        worst = fmax(worst, fabs(r - want));
    }
    printf("  figure: closed form against the matrix exponential in 113 bits, K 1e-6..1e3, S 0..1e3, X "
           "0..1e3, Rg "
           "0..1, %d films: %.2g\n",
           count, worst);
}

static void the_whole_range_meets_the_matrix(void) {
    whole_range_slice(30000);
}

static void LONG_the_whole_range_meets_the_matrix(void) {
    whole_range_slice(1000000);
}

static void limits_of_theory_hold(void) {
    for (int i = 0; i < 100000; i++) {
        const double k = decades(1e-6, 1e3), s = decades(1e-6, 1e3), x = decades(1e-6, 1e3), rg = ground();
        const double dye = (double)((long double)rg * expl(-2 * (long double)k * x));
        CHECK_NEAR(film_inner(k, 0, x, rg), dye,
                   1e-300 + dye * (2e-15 + 8e-16 * k * x)); /* to the last digits, however dark */
        const long double open = (1 - (long double)rg) * s * x;
        CHECK_NEAR(film_inner(0, s, x, rg), (double)((open + rg) / (open + 1)), 7e-16);
        CHECK_NEAR(film_inner(k, s, 0, rg), rg, 2e-16);
        const long double ratio = s > 0 ? (long double)k / s : 0;
        const long double deep =
            1 / (1 + ratio + sqrtl(ratio * (ratio + 2))); /* the opaque film, no cancellation */
        if (s > 0) CHECK_NEAR(film_opaque(k, s), (double)deep, 1e-15 * (double)deep);
        if (s > 0 && k > 0) CHECK_NEAR(film_inner(k, s, 1e300, rg), (double)deep, 1e-15 * (double)deep);
        if (s > 0) CHECK_NEAR(film_inner(k, s, (double)INFINITY, rg), film_opaque(k, s), 0);
    }
    CHECK_NEAR(film_opaque(0, 1), 1, 0);
    CHECK_NEAR(film_opaque(1, 0), 0, 0);
    CHECK_NEAR(film_opaque(0, 0), 0, 0);
    CHECK_NEAR(film_inner(0, 0, 5, 0.3), 0.3, 0);
    CHECK_NEAR(film_ratio_of_opaque(0.5), 0.25, 1e-16);
}

/* Steps across every place where a plain program would switch formula: none may show. */
static void nothing_jumps_at_a_seam(void) {
    for (int i = 0; i < 100000; i++) {
        const double s = decades(1e-3, 1e2), k = decades(1e-3, 1e2), x = decades(1e-3, 1e2) + 1e-6,
                     rg = ground();
        const double tiny = exp(between(log(1e-18), log(1e-12)));
        CHECK_NEAR(film_inner(tiny * s, s, x, rg), film_inner(0, s, x, rg),
                   3 * tiny * s * x * (1 + s * x) + 1e-15);
        CHECK_NEAR(film_inner(k, tiny * k, x, rg), film_inner(k, 0, x, rg), tiny * k * x + 1e-15);
        CHECK_NEAR(film_inner(k, s, tiny, rg), rg, 2 * tiny * (k + s) + 1e-15);
        double below[3], above[3]; /* the series of the slopes end at u = 1 and u = 2 */
        const double u = i % 2 ? 1 : 2, at = u / (2 * sqrt(k * (k + 2 * s)) + 1e-300);
        if (!(at < 1e6)) continue;
        film_inner_slopes(k, s, at * (1 - 1e-14), rg, &below[0], &below[1], &below[2]);
        film_inner_slopes(k, s, at * (1 + 1e-14), rg, &above[0], &above[1], &above[2]);
        for (int j = 0; j < 3; j++)
            CHECK_NEAR(below[j], above[j], 1e-12 * fabs(above[j]) + 1e-13 * (j == 2 ? k + s : 0));
    }
}

/* Central differences of the slow twin, extrapolated once; its own noise is 1e-33 over the step. */
static double difference(quad k, quad s, quad x, quad rg, int which, quad h) {
    quad d[2];
    for (int i = 0; i < 2; i++, h /= 2) {
        const quad up = by_matrix(k + (which == 0) * h, s + (which == 1) * h, x + (which == 2) * h, rg);
        const quad down = by_matrix(k - (which == 0) * h, s - (which == 1) * h, x - (which == 2) * h, rg);
        d[i] = (up - down) / (2 * h);
    }
    return (double)((4 * d[1] - d[0]) / 3);
}

static void slopes_meet_finite_differences(void) {
    double worst = 0;
    for (int i = 0; i < 4000; i++) {
        const double at[3] = {exp(between(log(1e-6), log(1e3))), exp(between(log(1e-6), log(1e3))),
                              exp(between(log(1e-6), log(1e3)))};
        const double rg = ground();
        double by[3];
        film_inner_slopes(at[0], at[1], at[2], rg, &by[0], &by[1], &by[2]);
        CHECK(by[0] <= 0 && by[1] >= 0); /* more K darkens, more S lightens, everywhere */
        for (int j = 0; j < 3; j++) {
            const double got = by[j] * at[j],
                         want = difference(at[0], at[1], at[2], rg, j, (quad)1e-4 * at[j]) * at[j];
            CHECK_NEAR(got, want, 1e-13 + 1e-9 * fabs(want)); /* change of R per relative change */
            worst = fmax(worst, fabs(got - want));
        }
    }
    printf("  figure: slopes against differences of the slow twin, 4000 films, per relative change: "
           "%.2g\n",
           worst);
}

static void opaque_slopes_meet_differences_and_say_infinite_where_they_are(void) {
    double by_k, by_s, by_film;
    for (int i = 0; i < 10000; i++) {
        const double k = exp(between(log(1e-6), log(1e3))), s = exp(between(log(1e-6), log(1e3))), h = 1e-5;
        film_inner_slopes(k, s, (double)INFINITY, 0.5, &by_k, &by_s, &by_film);
        const double want = (film_opaque(k * (1 + h), s) - film_opaque(k * (1 - h), s)) / (2 * h);
        CHECK_NEAR(by_k * k, want, 1e-9);
        CHECK_NEAR(by_s * s, -want, 1e-9); /* only K/S matters */
        CHECK_NEAR(by_film, 0, 0);
        double deep_k, deep_s;
        film_inner_slopes(k, s, 1e9, 0.5, &deep_k, &deep_s, NULL);
        CHECK_NEAR(by_k, deep_k, 1e-12 * fabs(by_k));
        CHECK_NEAR(by_s, deep_s, 1e-12 * fabs(by_s));
    }
    film_inner_slopes(0, 1, (double)INFINITY, 0, &by_k, &by_s, &by_film);
    CHECK(isinf(by_k) && by_k < 0 && by_s == 0 && by_film == 0);
    film_inner_slopes(2, 0, (double)INFINITY, 0, &by_k, &by_s, NULL);
    CHECK(by_k == 0);
    CHECK_NEAR(by_s, 0.25, 1e-15); /* R -> S / 2K */
}

static void slopes_hold_in_the_limits(void) {
    double by_k, by_s, by_film;
    film_inner_slopes(0.3, 0, 2, 0.7, &by_k, &by_s, &by_film); /* dye */
    CHECK_NEAR(by_k, -4 * 0.7 * exp(-1.2), 1e-15);
    CHECK_NEAR(by_film, -0.6 * 0.7 * exp(-1.2), 1e-15);
    const double r = 0.7 * exp(-1.2); /* int (1 - Rg e^-2Kx)^2 e^-2K(X-x) dx by hand */
    CHECK_NEAR(by_s, (1 - exp(-1.2)) / 0.6 - 4 * r + 0.7 * r * (1 - exp(-1.2)) / 0.6, 1e-14);
    film_inner_slopes(0, 2, 3, 0.25, &by_k, &by_s, &by_film); /* white: R = (.75*6+.25)/(.75*6+1) */
    CHECK_NEAR(by_s, 0.75 * 0.75 * 3 / (5.5 * 5.5), 1e-15);
    CHECK_NEAR(by_film, 0.75 * 0.75 * 2 / (5.5 * 5.5), 1e-15);
    film_inner_slopes(0, 0, 3, 0.25, &by_k, &by_s, &by_film); /* nothing */
    CHECK_NEAR(by_k, -2 * 3 * 0.25, 1e-15);
    CHECK_NEAR(by_s, 3 * 0.75 * 0.75, 1e-15);
    CHECK_NEAR(by_film, 0, 0);
    film_inner_slopes(1, 2, 0, 0.25, &by_k, &by_s, &by_film); /* no film */
    CHECK(by_k == 0 && by_s == 0);
    CHECK_NEAR(by_film, 2 * 0.75 * 0.75 - 2 * 0.25, 1e-15);
}

static void black_and_white_give_k_and_s_back(void) {
    double worst = 0;
    int used = 0;
    while (used < 50000) {
        const double x = exp(between(log(1), log(100)));
        const double k = decades(1e-5, 10) / x, s = decades(1e-3, 20) / x;
        const double backing[2] = {between(0, 0.2), between(0.5, 1)};
        const double inner[2] = {film_inner(k, s, x, backing[0]), film_inner(k, s, x, backing[1])};
        if (k + s == 0 || film_inner(k, s, x, 0) > 0.98 * film_inner(k, s, x, 0.8) || inner[1] < 1e-3)
            continue;
        struct film_terms got;
        CHECK(film_invert(x, backing, inner, &got) || k == 0 || s == 0);
        CHECK_NEAR(got.k * x, k * x, 1e-10 * (1 + k * x));
        CHECK_NEAR(got.s * x, s * x, 1e-10 * (1 + s * x));
        worst = fmax(worst, fmax(fabs(got.k - k) * x / (1 + k * x), fabs(got.s - s) * x / (1 + s * x)));
        used++;
    }
    printf("  figure: K X and S X back from two backings, contrast ratio <= .98, 50000 films: %.2g\n", worst);
    const double two[2] = {0, 0.85}, read[2] = {0.495822524, 0.505054409};
    struct film_terms got;
    CHECK(film_invert(1.5, two, read, &got));
    CHECK_NEAR(got.k, 0.5, 1e-5);
    CHECK_NEAR(got.s, 2, 1e-5);
    const double general[2] = {0.05, 0.82}, seen[2] = {0.387952448, 0.613267975};
    CHECK(film_invert(0.4, general, seen, &got));
    CHECK_NEAR(got.s * 0.4, 0.8, 1e-8);
    CHECK_NEAR(got.k / got.s, 0.25, 1e-8);
}

static void an_opaque_reading_and_a_film_over_black_do_as_well(void) {
    for (int i = 0; i < 20000; i++) {
        const double x = exp(between(log(1), log(100))), k = exp(between(log(1e-3), log(3))) / x,
                     s = exp(between(log(1e-2), log(3))) / x;
        struct film_terms got;
        CHECK(film_invert_opaque(x, 0, film_inner(k, s, x, 0), film_opaque(k, s), &got));
        CHECK_NEAR(got.k * x, k * x, 1e-8 * (1 + k * x));
        CHECK_NEAR(got.s * x, s * x, 1e-8 * (1 + s * x));
    }
}

/* A start for a fit must be usable whatever was read: swapped cards, noise, opaque films, nonsense. */
static void inversion_never_gives_nonsense(void) {
    for (int i = 0; i < 200000; i++) {
        const double backing[2] = {check_random(&seed), check_random(&seed)},
                     inner[2] = {check_random(&seed), ground()};
        struct film_terms got = {(double)NAN, (double)NAN};
        const bool real = film_invert(20, backing, inner, &got);
        CHECK(got.k >= 0 && got.s >= 0 && isfinite(got.k) && isfinite(got.s));
        if (real) {
            CHECK_NEAR(film_inner(got.k, got.s, 20, backing[0]), inner[0], 1e-6);
            CHECK_NEAR(film_inner(got.k, got.s, 20, backing[1]), inner[1], 1e-6);
        }
        film_invert_opaque(20, backing[0], inner[0], backing[1], &got);
        CHECK(got.k >= 0 && got.s >= 0 && isfinite(got.k) && isfinite(got.s));
    }
    const double swapped[2] = {0.8, 0}, read[2] = {0.3, 0.5};
    struct film_terms got;
    CHECK(!film_invert(10, swapped, read, &got));
}

/* Watercolours of Curtis et al. 1997, SIGGRAPH, table 1 (unit film): painted over black and white, K and S
 * come back. */
static void watercolours_come_back_from_black_and_white(void) {
    FILE *file = fopen(TEST_DATA "/checks/curtis1997_watercolor_KS.csv", "r");
    CHECK(file != NULL);
    char line[400];
    int rows = 0, hidden = 0;
    while (file && fgets(line, sizeof line, file)) {
        double k[3], s[3];
        const char *comma = line[0] == '#' ? NULL : strchr(line, ',');
        if (!comma ||
            sscanf(comma, ",%lf,%lf,%lf,%lf,%lf,%lf", &k[0], &k[1], &k[2], &s[0], &s[1], &s[2]) != 6)
            continue;
        rows++;
        for (int c = 0; c < 3; c++) {
            const double backing[2] = {0, 1},
                         inner[2] = {film_inner(k[c], s[c], 1, 0), film_inner(k[c], s[c], 1, 1)};
            /* Curtis' own inversion: a = (Rw + (Rb - Rw + 1)/Rb)/2, S = acoth((b^2 - (a - Rw)(a - 1))/(b(1 -
             * Rw)))/b, K = S(a - 1) */
            const double a = 0.5 * (inner[1] + (inner[0] - inner[1] + 1) / inner[0]), b = sqrt(a * a - 1);
            const double own_s = atanh(b * (1 - inner[1]) / (b * b - (a - inner[1]) * (a - 1))) / b;
            struct film_terms got;
            CHECK(film_invert(1, backing, inner, &got));
            CHECK_NEAR(got.k, k[c], 1e-11);
            CHECK_NEAR(got.s, s[c], 1e-11);
            CHECK_NEAR(own_s, s[c], 1e-9);
            CHECK_NEAR(own_s * (a - 1), k[c], 1e-9);
            hidden += inner[0] / inner[1] > 0.98;
        }
    }
    if (file) fclose(file);
    CHECK(rows == 12 && hidden == 0);
}

static void reflectance_moves_one_way(void) {
    for (int i = 0; i < 100000; i++) {
        const double k = decades(1e-6, 1e2), s = decades(1e-6, 1e2), x = decades(1e-4, 1e2), rg = ground();
        const double r = film_inner(k, s, x, rg), more = 1 + check_random(&seed), slack = 2e-15;
        CHECK(film_inner(k * more, s, x, rg) <= r + slack);
        CHECK(film_inner(k, s * more, x, rg) >= r - slack);
        CHECK(film_inner(k, s, x, rg + (1 - rg) * check_random(&seed)) >= r - slack);
        const double thicker = film_inner(k, s, x * more, rg), end = s > 0 ? film_opaque(k, s) : 0;
        CHECK(end >= rg ? thicker >= r - slack && (k > 0 || s > 0 || thicker == r) : thicker <= r + slack);
        const double gap = film_inner(k, s, x, 1) - film_inner(k, s, x, 0);
        CHECK(gap >= -slack && film_inner(k, s, x * more, 1) - film_inner(k, s, x * more, 0) <= gap + slack);
    }
}

int main(void) {
    RUN(the_published_vectors_are_met);
    RUN(the_closed_form_meets_the_differential_equation);
    RUN(LONG_the_closed_form_meets_the_differential_equation);
    RUN(the_whole_range_meets_the_matrix);
    RUN(LONG_the_whole_range_meets_the_matrix);
    RUN(limits_of_theory_hold);
    RUN(nothing_jumps_at_a_seam);
    RUN(slopes_meet_finite_differences);
    RUN(opaque_slopes_meet_differences_and_say_infinite_where_they_are);
    RUN(slopes_hold_in_the_limits);
    RUN(black_and_white_give_k_and_s_back);
    RUN(an_opaque_reading_and_a_film_over_black_do_as_well);
    RUN(inversion_never_gives_nonsense);
    RUN(watercolours_come_back_from_black_and_white);
    RUN(reflectance_moves_one_way);
    return check_done();
}
