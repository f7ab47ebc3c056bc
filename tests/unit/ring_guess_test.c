/* What an answer leaves of the cloud, against a slow twin that draws parts afresh, sees them by CIEDE2000
 * itself and keeps those that would have been answered so. */
#include "check.h"
#include "paint/ring_direction.h"

static struct arena *arena;
static unsigned long long state = 12345;

static double uniform(void) { /* another generator than the cloud's (Knuth's 64-bit congruence) */
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void) {
    return sqrt(-2 * log(uniform())) * cos(2 * M_PI * uniform());
}

static struct lab lab_at(double l, double a, double b) {
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

/* Dab 0 and both ways along L, a and b. */
static struct heard octahedron(struct lab pot, double step, int first, int second) {
    struct heard h = {.dabs = 7, .nearest = {first, second}, .named = second < 0 ? 1 : 2};
    for (int i = 0; i < 7; i++) h.lab[i] = pot;
    h.lab[1].l += step, h.lab[2].l -= step;
    h.lab[3].a += step, h.lab[4].a -= step;
    h.lab[5].b += step, h.lab[6].b -= step;
    return h;
}

static bool twin_says_so(const struct heard *h, struct lab part) {
    double seen[RING_DABS_MOST];
    int best = 0, next = -1;
    for (int i = 0; i < (int)h->dabs; i++) {
        seen[i] = difference_de00(h->lab[i], part) + hypot(EYE_NOISE, h->doubt[i]) * normal();
        if (seen[i] < seen[best]) best = i;
    }
    for (int i = 0; i < (int)h->dabs; i++)
        if (i != best && (next < 0 || seen[i] < seen[next])) next = i;
    if (seen[next] - seen[best] >= EYE_THRESHOLD) return h->named == 1 && h->nearest[0] == best;
    return h->named == 2 && ((h->nearest[0] == best && h->nearest[1] == next) ||
                             (h->nearest[0] == next && h->nearest[1] == best));
}

/* Mean of the parts that fit, from the same prior: 1.4 dE00 along each axis of the eye, nothing of a shelf.
 */
static size_t twin(const struct heard *h, double middle[3]) {
    const struct lab pot = h->lab[0];
    const struct de00_metric m = difference_metric(pot);
    size_t n = 0;
    memset(middle, 0, 3 * sizeof middle[0]);
    for (int i = 0; i < 60000; i++) {
        /* at the greys used here F is diagonal to a per cent */
        const double d[3] = {1.4 * normal() / m.f[0][0], 1.4 * normal() / m.f[1][1],
                             1.4 * normal() / m.f[2][2]};
        if (!twin_says_so(h, lab_at(pot.l + d[0], pot.a + d[1], pot.b + d[2]))) continue;
        for (int k = 0; k < 3; k++) middle[k] += d[k];
        n++;
    }
    for (int k = 0; k < 3; k++) middle[k] /= (double)n;
    return n;
}

static void an_answer_leaves_what_a_twin_leaves(void) {
    const struct lab pot = lab_at(50, 0, 0);
    const struct de00_metric metric = difference_metric(pot);
    const double nothing[3][3] = {{0}};
    const int answers[][2] = {{0, -1}, {1, -1}, {4, -1}, {1, 3}, {6, 4}, {0, 5}};
    double worst = 0;
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
        const struct heard h = octahedron(pot, 2.2, answers[i][0], answers[i][1]);
        struct guess guess = guess_new(&metric, nothing, arena);
        double middle[3], slow[3];
        guess_hear(&guess, &h);
        guess_middle(&guess, &metric, middle);
        CHECK(twin(&h, slow) > 200);
        for (int k = 0; k < 3; k++) {
            const double off = metric.f[k][k] * fabs(middle[k] - slow[k]);
            worst = fmax(worst, off);
        }
    }
    printf("  figure: the middle after six answers, against the twin: worst %.2f dE00\n", worst);
    CHECK_AT_MOST(worst, 0.15);
}

