/* Robust mean of repeats. Distances are CIEDE2000 under D65/10. The limit is the larger of .5 dE00 and (4 +
 * 6/n) times the median distance. Scatter lies between one dimension (lightness alone, as on grained leather:
 * median distance .67 sd, limit 2.7 sd and more) and three (1.54 sd, 6.2 sd and more);
 * tests/unit/repeats_test.c counts how seldom a good set loses one. The floor is what placing an instrument
 * anew on one spot of leather commonly gives (common practice). The plain mean of the kept ones follows. */
#include "colour/repeats.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

const double repeats_floor_de00 = .5;
const double repeats_far_de00 = 5;
const double repeats_wide_de00 = .8; /* what is not seen, facts of the trade */

static const struct view d65_10 = {LIGHT_D65, OBSERVER_10};

static int compare_numbers(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *value, size_t n) {
    qsort(value, n, sizeof *value, compare_numbers);
    return n % 2 ? value[n / 2] : (value[n / 2 - 1] + value[n / 2]) / 2;
}

/* A reading as a row of numbers: 31 bands, or L, a, b. */
static int numbers_in(const struct reading *reading) {
    return reading->has_spectrum ? BANDS : 3;
}

static double number_at(const struct reading *reading, int i) {
    if (reading->has_spectrum) return reading->reflectance.band[i];
    return i == 0 ? reading->lab.l : i == 1 ? reading->lab.a : reading->lab.b;
}

static void set_number(struct reading *reading, int i, double value) {
    if (reading->has_spectrum)
        reading->reflectance.band[i] = value;
    else
        *(i == 0 ? &reading->lab.l : i == 1 ? &reading->lab.a : &reading->lab.b) = value;
}

static void settle_lab(struct reading *reading) {
    if (reading->has_spectrum) reading->lab = lab_of_spectrum(&reading->reflectance, weights_of(d65_10));
}

static struct reading middle_of(const struct reading *reading, size_t count, double *scratch) {
    struct reading middle = reading[0];
    for (int i = 0; i < numbers_in(&middle); i++) {
        for (size_t k = 0; k < count; k++) scratch[k] = number_at(&reading[k], i);
        set_number(&middle, i, median(scratch, count));
    }
    settle_lab(&middle);
    return middle;
}

/* Photographs of one spot share their card's error, so covariances are averaged and not divided. */
static void add_covariance(struct reading *mean, const struct reading *reading, double share) {
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) mean->lab_cov[i][k] += share * reading->lab_cov[i][k];
    mean->has_cov = true;
}

static struct reading mean_of(const struct reading *reading, size_t count, const bool *is_kept, size_t kept) {
    size_t first = 0;
    while (!is_kept[first]) first++;
    struct reading mean = reading[first];
    for (int i = 0; i < numbers_in(&mean); i++) {
        double sum = 0;
        for (size_t k = 0; k < count; k++)
            if (is_kept[k]) sum += number_at(&reading[k], i);
        set_number(&mean, i, sum / (double)kept);
    }
    memset(mean.lab_cov, 0, sizeof mean.lab_cov);
    mean.has_cov = false;
    for (size_t k = 0; k < count; k++)
        if (is_kept[k] && reading[k].has_cov) add_covariance(&mean, &reading[k], 1 / (double)kept);
    settle_lab(&mean);
    return mean;
}

static enum status check_alike(const struct reading *reading, size_t count, enum geometry *geometry,
                               struct fault *fault) {
    *geometry = GEOMETRY_UNKNOWN;
    for (size_t i = 0; i < count; i++) {
        if (reading[i].has_spectrum != reading[0].has_spectrum)
            return FAULT(fault, REPEATS_MIXED, reading[0].id, reading[i].id);
        if (reading[i].geometry == GEOMETRY_UNKNOWN) continue;
        if (*geometry != GEOMETRY_UNKNOWN && *geometry != reading[i].geometry)
            return FAULT(fault, REPEATS_GEOMETRY, geometry_name(*geometry), reading[i].id,
                         geometry_name(reading[i].geometry));
        *geometry = reading[i].geometry;
    }
    return STATUS_OK;
}

/* Marks what stays, given the distances to the middle; returns how many stay. */
static size_t keep_near(const double *distance, size_t count, double middle, bool *is_kept) {
    const double limit = fmax(repeats_floor_de00, (4 + 6 / (double)count) * middle);
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        is_kept[i] = count < 3 || distance[i] <= limit;
        kept += is_kept[i];
    }
    return kept;
}

static struct repeat_rejected verdict(size_t index, struct lab mean, struct lab lab) {
    const struct difference d = difference_of(mean, lab);
    const double across = hypot(d.da, d.db);
    struct repeat_rejected out = {index, d.de00, REPEAT_OTHER_COLOUR, across};
    if (fabs(d.dl) >= across) {
        out.why = d.dl > 0 ? REPEAT_LIGHTER : REPEAT_DARKER;
        out.by = fabs(d.dl);
    }
    return out;
}

/* The figures and the list of what was left out. */
static void account(const struct reading *reading, size_t count, const bool *is_kept, struct arena *arena,
                    struct repeats *out) {
    out->rejected = arena_need(arena, count, sizeof *out->rejected);
    for (size_t i = 0; i < count; i++) {
        const double de00 = difference_de00(out->mean.lab, reading[i].lab);
        if (!is_kept[i]) {
            out->rejected[out->rejected_count++] = verdict(i, out->mean.lab, reading[i].lab);
            continue;
        }
        out->mean_de00 += de00 / (double)out->kept;
        out->max_de00 = fmax(out->max_de00, de00);
    }
}

enum status repeats_mean(const struct reading *reading, size_t count, struct arena *arena,
                         struct repeats *out, struct fault *fault) {
    assert(count >= 1);
    enum geometry geometry;
    const enum status status = check_alike(reading, count, &geometry, fault);
    if (status != STATUS_OK) return status;
    double *distance = arena_need(arena, count, sizeof *distance);
    double *scratch = arena_need(arena, count, sizeof *scratch);
    bool *is_kept = arena_need(arena, count, sizeof *is_kept);
    const struct reading middle = middle_of(reading, count, scratch);
    for (size_t i = 0; i < count; i++) scratch[i] = distance[i] = difference_de00(middle.lab, reading[i].lab);
    const double typical = median(scratch, count);
    if (typical > repeats_far_de00)
        return FAULT(fault, REPEATS_FAR, COUNT_TEXT(count), NUMBER_TEXT(round(10 * typical) / 10));
    *out = (struct repeats){.kept = keep_near(distance, count, typical, is_kept)};
    out->mean = mean_of(reading, count, is_kept, out->kept);
    out->mean.geometry = geometry;
    account(reading, count, is_kept, arena, out);
    return STATUS_OK;
}
