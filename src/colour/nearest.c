/* Nearest colours by CIEDE2000 among colours that are filed by their cell.
 *
 * A cell is .125 of L* and .25 of a* and b*; its number takes a bit of a*, one of b*, one of L* in turn, from
 * the coarsest down (Morton's order). So every stretch of numbers that shares its first bits is a box, halved
 * by the next bit along the next axis: an index in that order is a k-d tree whose cuts are known beforehand,
 * and nothing has to be read to build one.
 *
 * CIEDE2000 is no metric, so the tree's boxes are judged by a bound that holds for every colour in a box.
 * With the names of difference.c, for a query q and all colours of a box: dE00^2 = (dL/SL)^2 + x^2 + y^2 + RT
 * x y,   x = dC'/SC, y = dH'/SH
 *            >= (dL/SL)^2 + (1 - |RT|/2) (D^2 / SC^2 + dH'^2 (1/SH^2 - 1/SC^2))
 * where D^2 = dC'^2 + dH'^2 is the straight distance in the plane (a', b) (chord and radii of a triangle),
 * a' = s a with one s in [1, 1.5] for both colours, dH' = 2 sqrt(C1' C2') sin(dh/2), SC = 1 + .045 C'm and
 * SH <= 1 + .029 C'm (T <= 1 + .17 + .24 + .32 + .20, times .015). Each piece is taken at the worst end that
 * the box allows: dL, D, the chromas under dH' and dh least (dh is 0 where a hue is not bounded), SL, C'm and
 * |RT| most. SL grows with |Lm - 50|, SC, SH and RT's chroma factor with C'm, s falls with the mean chroma.
 * RT's hue factor falls with |hm - 275|, and hm is half the sum of the two hues, or 180 degrees beside it
 * where they are over 180 apart; where a hue is not bounded (a box around the grey axis or across hue 0) RT
 * counts in full. A bound that is too low only costs time. Rounding is met by 1e-9 of slack.
 */
#include "colour/nearest.h"
#include "colour/difference.h"
#include <math.h>
#include <stdbool.h>

/* A box with so few is looked at whole. */
enum { LEAF = 32, AXIS_BITS = 10, CELLS = 1 << AXIS_BITS };

struct box {
    double low[3], high[3];
};

static const double degree = M_PI / 180;

static double square(double x) {
    return x * x;
}

/* ---- cells ---- */

static const double cell_first[3] = {0, -128, -128}, cells_a_unit[3] = {8, 4, 4};
/* What lies beside the cells is filed in the outermost ones. */
static const double no_colour_below[3] = {-50, -1000, -1000}, no_colour_above[3] = {200, 1000, 1000};

/* Two free bits after each of ten. */
static unsigned spread(unsigned x) {
    x = x * 65537 & 0xff0000ffU;
    x = x * 257 & 0x0f00f00fU;
    x = x * 17 & 0xc30c30c3U;
    return x * 5 & 0x49249249U;
}

static unsigned along(double value, int axis) {
    return (unsigned)fmax(0, fmin(CELLS - 1, cells_a_unit[axis] * (value - cell_first[axis])));
}

unsigned nearest_cell(struct lab colour) {
    return spread(along(colour.a, 1)) << 2 | spread(along(colour.b, 2)) << 1 | spread(along(colour.l, 0));
}

/* The box of all cells that begin with these bits; those below `free` are not decided. */
static struct box box_of(unsigned cell, int free) {
    static const int shift[3] = {0, 2, 1};
    struct box box;
    for (int axis = 0; axis < 3; axis++) {
        unsigned first = 0, size = 1;
        for (int bit = 0; bit < AXIS_BITS; bit++) {
            const int place = 3 * bit + shift[axis];
            if (place < free)
                size <<= 1;
            else
                first |= (cell >> place & 1) << bit;
        }
        const double slack = 1e-9; /* of rounding where a value was filed */
        box.low[axis] = cell_first[axis] + first / cells_a_unit[axis] - slack;
        box.high[axis] = cell_first[axis] + (first + size) / cells_a_unit[axis] + slack;
        if (first == 0) box.low[axis] = no_colour_below[axis];
        if (first + size == CELLS) box.high[axis] = no_colour_above[axis];
    }
    return box;
}

/* ---- the bound ---- */

struct range {
    double low, high;
};

static double seventh(double c) {
    const double c7 = c * square(c * c * c), limit = 6103515625.0;
    return sqrt(c7 / (c7 + limit));
}

static double lightness_weight(double lm) {
    const double d2 = square(lm - 50);
    return 1 + .015 * d2 / sqrt(20 + d2);
}

static double beyond(double x, double low, double high) {
    return x < low ? low - x : x > high ? x - high : 0;
}

static double farthest(double low, double high) {
    return fmax(fabs(low), fabs(high));
}

static void widen(struct range *range, double a, double b) {
    double h = atan2(b, a) / degree;
    if (h < 0) h += 360;
    range->low = fmin(range->low, h);
    range->high = fmax(range->high, h);
}

/* The hues in a box of the plane for any stretch of a; false when it holds hue 0 or the grey axis. */
static bool hues_of_box(const double low[3], const double high[3], struct range stretch, struct range *hues) {
    if (low[2] <= 0 && high[2] >= 0 && high[1] >= 0) return false;
    *hues = (struct range){HUGE_VAL, -HUGE_VAL};
    for (int corner = 0; corner < 4; corner++) {
        const double a = corner & 1 ? high[1] : low[1], b = corner & 2 ? high[2] : low[2];
        widen(hues, stretch.low * a, b);
        widen(hues, stretch.high * a, b);
    }
    return true;
}

