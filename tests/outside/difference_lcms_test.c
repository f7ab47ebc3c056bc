/* CIEDE2000 and CMC(l:c) against Little-CMS (cmsCIE2000DeltaE, cmsCMCdeltaE), random pairs over the whole of
 * CIELAB and close pairs. Pairs on a seam are counted apart: hues within 2e-6 degree of opposite, where
 * Little-CMS' own tie band (180.000001) begins. */
#include "check.h"
#include "colour/difference.h"
#include <lcms2.h>

struct tally {
    long pairs, seams;
    double worst, worst_seam;
    struct lab worst_a, worst_b;
};

static struct lab lab(double l, double a, double b) {
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

static bool is_on_seam(struct lab a, struct lab b) {
    const double g = 1.1e-6, opposite = fabs(fabs(lch_of(a).h_deg - lch_of(b).h_deg) - 180);
    /* CIEDE2000's hues are those of (a', b); a' stretches a alike for both, which keeps opposites opposite.
     */
    return opposite < g;
}

/* Every fourth pair is close, every eighth nearly opposite in hue, every sixteenth beside the a axis, where
 * the hue wraps. */
static struct lab partner(struct lab a, long i, unsigned long long *seed) {
    const double r = check_random(seed), s = check_random(seed), t = check_random(seed);
    if (i % 4 == 1) return lab(a.l + 4 * r - 2, a.a + 4 * s - 2, a.b + 4 * t - 2);
    if (i % 8 == 2) return lab(100 * r, -a.a * s * 2 + 1e-3 * (t - .5), -a.b * s * 2);
    if (i % 16 == 3) return lab(a.l, fabs(a.a) * 2 * r, 1e-4 * (s - .5));
    return lab(100 * r, 256 * s - 128, 256 * t - 128);
}

typedef double measure(struct lab a, struct lab b);

static struct tally compare(long pairs, measure *ours, measure *theirs) {
    unsigned long long seed = 20251;
    struct tally t = {0};
    for (long i = 0; i < pairs; i++) {
        const double r = check_random(&seed), s = check_random(&seed), u = check_random(&seed);
        const struct lab a = lab(100 * r, 256 * s - 128, 256 * u - 128), b = partner(a, i, &seed);
        const double off = fabs(ours(a, b) - theirs(a, b));
        t.pairs++;
        if (is_on_seam(a, b)) {
            t.seams++;
            t.worst_seam = fmax(t.worst_seam, off);
        } else if (!(off <= t.worst)) {
            t.worst = off, t.worst_a = a, t.worst_b = b;
        }
    }
    return t;
}

static void print_tally(const char *what, struct tally t) {
    printf("  figure: %s: %ld pairs, worst %.2g at (%.6f %.6f %.6f) (%.6f %.6f %.6f); %ld on a seam, worst "
           "there %.2g\n",
           what, t.pairs, t.worst, t.worst_a.l, t.worst_a.a, t.worst_a.b, t.worst_b.l, t.worst_b.a,
           t.worst_b.b, t.seams, t.worst_seam);
}

static double their_de00(struct lab a, struct lab b) {
    const cmsCIELab x = {a.l, a.a, a.b}, y = {b.l, b.a, b.b};
    return cmsCIE2000DeltaE(&x, &y, 1, 1, 1);
}

static double our_cmc21(struct lab a, struct lab b) {
    return difference_cmc(a, b, 2, 1);
}

static double their_cmc21(struct lab a, struct lab b) {
    const cmsCIELab x = {a.l, a.a, a.b}, y = {b.l, b.a, b.b};
    return cmsCMCdeltaE(&x, &y, 2, 1);
}

static double our_cmc11(struct lab a, struct lab b) {
    return difference_cmc(a, b, 1, 1);
}

static double their_cmc11(struct lab a, struct lab b) {
    const cmsCIELab x = {a.l, a.a, a.b}, y = {b.l, b.a, b.b};
    return cmsCMCdeltaE(&x, &y, 1, 1);
}

static void ciede2000_of(long pairs) {
    const struct tally t = compare(pairs, difference_de00, their_de00);
    print_tally("CIEDE2000 against Little-CMS", t);
    CHECK(t.pairs == pairs);
    CHECK_AT_MOST(t.worst, 1e-6);
    CHECK_AT_MOST((double)t.seams, 5e-3 * (double)pairs);
}

static void cmc_of(long pairs) {
    const struct tally two = compare(pairs, our_cmc21, their_cmc21),
                       one = compare(pairs, our_cmc11, their_cmc11);
    print_tally("CMC(2:1) against Little-CMS", two);
    print_tally("CMC(1:1) against Little-CMS", one);
    CHECK_AT_MOST(two.worst, 1e-6);
    CHECK_AT_MOST(one.worst, 1e-6);
}

static void ciede2000_of_200000_pairs(void) {
    ciede2000_of(200000);
}

static void LONG_ciede2000_of_a_million_pairs(void) {
    ciede2000_of(1000000);
}

static void cmc_of_100000_pairs(void) {
    cmc_of(100000);
}

int main(void) {
    RUN(ciede2000_of_200000_pairs);
    RUN(LONG_ciede2000_of_a_million_pairs);
    RUN(cmc_of_100000_pairs);
    return check_done();
}