static void the_cloud_goes_with_the_pot(void) {
    const struct lab pot = lab_at(30, 8, 12);
    const struct de00_metric metric = difference_metric(pot);
    const double nothing[3][3] = {{0}};
    struct guess guess = guess_new(&metric, nothing, arena);
    struct heard h = octahedron(pot, 2, 3, -1);
    double before[3], after[3];
    const double wide = guess_middle(&guess, &metric, before);
    guess_hear(&guess, &h);
    const double less = guess_middle(&guess, &metric, before);
    CHECK_AT_MOST(less, 0.8 * wide);
    CHECK(before[1] > 0.5);
    memcpy(h.moved, before, sizeof before);
    guess_move(&guess, &h);
    const double then = guess_middle(&guess, &metric, after);
    for (int k = 0; k < 3; k++) CHECK_NEAR(after[k], 0, 0.05);
    CHECK(then > less); /* a tenth of the way is not sure */
}

/* Nobody can lie between two opposite dabs and far from the pot between them: the eye was duller than
 * thought.
 */
static void an_odd_answer_is_still_heard(void) {
    const struct lab pot = lab_at(50, 0, 0);
    const struct de00_metric metric = difference_metric(pot);
    const double nothing[3][3] = {{0}};
    struct guess guess = guess_new(&metric, nothing, arena);
    const struct heard h = octahedron(pot, 4, 1, 2);
    double middle[3];
    guess_hear(&guess, &h);
    const double rest = guess_middle(&guess, &metric, middle);
    CHECK(isfinite(rest));
    for (int k = 0; k < 3; k++) CHECK_NEAR(middle[k], 0, 1.5);
}

/* The dabs that are chosen leave less to guess than the same figure half as large or twice as large. */
static void the_dabs_lie_where_they_tell_most(void) {
    const struct lab pots[] = {lab_at(55, 12, 25), lab_at(24.5, 0, -1)};
    const double cov[3][3] = {{1.5, 0.2, 0}, {0.2, 0.6, 0.1}, {0, 0.1, 0.9}};
    for (size_t i = 0; i < 2; i++) {
        const struct de00_metric metric = difference_metric(pots[i]);
        struct guess guess = guess_new(&metric, cov, arena);
        struct ring_direction way[RING_DIRECTIONS];
        ring_directions(&guess, pots[i], true, 0, way);
        double rest[3], scale[3] = {0.5, 1, 2}, middle[3];
        for (int s = 0; s < 3; s++) {
            double dab[RING_DIRECTIONS + 1][3] = {{0}}, doubt[RING_DIRECTIONS + 1] = {0};
            for (int d = 0; d < RING_DIRECTIONS; d++)
                for (int k = 0; k < 3; k++) dab[d + 1][k] = scale[s] * way[d].lab[k];
            rest[s] = guess_rest(&guess, &metric, (const double(*)[3])dab, doubt, RING_DIRECTIONS + 1);
        }
        const double before = guess_middle(&guess, &metric, middle);
        printf("  figure: before %.2f, after the ring %.2f dE00 (half as large %.2f, twice %.2f)\n", before,
               rest[1], rest[0], rest[2]);
        CHECK(rest[1] < rest[0] && rest[1] < rest[2] && rest[1] < 0.75 * before);
        CHECK(strcmp(way[0].says, i ? "bluer" : way[0].says) == 0);
        ring_directions(&guess, pots[i], true, 1.5, way);
        double farthest = 0;
        for (int d = 0; d < RING_DIRECTIONS; d++)
            farthest = fmax(farthest, difference_de00(pots[i], lab_at(pots[i].l + way[d].lab[0],
                                                                      pots[i].a + way[d].lab[1],
                                                                      pots[i].b + way[d].lab[2])));
        CHECK_NEAR(farthest, 1.5, 0.25);
    }
}

int main(void) {
    arena = arena_new();
    RUN(an_answer_leaves_what_a_twin_leaves);
    RUN(the_cloud_goes_with_the_pot);
    RUN(an_odd_answer_is_still_heard);
    RUN(the_dabs_lie_where_they_tell_most);
    arena_free(arena);
    return check_done();
}
