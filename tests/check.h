/* The whole test harness. A test file is one program:
 *
 *     static void opaque_film_meets_the_closed_form(void) { CHECK_NEAR(film_opaque(1, 1), 0.2679491924311228,
 * 1e-12); } int main(void) { RUN(opaque_film_meets_the_closed_form); return check_done(); }
 *
 * NaN fails every comparison. A title that begins with LONG_ runs only when RUSSET_LONG is set. */
#ifndef RUSSET_TESTS_CHECK_H
#define RUSSET_TESTS_CHECK_H

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Under the sanitizers code is many times slower: fewer of the same there, what plain runs walk in full. */
#ifdef RUSSET_SANITIZED
enum { CHECK_SANITIZED = 1 };
#else
enum { CHECK_SANITIZED = 0 };
#endif

static int check_passed_tests, check_failed_tests, check_failures_here;

static inline void check_fail(const char *file, int line, const char *what) {
    if (check_failures_here++ < 20) fprintf(stderr, "  %s:%d: %s\n", file, line, what);
}

#define CHECK(condition)                                              \
    do {                                                              \
        if (!(condition)) check_fail(__FILE__, __LINE__, #condition); \
    } while (0)

#define CHECK_NEAR(got, want, tolerance)                                                         \
    do {                                                                                         \
        const double got_ = (got), want_ = (want), tolerance_ = (tolerance);                     \
        if (!(fabs(got_ - want_) <= tolerance_)) {                                               \
            char line_[300];                                                                     \
            snprintf(line_, sizeof line_, "%s is %.12g, not %.12g within %g", #got, got_, want_, \
                     tolerance_);                                                                \
            check_fail(__FILE__, __LINE__, line_);                                               \
        }                                                                                        \
    } while (0)

#define CHECK_AT_MOST(got, limit)                                                     \
    do {                                                                              \
        const double got_ = (got), limit_ = (limit);                                  \
        if (!(got_ <= limit_)) {                                                      \
            char line_[300];                                                          \
            snprintf(line_, sizeof line_, "%s is %.6g, over %g", #got, got_, limit_); \
            check_fail(__FILE__, __LINE__, line_);                                    \
        }                                                                             \
    } while (0)

#define CHECK_TEXT(got, want)                                                                               \
    do {                                                                                                    \
        const char *got_ = (got), *want_ = (want);                                                          \
        if (!got_ || strcmp(got_, want_) != 0) {                                                            \
            char line_[900];                                                                                \
            snprintf(line_, sizeof line_, "%s is \"%.400s\", not \"%.400s\"", #got, got_ ? got_ : "(null)", \
                     want_);                                                                                \
            check_fail(__FILE__, __LINE__, line_);                                                          \
        }                                                                                                   \
    } while (0)

static inline void check_run(const char *title, void (*test)(void)) {
    check_failures_here = 0;
    test();
    printf("%s %s\n", check_failures_here ? "FAIL" : "ok", title);
    fflush(stdout);
    if (check_failures_here)
        check_failed_tests++;
    else
        check_passed_tests++;
}

#define RUN(test)                                                                             \
    do {                                                                                      \
        if (strncmp(#test, "LONG_", 5) != 0 || getenv("RUSSET_LONG")) check_run(#test, test); \
    } while (0)

static inline int check_done(void) {
    printf("%d passed, %d failed\n", check_passed_tests, check_failed_tests);
    return check_failed_tests ? 1 : 0;
}

/* A small generator for tests (xorshift64*, from memory): the same numbers on every machine. */
static inline double check_random(unsigned long long *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ULL) >> 11) / 9007199254740992.0;
}

#endif
