/* The tree's answers against a look at every colour (the slow twin), over the whole of Lab: greys, the hue
 * seam, blues (where CIEDE2000 turns its ellipse), leathers; equal colours; none; fewer than wanted. */
#include "base/memory.h"
#include "check.h"
#include "colour/difference.h"
#include "colour/nearest.h"

enum { MOST = 24 };
static const struct view view = {LIGHT_D65, OBSERVER_10};
static unsigned long long seed = 20231;

static double between(double low, double high) {
    return low + (high - low) * check_random(&seed);
}

static struct lab anywhere(void) {
    return (struct lab){between(0, 100), between(-90, 90), between(-110, 110), view};
}
static struct lab near_grey(void) {
    return (struct lab){between(5, 95), between(-3, 3), between(-3, 3), view};
}
static struct lab on_the_seam(void) {
    return (struct lab){between(20, 80), between(5, 60), between(-2, 2), view};
}
static struct lab blue(void) {
    return (struct lab){between(10, 60), between(-5, 30), between(-70, -20), view};
}
static struct lab leather(void) {
    return (struct lab){between(10, 75), between(0, 25), between(-2, 45), view};
}

typedef struct lab some_colour(void);
static some_colour *const kinds[] = {anywhere, near_grey, on_the_seam, blue, leather};
enum { KINDS = sizeof kinds / sizeof *kinds };

/* ---- a sorted list as the file ---- */

struct filed {
    unsigned cell;
    long long key;
    struct lab colour;
};
struct list {
    struct filed *filed;
    size_t n;
};

static int by_cell(const void *a, const void *b) {
    const struct filed *x = a, *y = b;
    return x->cell != y->cell ? (x->cell < y->cell ? -1 : 1) : (x->key > y->key) - (x->key < y->key);
}

static struct list filed(const struct lab *colours, size_t n) {
    struct list list = {memory_need(n + 1, sizeof *list.filed), n};
    for (size_t i = 0; i < n; i++)
        list.filed[i] = (struct filed){nearest_cell(colours[i]), (long long)i, colours[i]};
    qsort(list.filed, n, sizeof *list.filed, by_cell);
    return list;
}

/* The first that is not filed before the cell. */
static size_t place_of(const struct list *list, unsigned cell) {
    size_t low = 0, high = list->n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (list->filed[middle].cell < cell)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static size_t count_list(void *from, unsigned low, unsigned high, size_t most) {
    const size_t n = place_of(from, high + 1) - place_of(from, low);
    return n < most ? n : most;
}

static void each_of_list(void *from, unsigned low, unsigned high, colour_seen *seen, void *to) {
    const struct list *list = from;
    for (size_t i = place_of(list, low); i < list->n && list->filed[i].cell <= high; i++)
        seen(to, list->filed[i].key, list->filed[i].colour);
}

static size_t find_in(const struct list *list, struct lab query, size_t most, double within,
                      struct near_colour *out) {
    struct list copy = *list;
    return nearest_find(&(struct colour_file){&copy, count_list, each_of_list}, query, most, within, out);
}

static size_t look_at_all(const struct lab *colours, size_t n, struct lab query, size_t most, double within,
                          struct near_colour *out) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const double de00 = difference_de00(query, colours[i]);
        if (!(de00 <= within) || (count == most && !(de00 < out[count - 1].de00))) continue;
        size_t place = count < most ? count++ : most - 1;
        for (; place > 0 && de00 < out[place - 1].de00; place--) out[place] = out[place - 1];
        out[place] = (struct near_colour){(long long)i, de00};
    }
    return count;
}

static void agree(const struct list *tree, const struct lab *colours, size_t n, struct lab query, size_t most,
                  double within) {
    struct near_colour quick[MOST], slow[MOST];
    const size_t got = find_in(tree, query, most, within, quick),
                 want = look_at_all(colours, n, query, most, within, slow);
    CHECK(got == want);
    for (size_t i = 0; i < got && i < want; i++) {
        CHECK(quick[i].key == slow[i].key);
        CHECK_NEAR(quick[i].de00, slow[i].de00, 0);
    }
}

