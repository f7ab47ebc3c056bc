/* Few mixes for many leathers: a weighted k-centre problem in dE00, solved greedily with exchanges (each step
 * takes the exchange that lowers the sum most; ties go to the lower index). */
#include "paint/leather.h"
#include "colour/difference.h"
#include <assert.h>
#include <math.h>
#include <string.h>

/* Invented: what the trade's common leathers look like (common practice, no source). */
static const double colours[LEATHER_COLOURS][3] = {
    {88, 1, 12},  {83, 2, 16},   {78, 4, 20},   {74, 5, 14},  {66, 12, 30},  {60, 16, 34},  {55, 18, 36},
    {50, 16, 28}, {48, 24, 40},  {43, 26, 38},  {38, 24, 32}, {40, 12, 18},  {34, 12, 16},  {29, 10, 12},
    {24, 7, 8},   {20, 4, 5},    {34, 34, 18},  {28, 28, 14}, {24, 20, 9},   {20, 12, 5},   {42, 48, 28},
    {36, 42, 24}, {26, 24, 4},   {26, 2, -16},  {21, 1, -10}, {32, -1, -22}, {42, -4, -26}, {62, -4, -14},
    {72, 0, 2},   {60, 0, 0},    {48, 0, -1},   {38, 0, -1},  {30, 0, -1},   {22, 0, 0},    {18, 0, -1},
    {30, -12, 8}, {38, -14, 14}, {46, -12, 18}, {26, -6, 4},  {40, -16, -8}, {68, 12, 52},  {60, 16, 48},
    {56, 34, 48}, {52, 6, 14},   {44, 4, 8},    {64, 4, 12},  {36, 5, 6},    {30, 16, -10}, {66, 18, 10},
    {52, 22, 30}, {33, 17, 22},
};

struct lab leather_lab(size_t i) {
    assert(i < LEATHER_COLOURS);
    return (struct lab){colours[i][0], colours[i][1], colours[i][2], {LIGHT_D65, OBSERVER_10}};
}

struct cover {
    size_t count;
    double squared[LEATHER_COLOURS][LEATHER_CANDIDATES_MOST];
};

/* The sum with candidate "in" added and chosen[out] taken away (SIZE_MAX: none). */
static double sum_with(const struct cover *cover, const size_t chosen[], size_t n, size_t out, size_t in) {
    double sum = 0;
    for (size_t t = 0; t < LEATHER_COLOURS; t++) {
        double least = in == (size_t)-1 ? HUGE_VAL : cover->squared[t][in];
        for (size_t i = 0; i < n; i++)
            if (i != out) least = fmin(least, cover->squared[t][chosen[i]]);
        sum += least;
    }
    return sum;
}

static bool is_chosen(const size_t chosen[], size_t n, size_t candidate) {
    for (size_t i = 0; i < n; i++)
        if (chosen[i] == candidate) return true;
    return false;
}

/* The best candidate to come in for chosen[out] (or as a further one). */
static size_t best_in(const struct cover *cover, const size_t chosen[], size_t n, size_t out, double *sum) {
    size_t best = (size_t)-1;
    for (size_t c = 0; c < cover->count; c++) {
        if (is_chosen(chosen, n, c)) continue;
        const double with = sum_with(cover, chosen, n, out, c);
        if (best == (size_t)-1 || with < *sum - 1e-9) best = c, *sum = with;
    }
    return best;
}

static double exchange(const struct cover *cover, size_t chosen[], size_t n, double sum) {
    for (int round = 0; round < 100; round++) {
        double least = sum;
        size_t out = 0, in = (size_t)-1;
        for (size_t i = 0; i < n; i++) {
            double with;
            const size_t c = best_in(cover, chosen, n, i, &with);
            if (c != (size_t)-1 && with < least - 1e-9) least = with, out = i, in = c;
        }
        if (in == (size_t)-1) break;
        chosen[out] = in, sum = least;
    }
    return sum;
}

static void sort(size_t value[], size_t n) {
    for (size_t i = 1; i < n; i++)
        for (size_t k = i; k > 0 && value[k - 1] > value[k]; k--) {
            const size_t held = value[k];
            value[k] = value[k - 1], value[k - 1] = held;
        }
}

size_t leather_cover(const struct lab candidate[], size_t count, size_t wanted, size_t chosen[],
                     double *rms_de00) {
    struct cover cover = {.count = count};
    assert(count <= LEATHER_CANDIDATES_MOST);
    for (size_t t = 0; t < LEATHER_COLOURS; t++)
        for (size_t c = 0; c < count; c++) {
            const double de00 = difference_de00(leather_lab(t), candidate[c]);
            cover.squared[t][c] = de00 * de00;
        }
    size_t n = 0;
    double sum = 0;
    while (n < wanted && n < count) {
        const size_t c = best_in(&cover, chosen, n, (size_t)-1, &sum);
        chosen[n++] = c;
    }
    if (n > 0) sum = exchange(&cover, chosen, n, sum);
    sort(chosen, n);
    if (rms_de00) *rms_de00 = n > 0 ? sqrt(sum / LEATHER_COLOURS) : (double)NAN;
    return n;
}
