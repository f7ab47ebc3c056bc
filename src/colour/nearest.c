/* Nearest colours by CIEDE2000 in a k-d tree over Lab.
 *
 * CIEDE2000 is no metric, so the tree's boxes are judged by a bound that holds for every colour in a box.
 * With the names of difference.c, for a query q and all colours of a box: dE00^2 = (dL/SL)^2 + x^2 + y^2 + RT
 * x y,   x = dC'/SC, y = dH'/SH
 *            >= (dL/SL)^2 + (1 - |RT|/2) (dC'^2 + dH'^2) / S^2
 * where dC'^2 + dH'^2 is the straight distance in the plane (a', b) (chord and radii of a triangle),
 * a' = s a with one s in [1, 1.5] for both colours, and S = 1 + .045 C'm, which is over both SC and SH
 * (T <= 1 + .17 + .24 + .32 + .20, times .015 is .029). Each piece is taken at the worst end that the box
 * allows: dL and the plane's distance least, SL, S and |RT| most. SL grows with |Lm - 50|, S and RT's chroma
 * factor with C'm, s falls with the mean chroma. RT's hue factor falls with |hm - 275|, and hm is half the
 * sum of the two hues or 180 degrees beside it; where a hue is not bounded (a box around the grey axis or
 * across hue 0) RT counts in full. A bound that is too low only costs time. Rounding is met by 1e-9 of slack.
 */
#include "colour/nearest.h"
#include "base/memory.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <stdbool.h>

enum { LEAF = 16 };

struct box {
    double low[3], high[3];
};

struct nearest {
    size_t n, nodes;
    struct view view;
    double (*lab)[3]; /* in the tree's order */
    unsigned *index;
    struct box *box; /* children of i are 2i+1, 2i+2 */
};

static const double degree = M_PI / 180;

static double square(double x) {
    return x * x;
}

/* ---- building ---- */

static void swap(struct nearest *tree, size_t i, size_t k) {
    for (int axis = 0; axis < 3; axis++) {
        const double kept = tree->lab[i][axis];
        tree->lab[i][axis] = tree->lab[k][axis];
        tree->lab[k][axis] = kept;
    }
    const unsigned kept = tree->index[i];
    tree->index[i] = tree->index[k];
    tree->index[k] = kept;
}

/* Hoare's selection: afterwards the middle stands where sorting along the axis would put it. */
static void select_middle(struct nearest *tree, size_t from, size_t to, size_t middle, int axis) {
    while (to - from > 1) {
        const double pivot = tree->lab[from + (to - from) / 2][axis];
        size_t i = from, k = to - 1;
        for (;;) {
            while (tree->lab[i][axis] < pivot) i++;
            while (tree->lab[k][axis] > pivot) k--;
            if (i >= k) break;
            swap(tree, i++, k--);
        }
        const size_t cut = k + 1 > from && k + 1 < to ? k + 1 : from + 1;
        if (middle < cut)
            to = cut;
        else
            from = cut;
    }
}

static struct box box_around(const struct nearest *tree, size_t from, size_t to) {
    struct box box;
    for (int axis = 0; axis < 3; axis++) {
        box.low[axis] = box.high[axis] = tree->lab[from][axis];
        for (size_t i = from + 1; i < to; i++) {
            box.low[axis] = fmin(box.low[axis], tree->lab[i][axis]);
            box.high[axis] = fmax(box.high[axis], tree->lab[i][axis]);
        }
    }
    return box;
}

static int widest_axis(const struct box *box) {
    int widest = 0;
    for (int axis = 1; axis < 3; axis++)
        if (box->high[axis] - box->low[axis] > box->high[widest] - box->low[widest]) widest = axis;
    return widest;
}

static void build(struct nearest *tree, size_t node, size_t from, size_t to) {
    tree->box[node] = box_around(tree, from, to);
    if (to - from <= LEAF) return;
    const size_t middle = from + (to - from) / 2;
    select_middle(tree, from, to, middle, widest_axis(&tree->box[node]));
    build(tree, 2 * node + 1, from, middle);
    build(tree, 2 * node + 2, middle, to);
}

static size_t nodes_for(size_t n) {
    size_t nodes = 1;
    for (size_t most = n; most > LEAF; most = most - most / 2) nodes = 2 * nodes + 1;
    return nodes;
}

struct nearest *nearest_new(const struct lab *colours, size_t n) {
    struct nearest *tree = memory_need(1, sizeof *tree);
    tree->n = n;
    tree->nodes = nodes_for(n);
    tree->lab = memory_need(n + 1, sizeof *tree->lab);
    tree->index = memory_need(n + 1, sizeof *tree->index);
    tree->box = memory_need(tree->nodes, sizeof *tree->box);
    if (n) tree->view = colours[0].view;
    for (size_t i = 0; i < n; i++) {
        assert(colours[i].view.light == tree->view.light && colours[i].view.observer == tree->view.observer);
        tree->lab[i][0] = colours[i].l;
        tree->lab[i][1] = colours[i].a;
        tree->lab[i][2] = colours[i].b;
        tree->index[i] = (unsigned)i;
    }
    if (n) build(tree, 0, 0, n);
    return tree;
}

