/* The final check. Peers: for the same variance on all axes |d| has the noncentral chi distribution with
 * three degrees of freedom, whose closed form is written out here; a plain Monte Carlo on CIEDE2000 for the
 * rest. Guarded acceptance: JCGM 106. Class limits of the grade: ISO 105-A05 (colour/grey_scale has its own
 * tests).
 */
#include "check.h"
#include "colour/difference.h"
#include "trade/inspection.h"

static struct lab lab(double l, double a, double b) {
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

static struct lab_pair pair_of(struct lab sound, struct lab repair, double u) {
    struct lab_pair pair = {.sound = sound, .repair = repair};
    for (int i = 0; i < 3; i++) pair.cov[i][i] = u * u;
    return pair;
}

static double normal_below(double z) {
    return erfc(-z / M_SQRT2) / 2;
}

/* P(|m + z| <= r), z normal in three axes, |m| = d (Ruben 1962 gives it for odd degrees in closed form). */
static double noncentral(double d, double r) {
    if (d < 1e-6) return erf(r / M_SQRT2) - sqrt(2 / M_PI) * r * exp(-r * r / 2);
    return normal_below(r - d) - normal_below(-r - d) -
           (exp(-(r - d) * (r - d) / 2) - exp(-(r + d) * (r + d) / 2)) / (d * sqrt(2 * M_PI));
}

/* Near a neutral grey of L 50 CIEDE2000 is close to a plain distance for steps in L; for a metric that is not
 * round the peer is Monte Carlo below. Here the axes are stretched so that the metric becomes round. */
static void the_chance_meets_the_closed_form(void) {
    const struct lab sound = lab(50, 0.0, 20);
    const struct de00_metric metric = difference_metric(sound);
    double worst = 0;
    for (double d = 0; d < 3.1; d += .5)
        for (double r = .5; r < 5; r += .5) {
            /* F x = u z: x = u F^-1 z, so cov = u^2 F^-1 F^-T; small u keeps CIEDE2000 quadratic. */
            const double u = .002, (*f)[3] = metric.f;
            const double det = f[1][1] * f[2][2] - f[1][2] * f[2][1];
            const double g[3][3] = {
                {1 / f[0][0], 0, 0}, {0, f[2][2] / det, -f[1][2] / det}, {0, -f[2][1] / det, f[1][1] / det}};
            struct lab_pair pair = {.sound = sound, .repair = sound};
            pair.repair.l += d * u * g[0][0];
            for (int i = 0; i < 3; i++)
                for (int j = 0; j < 3; j++)
                    for (int k = 0; k < 3; k++) pair.cov[i][j] += u * u * g[i][k] * g[j][k];
            const double err = fabs(judge_colour(&pair, r * u).inside - noncentral(d, r));
            worst = fmax(worst, err);
        }
    printf("  figure: chance to be inside against the noncentral chi distribution: worst %.4f\n", worst);
    CHECK_AT_MOST(worst, .008);
}

static double normal(unsigned long long *state) {
    return sqrt(-2 * log(check_random(state) + 1e-300)) * cos(2 * M_PI * check_random(state));
}

static void the_chance_meets_a_simulation(void) {
    unsigned long long state = 17;
    double worst = 0;
    for (int k = 0; k < 12; k++) {
        const struct lab sound = lab(20 + 60 * check_random(&state), 40 * check_random(&state) - 10,
                                     40 * check_random(&state) - 10);
        double f[3][3] = {{0}};
        for (int i = 0; i < 3; i++)
            for (int j = 0; j <= i; j++) f[i][j] = .6 * check_random(&state) - (i == j ? 0 : .3);
        struct lab_pair pair = {
            .sound = sound,
            .repair = lab(sound.l + normal(&state), sound.a + normal(&state), sound.b + normal(&state))};
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++)
                for (int c = 0; c < 3; c++) pair.cov[i][j] += f[i][c] * f[j][c];
        const double tolerance = .5 + 2 * check_random(&state);
        int inside = 0;
        for (int n = 0; n < 20000; n++) {
            const double z[3] = {normal(&state), normal(&state), normal(&state)};
            struct lab at = pair.repair;
            at.l += f[0][0] * z[0];
            at.a += f[1][0] * z[0] + f[1][1] * z[1];
            at.b += f[2][0] * z[0] + f[2][1] * z[1] + f[2][2] * z[2];
            inside += difference_de00(pair.sound, at) <= tolerance;
        }
        worst = fmax(worst, fabs(judge_colour(&pair, tolerance).inside - inside / 20000.0));
    }
    printf("  figure: chance to be inside against 20000 draws: worst %.4f\n", worst);
    CHECK_AT_MOST(worst, .02);
}

