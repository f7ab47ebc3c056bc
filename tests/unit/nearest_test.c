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

static size_t look_at_all(const struct lab *colours, size_t n, struct lab query, size_t most, double within,
                          struct near_colour *out) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const double de00 = difference_de00(query, colours[i]);
        if (!(de00 <= within) || (count == most && !(de00 < out[count - 1].de00))) continue;
        size_t place = count < most ? count++ : most - 1;
        for (; place > 0 && de00 < out[place - 1].de00; place--) out[place] = out[place - 1];
        out[place] = (struct near_colour){i, de00};
    }
    return count;
}

static void agree(const struct nearest *tree, const struct lab *colours, size_t n, struct lab query,
                  size_t most, double within) {
    struct near_colour quick[MOST], slow[MOST];
    const size_t got = nearest_find(tree, query, most, within, quick),
                 want = look_at_all(colours, n, query, most, within, slow);
    CHECK(got == want);
    for (size_t i = 0; i < got && i < want; i++) {
        CHECK(quick[i].index == slow[i].index);
        CHECK_NEAR(quick[i].de00, slow[i].de00, 0);
    }
}

static void try_many(size_t n, int queries) {
    struct lab *colours = memory_need(n, sizeof *colours);
    for (size_t i = 0; i < n; i++) colours[i] = kinds[i % KINDS]();
    struct nearest *tree = nearest_new(colours, n);
    for (int i = 0; i < queries; i++) {
        agree(tree, colours, n, kinds[i % KINDS](), 1 + (size_t)i % MOST, i % 3 ? HUGE_VAL : 2);
        agree(tree, colours, n, colours[(size_t)i * 7919 % n], MOST, 1);
    }
    nearest_free(tree);
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
    struct nearest *tree = nearest_new(colours, 100);
    agree(tree, colours, 100, colours[0], 20, HUGE_VAL);
    agree(tree, colours, 100, colours[99], MOST, HUGE_VAL);
    nearest_free(tree);
}

static void greys_and_nothing(void) {
    struct near_colour out[2];
    struct nearest *empty = nearest_new(NULL, 0);
    CHECK(nearest_find(empty, anywhere(), 2, 5, out) == 0);
    nearest_free(empty);
    const struct lab greys[] = {{50, 0, 0, view}, {51, 0, 0, view}, {50, 0, -1, view}};
    struct nearest *tree = nearest_new(greys, 3);
    agree(tree, greys, 3, greys[0], 3, HUGE_VAL);
    CHECK(nearest_find(tree, greys[0], 0, 5, out) == 0);
    CHECK(nearest_find(tree, greys[0], 2, -1, out) == 0);
    CHECK(nearest_find(tree, (struct lab){50, (double)NAN, 0, view}, 2, 5, out) == 0);
    nearest_free(tree);
}

/* Whatever lies within a distance lies in its box. */
static void a_box_holds_all_that_is_near(void) {
    double fullest = 0;
    int inside = 0;
    for (int i = 0; i < 60000; i++) {
        const struct lab query = kinds[i % KINDS]();
        const double reach = between(0, i % 7 ? .4 : 1);
        const struct lab other = {query.l + reach * between(-30, 30), query.a + reach * between(-90, 90),
                                  query.b + reach * between(-90, 90), view};
        if (other.l < 0 || other.l > 100) continue; /* no colour of a film */
        const double de00 = difference_de00(query, other);
        const struct lab_box box = nearest_box(query, de00);
        const double away[] = {other.l - query.l, other.a - query.a, other.b - query.b};
        for (int axis = 0; axis < 3; axis++) {
            const double half = .5 * (box.high[axis] - box.low[axis]);
            CHECK(!(fabs(away[axis]) > half));
            if (half < HUGE_VAL) fullest = fmax(fullest, fabs(away[axis]) / half);
        }
        inside += box.high[1] < HUGE_VAL;
    }
    CHECK(inside > 20000 && fullest > .5);
    printf("  figure: of 60000 pairs none outside of its box; the fullest at %.2f of it\n", fullest);
}

int main(void) {
    RUN(small_books_answer_like_a_look_at_all);
    RUN(a_large_book_answers_like_a_look_at_all);
    RUN(LONG_a_million_finishes_answer_like_a_look_at_all);
    RUN(a_box_holds_all_that_is_near);
    RUN(equal_colours_come_in_their_order);
    RUN(greys_and_nothing);
    return check_done();
}
