/* What the benches share: clocks, the order that a median needs, and the row that each measurement hands in.
 */
#ifndef RUSSET_BENCH_BENCH_H
#define RUSSET_BENCH_BENCH_H

#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
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

/* CPU of this process: what a busy machine changes little. */
static inline double cpu_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

static inline double memory_mib(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024;
}

/* A line of tab-separated text, appended to the file that BENCH_ROWS names; bench/all makes the table of
 * them (rows.py says the same). peer_ms 0: alone. */
struct bench_row {
    const char *what;
    double size, ours_ms;
    const char *peer;
    double peer_ms;
    const char *quality;
    double memory_mib;
};
static inline void bench_hand_in(struct bench_row row) {
    const char *path = getenv("BENCH_ROWS");
    FILE *file = path ? fopen(path, "a") : NULL;
    if (!file) return;
    fprintf(file, "%s\t%g\t%.6g\t%s\t%.6g\t%s\t%.1f\n", row.what, row.size, row.ours_ms, row.peer,
            row.peer_ms, row.quality, row.memory_mib);
    fclose(file);
}

#endif
