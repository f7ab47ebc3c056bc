/* The book of finishes: the ten nearest colours by CIEDE2000, against a look at every colour with the same
 * formula in the same run, from a thousand to a million. Prints medians over queries, the ratio and the
 * memory. */
#include "base/memory.h"
#include "bench.h"
#include "check.h"
#include "colour/difference.h"
#include "colour/nearest.h"

enum { MOST = 1000000, QUERIES = 200, SLOW = 10, WANTED = 10 };
static unsigned long long seed = 77;

static struct lab colour(void) {
    const double l = 10 + 65 * check_random(&seed), a = -2 + 30 * check_random(&seed),
                 b = -10 + 55 * check_random(&seed);
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

static double busy_ms(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static bool measure(const struct lab *colours, size_t count) {
    const double begun = now_ms();
    struct nearest *tree = nearest_new(colours, count);
    const double built = now_ms() - begun;
    double quick[QUERIES], busy[QUERIES], slow[SLOW]; /* by the clock, by the processor: others may have it */
    for (int i = 0; i < QUERIES; i++) {
        struct near_colour found[WANTED];
        const struct lab query = colour();
        const double start = now_ms(), busy_from = busy_ms();
        nearest_find(tree, query, WANTED, HUGE_VAL, found);
        quick[i] = now_ms() - start;
        busy[i] = busy_ms() - busy_from;
        if (i >= SLOW) continue;
        const double again = now_ms();
        size_t nearer = 0;
        for (size_t k = 0; k < count; k++)
            nearer += difference_de00(query, colours[k]) < found[WANTED - 1].de00;
        slow[i] = now_ms() - again;
        if (nearer > WANTED - 1) return printf("the tree missed one\n"), false;
    }
    nearest_free(tree);
    qsort(quick, QUERIES, sizeof *quick, by_value);
    qsort(busy, QUERIES, sizeof *busy, by_value);
    qsort(slow, SLOW, sizeof *slow, by_value);
    printf("ten nearest of %zu finishes: median %.4f ms, worst %.3f ms (%.3f ms of the processor); a look at "
           "all %.1f ms; ratio %.0f; "
           "built in "
           "%.0f ms; %.0f MiB with the list\n",
           count, quick[QUERIES / 2], quick[QUERIES - 1], busy[QUERIES - 1], slow[SLOW / 2],
           slow[SLOW / 2] / quick[QUERIES / 2], built, memory_mib());
    bench_hand_in((struct bench_row){"ten nearest finishes", (double)count, quick[QUERIES / 2],
                                     "a look at each", slow[SLOW / 2], "the same ten", memory_mib()});
    return true;
}

int main(void) {
    struct lab *colours = memory_need(MOST, sizeof *colours);
    for (int i = 0; i < MOST; i++) colours[i] = colour();
    for (size_t count = 1000; count <= MOST; count *= 10)
        if (!measure(colours, count)) return 1;
    memory_free(colours);
    return 0;
}