static void verdicts_follow_difference_and_uncertainty(void) {
    const struct lab sound = lab(40, 20, 30);
    struct lab_pair pair = pair_of(sound, sound, .05);
    CHECK(judge_colour(&pair, .8).verdict == VERDICT_PASS);
    pair.repair.l += 3;
    CHECK(judge_colour(&pair, .8).verdict == VERDICT_FAIL);
    pair = pair_of(sound, lab(40.9, 20, 30), .3); /* about the tolerance, and not well known */
    CHECK(judge_colour(&pair, .8).verdict == VERDICT_CANNOT_TELL);
    pair = pair_of(sound, sound, 3); /* no difference found, by a reading that could not find one */
    CHECK(judge_colour(&pair, .8).verdict != VERDICT_PASS);
    pair = pair_of(sound, lab(40.1, 20, 30), 0); /* known exactly: never in doubt */
    const struct judged exact = judge_colour(&pair, .8);
    CHECK(exact.verdict == VERDICT_PASS && exact.inside == 1 && exact.low == exact.high);
    double last = 1;
    for (double step = 0; step < 3; step += .1) { /* further away is never likelier inside */
        pair = pair_of(sound, lab(40 + step, 20, 30), .25);
        const double inside = judge_colour(&pair, .8).inside;
        CHECK(inside <= last + .02);
        last = inside;
    }
    CHECK(judge_number(0.1, .05, .5).verdict == VERDICT_PASS &&
          judge_number(-2, .1, .5).verdict == VERDICT_FAIL);
    CHECK(judge_number(.5, .1, .5).verdict == VERDICT_CANNOT_TELL &&
          judge_number(.5, 0, .5).verdict == VERDICT_PASS);
    CHECK_NEAR(judge_number(0, 1, 1.959963985).inside, .95, 1e-9); /* normal table */
}

static void the_whole_is_as_good_as_its_worst_part(void) {
    const struct lab sound = lab(40, 20, 30);
    struct inspection_spot spot[3];
    for (int s = 0; s < 3; s++) {
        spot[s] = (struct inspection_spot){.light_count = 2, .gloss_difference_gu = (double)NAN};
        spot[s].light[0] = spot[s].light[1] = pair_of(sound, lab(40.2, 20, 30), .05);
    }
    const struct grain_pair grain = {10, 11, .02};
    struct inspection_case in = {.8, 1.5, .5, .25, 3, 1, spot, &grain};
    static struct inspection out;
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_PASS && isnan(out.gloss[1].value) && out.grade.grade > 4.5);
    CHECK_NEAR(out.grain[0].value, .1, 1e-12);
    spot[1].light[1].repair.l += 1.2; /* inside the wider tolerance of the other lights */
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_PASS && out.worst_spot == 1 && out.worst_light == 1);
    spot[2].gloss_difference_gu = 1.5, spot[2].gloss_u = .1;
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_FAIL && out.gloss[2].verdict == VERDICT_FAIL);
    spot[2].gloss_difference_gu = (double)NAN;
    spot[0].light[0] = pair_of(sound, lab(40.8, 20, 30), .3);
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_CANNOT_TELL);
    spot[0].light[0] = pair_of(sound, lab(46, 20, 30), .3);
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_FAIL && out.worst_spot == 0 && out.grade.grade < 4);
    CHECK_NEAR(out.mean_de00, (out.colour[0][0].value + out.colour[1][0].value + out.colour[2][0].value) / 3,
               1e-12);
    const struct grain_pair rough = {10, 20, .05};
    in.grains = &rough;
    spot[0] = spot[2];
    inspect(&in, &out);
    CHECK(out.verdict == VERDICT_FAIL && out.grain[0].verdict == VERDICT_FAIL);
}

int main(void) {
    RUN(the_chance_meets_the_closed_form);
    RUN(the_chance_meets_a_simulation);
    RUN(verdicts_follow_difference_and_uncertainty);
    RUN(the_whole_is_as_good_as_its_worst_part);
    return check_done();
}
