/* The book of finishes: the ten nearest of a million colours by CIEDE2000, against a look at every colour
 * with the same formula in the same run. Prints medians over queries, the ratio and the memory. */
#include "base/memory.h"
#include "bench.h"
#include "check.h"
#include "colour/difference.h"
#include "colour/nearest.h"
#include <sys/resource.h>
#include <time.h>

enum { COLOURS = 1000000, QUERIES = 200, SLOW = 10, WANTED = 10 };
static unsigned long long seed = 77;

static struct lab colour(void) {
    const double l = 10 + 65 * check_random(&seed), a = -2 + 30 * check_random(&seed),
                 b = -10 + 55 * check_random(&seed);
    return (struct lab){l, a, b, {LIGHT_D65, OBSERVER_10}};
}

int main(void) {
    struct lab *colours = memory_need(COLOURS, sizeof *colours);
    for (int i = 0; i < COLOURS; i++) colours[i] = colour();
    const double begun = now_ms();
    struct nearest *tree = nearest_new(colours, COLOURS);
    const double built = now_ms() - begun;
    double quick[QUERIES], slow[SLOW], sum = 0;
    for (int i = 0; i < QUERIES; i++) {
        struct near_colour found[WANTED];
        const struct lab query = colour();
        const double start = now_ms();
        sum += (double)nearest_find(tree, query, WANTED, HUGE_VAL, found);
        quick[i] = now_ms() - start;
        if (i >= SLOW) continue;
        const double again = now_ms();
        size_t nearer = 0;
        for (int k = 0; k < COLOURS; k++)
            nearer += difference_de00(query, colours[k]) < found[WANTED - 1].de00;
        slow[i] = now_ms() - again;
        if (nearer > WANTED - 1) return printf("the tree missed one\n"), 1;
    }
    qsort(quick, QUERIES, sizeof *quick, by_value);
    qsort(slow, SLOW, sizeof *slow, by_value);
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf("ten nearest of %d finishes: median %.2f ms, worst %.2f ms; a look at all %.0f ms; ratio %.0f\n",
           COLOURS, quick[QUERIES / 2], quick[QUERIES - 1], slow[SLOW / 2],
           slow[SLOW / 2] / quick[QUERIES / 2]);
    printf("built in %.0f ms; %ld MiB with the list it was made of (%.0f found)\n", built,
           usage.ru_maxrss / 1024, sum);
    nearest_free(tree);
    memory_free(colours);
}
