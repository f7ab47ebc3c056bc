/* What the benches share: a clock, and the order that a median needs. */
#ifndef RUSSET_BENCH_BENCH_H
#define RUSSET_BENCH_BENCH_H

#include <time.h>

static inline double now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

/* For qsort. */
static inline int by_value(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

#endif
