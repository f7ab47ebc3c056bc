#include "paint/ring_guess.h"
#include "base/dense.h"
#include <assert.h>
#include <math.h>
#include <string.h>

/* Who lays a ring is not content and not far off: sd along each axis of the eye, beside the shelf's own
 * doubt. Ours. */
static const double OFF_SD = 1.4;
static const double WAY_DOUBT = 0.1; /* of the way that the pot went */
static const double BLUR = 0.1;      /* dE00; keeps a cloud that was thinned out from being a few grains */
enum { LOOKS = 16, FITTING_LEAST = 256, ANSWERS = RING_DABS_MOST * (RING_DABS_MOST + 1) };

/* Scattered numbers: the bits of a counter, mixed (Steele, Lea & Flood 2014). */
static double scattered(unsigned long long n) {
    unsigned long long z = n * 0x9e3779b97f4a7c15ULL;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

/* The n-th of normal numbers (Box & Muller 1958). */
static double normal(unsigned long long n) {
    return sqrt(-2 * log(scattered(2 * n + 1))) * cos(2 * M_PI * scattered(2 * n + 2));
}

static double length_of(const struct de00_metric *m, const double lab[3]) {
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        const double e = m->f[i][0] * lab[0] + m->f[i][1] * lab[1] + m->f[i][2] * lab[2];
        sum += e * e;
    }
    return sqrt(sum);
}

/* (F'F)^-1 scaled, plus cov, as a Cholesky factor: normal numbers times it scatter as much as said. */
static void root_of(const struct de00_metric *metric, double sd, const double cov[3][3], double root[9]) {
    double l[9];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            l[3 * i + j] = i == j ? 1e-9 : 0;
            for (int k = 0; k < 3; k++) l[3 * i + j] += metric->f[k][i] * metric->f[k][j];
        }
    bool good = dense_cholesky(l, 3);
    assert(good);
    for (int column = 0; column < 3; column++) {
        double unit[3] = {column == 0, column == 1, column == 2};
        dense_cholesky_solve(l, 3, unit);
        for (int row = 0; row < 3; row++)
            root[3 * row + column] = sd * sd * unit[row] + (cov ? cov[row][column] : 0);
    }
    good = dense_cholesky(root, 3);
    assert(good);
    (void)good;
}

static void scatter(const double root[9], unsigned long long n, double by[3]) {
    const double z[3] = {normal(3 * n), normal(3 * n + 1), normal(3 * n + 2)};
    for (int i = 0; i < 3; i++)
        for (int j = 0; j <= i; j++) by[i] += root[3 * i + j] * z[j];
}

struct guess guess_new(const struct de00_metric *metric, const double cov[3][3], struct arena *arena) {
    const struct guess guess = {
        arena_need(arena, GUESS_POINTS, sizeof *guess.at),
        arena_need(arena, (size_t)GUESS_POINTS * RING_DABS_MOST, sizeof *guess.noise)};
    double root[9];
    root_of(metric, OFF_SD, cov, root);
    for (size_t i = 0; i < GUESS_POINTS; i++) {
        memset(guess.at[i], 0, sizeof guess.at[i]);
        scatter(root, i, guess.at[i]);
    }
    for (size_t i = 0; i < (size_t)GUESS_POINTS * RING_DABS_MOST; i++)
        guess.noise[i] = normal(3 * 3 * GUESS_POINTS + i);
    return guess;
}

/* What the eye says of a part at `at`: a number for the dab, or for the two. noise[dabs] */
static int answer_of(const struct de00_metric *m, const double at[3], const double dab[][3],
                     const double sd[], size_t dabs, const double noise[]) {
    double seen[RING_DABS_MOST];
    int best = 0, next = -1;
    for (size_t i = 0; i < dabs; i++) {
        const double d[3] = {at[0] - dab[i][0], at[1] - dab[i][1], at[2] - dab[i][2]};
        seen[i] = length_of(m, d) + sd[i] * noise[i];
        if (seen[i] < seen[best]) best = (int)i;
    }
    for (int i = 0; i < (int)dabs; i++)
        if (i != best && (next < 0 || seen[i] < seen[next])) next = i;
    if (next < 0 || seen[next] - seen[best] >= EYE_THRESHOLD) return best;
    return RING_DABS_MOST * (1 + (best < next ? best : next)) + (best < next ? next : best);
}

static int answer_named(const struct heard *heard) {
    const int a = heard->nearest[0], b = heard->nearest[1];
    if (heard->named < 2 || a == b) return a;
    return RING_DABS_MOST * (1 + (a < b ? a : b)) + (a < b ? b : a);
}