void nearest_free(struct nearest *tree) {
    if (!tree) return;
    memory_free(tree->lab);
    memory_free(tree->index);
    memory_free(tree->box);
    memory_free(tree);
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

/* The most that |RT| can be. */
static double rotation_most(const double query[3], const struct box *box, struct range stretch,
                            double chroma) {
    struct range mine, theirs;
    double off = 0;
    if (hues_of_box(query, query, stretch, &mine) && hues_of_box(box->low, box->high, stretch, &theirs)) {
        const double low = (mine.low + theirs.low) / 2, high = (mine.high + theirs.high) / 2;
        off = beyond(275, low, high);
        off = fmin(off, fmin(beyond(275, low + 180, high + 180), beyond(275, low - 180, high - 180)));
    }
    return 2 * seventh(chroma) * sin(60 * exp(-square(off / 25)) * degree);
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
    const double plane = square(stretch.low * da) + square(db);
    const double straight = 1 - rotation_most(query, box, stretch, chroma) / 2;
    return (square(dl / sl) + straight * plane / square(1 + .045 * chroma)) * (1 - 1e-9);
}

/* ---- the search ---- */

struct search {
    const struct nearest *tree;
    struct lab query;
    double at[3], within; /* within: what a newcomer must reach */
    struct near_colour *found;
    size_t count, most;
};

static bool is_nearer(double de00, size_t index, const struct near_colour *than) {
    return de00 < than->de00 || (de00 == than->de00 && index < than->index);
}

static void take(struct search *search, double de00, size_t index) {
    if (!(de00 <= search->within)) return;
    if (search->count == search->most) {
        if (!is_nearer(de00, index, &search->found[search->count - 1])) return;
        search->count--;
    }
    size_t place = search->count++;
    for (; place > 0 && is_nearer(de00, index, &search->found[place - 1]); place--)
        search->found[place] = search->found[place - 1];
    search->found[place] = (struct near_colour){index, de00};
    if (search->count == search->most) search->within = search->found[search->most - 1].de00;
}

static void look(struct search *search, size_t from, size_t to) {
    const struct nearest *tree = search->tree;
    for (size_t i = from; i < to; i++) {
        const double *lab = tree->lab[i];
        take(search, difference_de00(search->query, (struct lab){lab[0], lab[1], lab[2], tree->view}),
             tree->index[i]);
    }
}

static void descend(struct search *search, size_t node, size_t from, size_t to, double bound) {
    if (bound > square(search->within)) return;
    if (to - from <= LEAF) {
        look(search, from, to);
        return;
    }
    const size_t middle = from + (to - from) / 2, left = 2 * node + 1, right = left + 1;
    const double of_left = bound_squared(search->at, &search->tree->box[left]),
                 of_right = bound_squared(search->at, &search->tree->box[right]);
    if (of_left <= of_right) descend(search, left, from, middle, of_left);
    descend(search, right, middle, to, of_right);
    if (of_left > of_right) descend(search, left, from, middle, of_left);
}

size_t nearest_find(const struct nearest *tree, struct lab query, size_t most, double within_de00,
                    struct near_colour *out) {
    struct search search = {tree, query, {query.l, query.a, query.b}, within_de00, out, 0, most};
    if (tree->n && most && within_de00 >= 0) descend(&search, 0, 0, tree->n, 0);
    return search.count;
}

/* ---- a box around a query ----
 * By the same bound, read the other way: |dL| <= r SL and SL < 1.75 (it is 1.747 at either end). The plane's
 * distance D <= r S / sqrt(1 - |RT|/2); |RT| <= 2 sin 60 degrees, and S <= 1 + .045 (1.5 C + D/2) for the
 * query's chroma C, so D (1 - .0225 r f) <= r f (1 + .0675 C) with f = 1/sqrt(1 - sin 60). |da| <= |da'| <=
 * D, |db| <= D. */

struct lab_box nearest_box(struct lab query, double within_de00) {
    const double f = 2.7323, r = within_de00, chroma = hypot(query.a, query.b), shrink = 1 - .0225 * r * f;
    const double plane = shrink > 0 ? r * f * (1 + .0675 * chroma) / shrink * (1 + 1e-9) : HUGE_VAL;
    const bool usual = query.l >= 0 && query.l <= 100; /* beside it SL may be larger */
    const double lightness = usual ? 1.75 * r * (1 + 1e-9) : HUGE_VAL;
    return (struct lab_box){{query.l - lightness, query.a - plane, query.b - plane},
                            {query.l + lightness, query.a + plane, query.b + plane}};
}
