/* The loops of the fit's solver: against plain sums, and the build for AVX2 against the other, bit for bit.
 */
#include "check.h"
#include "paint/fit_kernel.h"

enum { N = 93, WIDE = 12, ACROSS = 2 * FIT_LANES, M = 27 };

struct system {
    double a[N][WIDE + 1], b[N][ACROSS], c[M][M], room[WIDE];
};

static void fill(struct system *s, unsigned long long seed) {
    unsigned long long state = seed;
    memset(s, 0, sizeof *s);
    for (int i = 0; i < N; i++) {
        for (int j = 0; j <= WIDE && j <= i; j++) s->a[i][j] = j ? check_random(&state) - .5 : WIDE;
        for (int k = 0; k < M; k++) s->b[i][k] = check_random(&state) - .5;
    }
}

static bool work(struct system *s, const struct fit_kernel *kernel) {
    if (!kernel->cholesky(&s->a[0][0], N, WIDE, s->room)) return false;
    kernel->forward(&s->a[0][0], N, WIDE, &s->b[0][0], ACROSS);
    kernel->take(&s->b[0][0], N, ACROSS, &s->c[0][0], M);
    return true;
}

static double l_of(const struct system *s, int i, int j) {
    return i >= j && i - j <= WIDE ? s->a[i][i - j] : 0;
}

static void they_solve_what_was_asked(void) {
    static struct system before, after;
    double worst = 0;
    fill(&before, 3);
    fill(&after, 3);
    CHECK(work(&after, &fit_kernel_base));
    for (int i = 0; i < N; i++) {
        for (int j = i > WIDE ? i - WIDE : 0; j <= i; j++) {
            double sum = 0;
            for (int k = 0; k <= j; k++) sum += l_of(&after, i, k) * l_of(&after, j, k);
            worst = fmax(worst, fabs(sum - before.a[i][i - j]));
        }
        for (int k = 0; k < M; k++) {
            double sum = 0;
            for (int j = 0; j <= i; j++) sum += l_of(&after, i, j) * after.b[j][k];
            worst = fmax(worst, fabs(sum - before.b[i][k]));
        }
    }
    for (int i = 0; i < M; i++)
        for (int j = 0; j <= i; j++) {
            double sum = 0;
            for (int k = 0; k < N; k++) sum -= after.b[k][i] * after.b[k][j];
            worst = fmax(worst, fabs(sum - after.c[i][j]));
        }
    CHECK_AT_MOST(worst, 1e-12);
    before.a[40][0] = -1;
    CHECK(!work(&before, &fit_kernel_base));
}

static void both_builds_give_the_same_bits(void) {
#if defined(__x86_64__)
    static struct system base, avx2;
    if (!__builtin_cpu_supports("avx2")) return;
    for (unsigned long long seed = 1; seed < 20; seed++) {
        fill(&base, seed);
        fill(&avx2, seed);
        CHECK(work(&base, &fit_kernel_base) && work(&avx2, &fit_kernel_avx2));
        CHECK(memcmp(&base, &avx2, sizeof base) == 0);
    }
#endif
}

int main(void) {
    RUN(they_solve_what_was_asked);
    RUN(both_builds_give_the_same_bits);
    return check_done();
}