/* What is known of the hues of the query and of a box: the most that |RT| can be, the least that they differ.
 */
struct turn {
    double rotation, apart;
};

static struct turn turn_of(const double query[3], const struct box *box, struct range stretch,
                           double chroma) {
    struct range mine, theirs;
    double off = 0, apart = 0;
    if (hues_of_box(query, query, stretch, &mine) && hues_of_box(box->low, box->high, stretch, &theirs)) {
        const double low = (mine.low + theirs.low) / 2, high = (mine.high + theirs.high) / 2;
        off = beyond(275, low, high);
        if (fmax(mine.high - theirs.low, theirs.high - mine.low) > 180) /* their mean may lie beside it */
            off = fmin(off, fmin(beyond(275, low + 180, high + 180), beyond(275, low - 180, high - 180)));
        const double round = 360 - (fmax(mine.high, theirs.high) - fmin(mine.low, theirs.low));
        apart = fmax(0, fmin(round, fmax(mine.low - theirs.high, theirs.low - mine.high)));
    }
    return (struct turn){2 * seventh(chroma) * sin(60 * exp(-square(off / 25)) * degree), apart};
}

/* The least of D^2/SC^2 + dH'^2 (1/SH^2 - 1/SC^2), from D^2, the two chromas, and C'm's most. */
static double plane_squared(double straight, double mine, double theirs, double apart, double chroma) {
    const double sc = square(1 + .045 * chroma), sh = square(1 + .029 * chroma);
    const double hue = 4 * mine * theirs * square(sin(apart / 2 * degree));
    return straight / sc + hue * (1 / sh - 1 / sc);
}

/* Not more than the dE00 from the query to any colour in the box, squared. */
static double bound_squared(const double query[3], const struct box *box) {
    const double dl = beyond(query[0], box->low[0], box->high[0]);
    const double sl =
        fmax(lightness_weight((query[0] + box->low[0]) / 2), lightness_weight((query[0] + box->high[0]) / 2));
    const double da = beyond(query[1], box->low[1], box->high[1]),
                 db = beyond(query[2], box->low[2], box->high[2]);
    const double least = hypot(beyond(0, box->low[1], box->high[1]), beyond(0, box->low[2], box->high[2]));
    const double most_a = farthest(box->low[1], box->high[1]), most_b = farthest(box->low[2], box->high[2]);
    const double own = hypot(query[1], query[2]);
    const struct range stretch = {1 + .5 * (1 - seventh((own + hypot(most_a, most_b)) / 2)),
                                  1 + .5 * (1 - seventh((own + least) / 2))};
    const double chroma =
        (hypot(stretch.high * query[1], query[2]) + hypot(stretch.high * most_a, most_b)) / 2;
    const struct turn turn = turn_of(query, box, stretch, chroma);
    const double straight = square(stretch.low * da) + square(db);
    const double plane = plane_squared(straight, own, least, turn.apart, chroma);
    return (square(dl / sl) + (1 - turn.rotation / 2) * plane) * (1 - 1e-9);
}

/* ---- the search ---- */

struct search {
    const struct colour_file *file;
    struct lab query;
    double at[3], within; /* within: what a newcomer must reach */
    struct near_colour *found;
    size_t count, most;
};

static bool is_nearer(double de00, long long key, const struct near_colour *than) {
    return de00 < than->de00 || (de00 == than->de00 && key < than->key);
}

static void take(void *to, long long key, struct lab colour) {
    struct search *search = to;
    const double de00 = difference_de00(search->query, colour);
    if (!(de00 <= search->within)) return;
    if (search->count == search->most) {
        if (!is_nearer(de00, key, &search->found[search->count - 1])) return;
        search->count--;
    }
    size_t place = search->count++;
    for (; place > 0 && is_nearer(de00, key, &search->found[place - 1]); place--)
        search->found[place] = search->found[place - 1];
    search->found[place] = (struct near_colour){key, de00};
    if (search->count == search->most) search->within = search->found[search->most - 1].de00;
}

/* The half that may hold nearer ones first: what it brings may spare the other. */
static void descend(struct search *search, unsigned cell, int free, double bound) {
    if (bound > square(search->within)) return;
    const struct colour_file *file = search->file;
    const unsigned last = cell | ((1U << free) - 1);
    const size_t there = file->count(file->from, cell, last, LEAF + 1);
    if (there <= LEAF || free == 0) {
        if (there) file->each(file->from, cell, last, take, search);
        return;
    }
    const unsigned right = cell | 1U << (free - 1);
    const struct box of_low = box_of(cell, free - 1), of_high = box_of(right, free - 1);
    const double low = bound_squared(search->at, &of_low), high = bound_squared(search->at, &of_high);
    if (low <= high) descend(search, cell, free - 1, low);
    descend(search, right, free - 1, high);
    if (low > high) descend(search, cell, free - 1, low);
}

size_t nearest_find(const struct colour_file *file, struct lab query, size_t most, double within_de00,
                    struct near_colour *out) {
    struct search search = {file, query, {query.l, query.a, query.b}, within_de00, out, 0, most};
    const bool asked = most && within_de00 >= 0 && isfinite(query.l + query.a + query.b);
    if (asked) descend(&search, 0, 3 * AXIS_BITS, 0);
    return search.count;
}
