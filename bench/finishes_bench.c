/* The book of finishes: the ten nearest colours by CIEDE2000, out of a shop's book as `finish find` asks it,
 * against a look at every colour (held in memory) with the same formula in the same run, from a thousand to a
 * million. Colours like those of the book, and any colour at all (most of them near to nobody), within 5.
 * Prints medians over queries, the ratio and the memory. */
#include "base/memory.h"
#include "bench.h"
#include "check.h"
#include "colour/difference.h"
#include "shop_room.h"

enum { MOST = 1000000, QUERIES = 400, SLOW = 20, WANTED = 10 };
static unsigned long long seed = 77;

static double between(double low, double high) {
    return low + (high - low) * check_random(&seed);
}

static struct lab of_the_book(void) {
    return (struct lab){between(10, 75), between(-2, 28), between(-10, 45), {LIGHT_D65, OBSERVER_10}};
}

static struct lab any(void) {
    return (struct lab){between(0, 100), between(-60, 70), between(-60, 80), {LIGHT_D65, OBSERVER_10}};
}

static bool fill(struct book *book, const struct lab *colours, size_t from, size_t to, struct fault *fault) {
    enum status status = book_begin(book, fault);
    for (size_t i = from; i < to && status == STATUS_OK; i++) {
        struct finish_row finish = {.name = "some", .document = "{}", .has_lab = true, .lab = colours[i]};
        status = finish_store_add(book, &finish, fault);
    }
    return book_end(book, status, fault) == STATUS_OK;
}

/* How many of all are at least as near as the farthest that was found; all within 5 when fewer were. */
static bool is_whole(const struct lab *colours, size_t n, struct lab query, const struct near_colour found[],
                     size_t count) {
    const double reach = count == WANTED ? found[count - 1].de00 : 5;
    size_t nearer = 0;
    for (size_t k = 0; k < n; k++) nearer += difference_de00(query, colours[k]) <= reach;
    return nearer == count;
}

static bool measure(struct book *book, struct arena *arena, const struct lab *colours, size_t n,
                    struct lab (*asked)(void), const char *what) {
    double quick[QUERIES], busy[QUERIES], slow[SLOW]; /* by the clock, by the processor: others may have it */
    struct fault fault;
    for (int i = 0; i < QUERIES; i++) {
        struct near_colour found[WANTED];
        size_t count = 0;
        const struct lab query = asked();
        const struct finish_near near = {query, NULL, WANTED, 5};
        const double start = now_ms(), busy_from = cpu_ms();
        if (finish_store_near(book, &near, arena, found, &count, &fault) != STATUS_OK)
            return printf("%s\n", fault.text), false;
        quick[i] = now_ms() - start;
        busy[i] = cpu_ms() - busy_from;
        if (i >= SLOW) continue;
        const double again = now_ms();
        const bool whole = is_whole(colours, n, query, found, count);
        slow[i] = now_ms() - again;
        if (!whole) return printf("the book's answer is not that of a look at each\n"), false;
    }
    qsort(quick, QUERIES, sizeof *quick, by_value);
    qsort(busy, QUERIES, sizeof *busy, by_value);
    qsort(slow, SLOW, sizeof *slow, by_value);
    printf(
        "ten nearest of %zu finishes to %s: median %.3f ms, worst %.2f ms (of the processor %.3f, %.2f); a "
        "look at each %.1f ms; ratio %.0f; %.0f MiB with the list\n",
        n, what, quick[QUERIES / 2], quick[QUERIES - 1], busy[QUERIES / 2], busy[QUERIES - 1], slow[SLOW / 2],
        slow[SLOW / 2] / quick[QUERIES / 2], memory_mib());
    char row[80];
    snprintf(row, sizeof row, "ten finishes near to %s", what);
    bench_hand_in((struct bench_row){row, (double)n, quick[QUERIES / 2], "a look at each", slow[SLOW / 2],
                                     "the same ten", memory_mib()});
    return true;
}

int main(void) {
    struct lab *colours = memory_need(MOST, sizeof *colours);
    struct shop_room room;
    struct fault fault;
    shop_room_make(&room, 0);
    for (int i = 0; i < MOST; i++) colours[i] = of_the_book();
    bool good = true;
    size_t there = 0;
    for (size_t count = 1000; good && count <= MOST; there = count, count *= 10)
        good = fill(room.book, colours, there, count, &fault) &&
               measure(room.book, room.arena, colours, count, of_the_book, "a colour like theirs") &&
               measure(room.book, room.arena, colours, count, any, "any colour");
    memory_free(colours);
    shop_room_end(&room);
    return good ? 0 : 1;
}
