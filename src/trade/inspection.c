#include "trade/inspection.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>

enum { POINTS = 2048 };
static const double sure = 0.95, z90 = 1.6448536269514722;

static const char *const verdicts[] = {"pass", "cannot tell", "fail"};

const char *verdict_symbol(enum verdict verdict) {
    return verdicts[verdict];
}
double tolerance_within_panel(void) {
    return 0.8;
}
double tolerance_to_edge(void) {
    return 1.5;
}
double tolerance_with_fade(void) {
    return 2.5;
}

/* A factor with F F' = cov; a direction without variance gives a column of zeros. */
static void factor(const double cov[3][3], double f[3][3]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = (cov[i][j] + cov[j][i]) / 2;
            for (int k = 0; k < j; k++) sum -= f[i][k] * f[j][k];
            if (j > i)
                f[i][j] = 0;
            else if (j == i)
                f[i][j] = sum > 0 ? sqrt(sum) : 0;
            else
                f[i][j] = f[j][j] > 0 ? sum / f[j][j] : 0;
        }
}

static double normal_below(double z) {
    return erfc(-z / M_SQRT2) / 2;
}

/* The normal number below which a part u lies, 0 < u < 1: Abramowitz & Stegun 26.2.23 to begin with, then two
 * steps of Newton. */
static double normal_quantile(double u) {
    const double tail = u < 0.5 ? u : 1 - u, t = sqrt(-2 * log(tail));
    double z =
        t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    for (int i = 0; i < 2; i++) z += (normal_below(-z) - tail) * sqrt(2 * M_PI) * exp(z * z / 2);
    return u < 0.5 ? -z : z;
}

/* Roberts' sequence in three axes: multiples of the powers of 1/g, g^4 = g + 1. */
static void normal_point(int n, double z[3]) {
    static const double step[3] = {0.8191725133961645, 0.6710436067037893, 0.5497004779019703};
    double whole;
    for (int i = 0; i < 3; i++) {
        const double u = modf(0.5 + (n + 1) * step[i], &whole);
        z[i] = normal_quantile(u > 1e-12 ? u : 1e-12);
    }
}

static double difference_at(const struct lab_pair *pair, double f[3][3], int n) {
    double z[3];
    normal_point(n, z);
    struct lab lab = pair->repair;
    lab.l += f[0][0] * z[0];
    lab.a += f[1][0] * z[0] + f[1][1] * z[1];
    lab.b += f[2][0] * z[0] + f[2][1] * z[1] + f[2][2] * z[2];
    return difference_de00(pair->sound, lab);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static enum verdict verdict_of(double inside) {
    return inside >= sure ? VERDICT_PASS : inside <= 1 - sure ? VERDICT_FAIL : VERDICT_CANNOT_TELL;
}

struct judged judge_colour(const struct lab_pair *pair, double tolerance) {
    double f[3][3] = {{0}}, de[POINTS];
    int inside = 0;
    factor(pair->cov, f);
    for (int n = 0; n < POINTS; n++) {
        de[n] = difference_at(pair, f, n);
        inside += de[n] <= tolerance;
    }
    qsort(de, POINTS, sizeof de[0], by_size);
    struct judged j = {.value = difference_de00(pair->sound, pair->repair),
                       .low = de[POINTS / 20],
                       .high = de[POINTS - 1 - POINTS / 20],
                       .tolerance = tolerance,
                       .inside = (double)inside / POINTS};
    j.verdict = verdict_of(j.inside);
    return j;
}

struct judged judge_number(double difference, double u, double tolerance) {
    struct judged j = {.value = difference,
                       .low = difference - z90 * u,
                       .high = difference + z90 * u,
                       .tolerance = tolerance};
    j.inside = u > 0
                   ? normal_below((tolerance - difference) / u) - normal_below((-tolerance - difference) / u)
               : fabs(difference) <= tolerance ? 1
                                               : 0;
    j.verdict = verdict_of(j.inside);
    return j;
}

static void count_in(struct inspection *out, enum verdict verdict) {
    if (verdict > out->verdict) out->verdict = verdict;
}

static void inspect_spot(const struct inspection_case *in, size_t s, struct inspection *out) {
    const struct inspection_spot *spot = &in->spot[s];
    assert(spot->light_count > 0 && spot->light_count <= INSPECTION_LIGHTS_MOST);
    for (size_t i = 0; i < spot->light_count; i++) {
        struct judged *j = &out->colour[s][i];
        const struct judged *worst = &out->colour[out->worst_spot][out->worst_light];
        *j = judge_colour(&spot->light[i], i ? in->de00_other : in->de00);
        if (j->value / j->tolerance > worst->value / worst->tolerance)
            out->worst_spot = s, out->worst_light = i;
        count_in(out, j->verdict);
    }
    out->mean_de00 += out->colour[s][0].value / (double)in->spot_count;
    out->gloss[s].value = (double)NAN;
    if (isnan(spot->gloss_difference_gu)) return;
    out->gloss[s] = judge_number(spot->gloss_difference_gu, spot->gloss_u, in->gloss_gu);
    count_in(out, out->gloss[s].verdict);
}

static size_t worst_in_first_light(const struct inspection_case *in, const struct inspection *out) {
    size_t worst = 0;
    for (size_t s = 1; s < in->spot_count; s++)
        if (out->colour[s][0].value > out->colour[worst][0].value) worst = s;
    return worst;
}

void inspect(const struct inspection_case *in, struct inspection *out) {
    assert(in->spot_count > 0 && in->spot_count <= INSPECTION_SPOTS_MOST);
    assert(in->grain_count <= INSPECTION_GRAINS_MOST);
    *out = (struct inspection){.verdict = VERDICT_PASS};
    for (size_t s = 0; s < in->spot_count; s++) inspect_spot(in, s, out);
    for (size_t g = 0; g < in->grain_count; g++) {
        const struct grain_pair *grain = &in->grains[g];
        out->grain[g] = judge_number(grain->repair / grain->sound - 1, grain->u, in->grain);
        count_in(out, out->grain[g].verdict);
    }
    const struct lab_pair *pair = &in->spot[worst_in_first_light(in, out)].light[0];
    out->grade = grey_scale_change(pair->sound, pair->repair);
}