/* Points from which the answer would have been this, at most GUESS_POINTS; returns how many. */
static size_t keep_fitting(const struct guess *guess, const struct heard *heard, double duller,
                           double (*kept)[3]) {
    double dab[RING_DABS_MOST][3], sd[RING_DABS_MOST];
    const struct de00_metric metric = difference_metric(heard->lab[0]);
    const int said = answer_named(heard);
    size_t n = 0;
    for (size_t i = 0; i < heard->dabs; i++) {
        const struct lab *at = &heard->lab[i], *pot = &heard->lab[0];
        dab[i][0] = at->l - pot->l, dab[i][1] = at->a - pot->a, dab[i][2] = at->b - pot->b;
        sd[i] = duller * hypot(EYE_NOISE, heard->doubt[i]);
    }
    for (size_t look = 0; look < LOOKS; look++) /* each time with another point's noise */
        for (size_t i = 0; i < GUESS_POINTS && n < GUESS_POINTS; i++) {
            const size_t noise = (i + look * 257) % GUESS_POINTS * RING_DABS_MOST;
            if (answer_of(&metric, guess->at[i], dab, sd, heard->dabs, guess->noise + noise) == said)
                memcpy(kept[n++], guess->at[i], sizeof kept[0]);
        }
    return n;
}

void guess_hear(struct guess *guess, const struct heard *heard) {
    double(*kept)[3] = memory_need(GUESS_POINTS, sizeof *kept), root[9];
    const struct de00_metric metric = difference_metric(heard->lab[0]);
    size_t n = 0;
    for (double duller = 1; duller < 20 && n < FITTING_LEAST; duller *= 2)
        n = keep_fitting(guess, heard, duller, kept);
    root_of(&metric, BLUR, NULL, root);
    for (size_t i = 0; i < GUESS_POINTS && n > 0; i++) {
        memcpy(guess->at[i], kept[i % n], sizeof kept[0]);
        scatter(root, GUESS_POINTS + i, guess->at[i]);
    }
    memory_free(kept);
}

void guess_move(struct guess *guess, const struct heard *heard) {
    double root[9];
    const struct de00_metric metric = difference_metric(heard->lab[0]);
    root_of(&metric, hypot(BLUR, WAY_DOUBT * length_of(&metric, heard->moved)), NULL, root);
    for (size_t i = 0; i < GUESS_POINTS; i++) {
        for (int k = 0; k < 3; k++) guess->at[i][k] -= heard->moved[k];
        scatter(root, 2 * GUESS_POINTS + i, guess->at[i]);
    }
}

double guess_middle(const struct guess *guess, const struct de00_metric *metric, double middle[3]) {
    double square = 0;
    for (int k = 0; k < 3; k++) {
        middle[k] = 0;
        for (size_t i = 0; i < GUESS_POINTS; i++) middle[k] += guess->at[i][k] / GUESS_POINTS;
    }
    for (size_t i = 0; i < GUESS_POINTS; i++) {
        const double d[3] = {guess->at[i][0] - middle[0], guess->at[i][1] - middle[1],
                             guess->at[i][2] - middle[2]};
        square += pow(length_of(metric, d), 2) / GUESS_POINTS;
    }
    return sqrt(square);
}

static void to_eye(const struct de00_metric *m, const double lab[3], double eye[3]) {
    for (int i = 0; i < 3; i++) eye[i] = m->f[i][0] * lab[0] + m->f[i][1] * lab[1] + m->f[i][2] * lab[2];
}

double guess_rest(const struct guess *guess, const struct de00_metric *metric, const double dab[][3],
                  const double doubt[], size_t dabs) {
    struct {
        double n, sum[3], square;
    } of[ANSWERS];
    double sd[RING_DABS_MOST], rest = 0;
    memset(of, 0, sizeof of);
    for (size_t i = 0; i < dabs; i++) sd[i] = hypot(EYE_NOISE, doubt[i]);
    for (size_t i = 0; i < GUESS_POINTS; i++) {
        double eye[3];
        const int said = answer_of(metric, guess->at[i], dab, sd, dabs, guess->noise + i * RING_DABS_MOST);
        to_eye(metric, guess->at[i], eye);
        of[said].n++;
        for (int k = 0; k < 3; k++) of[said].sum[k] += eye[k], of[said].square += eye[k] * eye[k];
    }
    for (int i = 0; i < ANSWERS; i++)
        if (of[i].n > 0)
            rest += of[i].square - (of[i].sum[0] * of[i].sum[0] + of[i].sum[1] * of[i].sum[1] +
                                    of[i].sum[2] * of[i].sum[2]) /
                                       of[i].n;
    return sqrt(fmax(rest, 0) / GUESS_POINTS);
}

void guess_spread(const struct guess *guess, const struct de00_metric *metric, double cov[3][3]) {
    double middle[3];
    guess_middle(guess, metric, middle);
    memset(cov, 0, 9 * sizeof cov[0][0]);
    for (size_t i = 0; i < GUESS_POINTS; i++) {
        const double d[3] = {guess->at[i][0] - middle[0], guess->at[i][1] - middle[1],
                             guess->at[i][2] - middle[2]};
        double eye[3];
        to_eye(metric, d, eye);
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++) cov[j][k] += eye[j] * eye[k] / GUESS_POINTS;
    }
}