static void try_many(size_t n, int queries) {
    struct lab *colours = memory_need(n, sizeof *colours);
    for (size_t i = 0; i < n; i++) colours[i] = kinds[i % KINDS]();
    const struct list tree = filed(colours, n);
    for (int i = 0; i < queries; i++) {
        agree(&tree, colours, n, kinds[i % KINDS](), 1 + (size_t)i % MOST, i % 3 ? HUGE_VAL : 2);
        agree(&tree, colours, n, colours[(size_t)i * 7919 % n], MOST, 1);
    }
    memory_free(tree.filed);
    memory_free(colours);
}

static void small_books_answer_like_a_look_at_all(void) {
    for (size_t n = 1; n < 80; n++) try_many(n, 6);
}

static void a_large_book_answers_like_a_look_at_all(void) {
    try_many(30000, 60);
}

static void LONG_a_million_finishes_answer_like_a_look_at_all(void) {
    try_many(1000000, 100);
}

static void equal_colours_come_in_their_order(void) {
    struct lab colours[100];
    for (int i = 0; i < 100; i++) colours[i] = (struct lab){40, 10, i < 50 ? 20 : 21, view};
    const struct list tree = filed(colours, 100);
    agree(&tree, colours, 100, colours[0], 20, HUGE_VAL);
    agree(&tree, colours, 100, colours[99], MOST, HUGE_VAL);
    memory_free(tree.filed);
}

static void greys_and_nothing(void) {
    struct near_colour out[2];
    const struct list empty = filed(NULL, 0);
    CHECK(find_in(&empty, anywhere(), 2, 5, out) == 0);
    memory_free(empty.filed);
    const struct lab greys[] = {{50, 0, 0, view}, {51, 0, 0, view}, {50, 0, -1, view}};
    const struct list tree = filed(greys, 3);
    agree(&tree, greys, 3, greys[0], 3, HUGE_VAL);
    CHECK(find_in(&tree, greys[0], 0, 5, out) == 0);
    CHECK(find_in(&tree, greys[0], 2, -1, out) == 0);
    CHECK(find_in(&tree, (struct lab){50, (double)NAN, 0, view}, 2, 5, out) == 0);
    memory_free(tree.filed);
}

/* Filed at either side of every kind of edge: on it, a rounding below, beside all cells. */
static void edges_of_cells_lose_nothing(void) {
    enum { EDGES = 4000 };
    struct lab *colours = memory_need(EDGES, sizeof *colours);
    for (int i = 0; i < EDGES; i++) {
        const double l = floor(between(0, 800)) / 8, a = floor(between(-400, 400)) / 4,
                     b = floor(between(-400, 400)) / 4;
        const double off = i % 4 == 0 ? 1e-17 : i % 4 == 1 ? 1e-13 : 0;
        colours[i] = (struct lab){l - off, a - off, b - off, view};
        if (i % 50 == 0) colours[i].l = i % 100 ? -20 : 150;
        if (i % 50 == 1) colours[i].a = i % 100 > 50 ? -300 : 300;
        if (i % 50 == 2) colours[i].b = i % 100 > 50 ? -300 : 300;
    }
    const struct list tree = filed(colours, EDGES);
    for (int i = 0; i < EDGES; i += 13) agree(&tree, colours, EDGES, colours[i], 5, HUGE_VAL);
    agree(&tree, colours, EDGES, (struct lab){50, 0, 0, view}, MOST, HUGE_VAL);
    memory_free(tree.filed);
    memory_free(colours);
}

int main(void) {
    RUN(small_books_answer_like_a_look_at_all);
    RUN(a_large_book_answers_like_a_look_at_all);
    RUN(LONG_a_million_finishes_answer_like_a_look_at_all);
    RUN(edges_of_cells_lose_nothing);
    RUN(equal_colours_come_in_their_order);
    RUN(greys_and_nothing);
    return check_done();
}
