#include "paint/sheen.h"
#include "paint/monotone.h"
#include <math.h>
#include <string.h>

static const double read_out_gu = 0.1, day_sd = 0.12, least_part = 0.03, guess_part = 0.35;
static const double least_gu = 0.05; /* a dead-matte zero, for the logarithm */
static const double offsets[] = {0, 0.5, 2, 8, 30, 1000};

/* What counts as a miss of one: 10 % of GU or .3 GU, whichever is more. */
static double unit_gu(double gu) {
    return fmax(0.1 * gu, 0.3);
}

struct points {
    size_t count;
    double matte[SHEEN_ROWS_MOST], gu[SHEEN_ROWS_MOST];
    int line[SHEEN_ROWS_MOST];
};

static bool has_coats(const struct sheen_row *row, double coats) {
    return isnan(row->coats) || row->coats == coats;
}

static size_t count_rows(const struct sheen_ladder *ladder, enum gloss_angle angle, double coats) {
    size_t n = 0;
    for (size_t i = 0; i < ladder->count; i++)
        n += !isnan(ladder->row[i].gu[angle]) && has_coats(&ladder->row[i], coats);
    return n;
}

/* The wanted coats when they have two rows, else the coats with the most rows (the more coats of equals). */
static double choose_coats(const struct sheen_ladder *ladder, enum gloss_angle angle, double wanted) {
    double best = wanted;
    size_t most = count_rows(ladder, angle, wanted);
    if (most >= 2) return wanted;
    for (size_t i = 0; i < ladder->count; i++) {
        const double coats = ladder->row[i].coats;
        if (isnan(coats)) continue;
        const size_t n = count_rows(ladder, angle, coats);
        if (n > most || (n == most && coats > best)) best = coats, most = n;
    }
    return best;
}

/* In rising order of matte; a fraction that is there already is averaged. */
static enum status insert(struct points *p, const struct sheen_ladder *ladder, const struct sheen_row *row,
                          double gu, struct fault *fault) {
    size_t at = p->count;
    while (at > 0 && p->matte[at - 1] > row->matte) at--;
    if (at > 0 && p->matte[at - 1] == row->matte) {
        if (!(fabs(p->gu[at - 1] - gu) <= 3 * unit_gu(gu)))
            return FAULT(fault, SHEEN_ROWS_DISAGREE, ladder->name, COUNT_TEXT(p->line[at - 1]),
                         COUNT_TEXT(row->line), NUMBER_TEXT(p->gu[at - 1]), NUMBER_TEXT(gu),
                         NUMBER_TEXT(row->matte));
        p->gu[at - 1] = (p->gu[at - 1] + gu) / 2;
        return STATUS_OK;
    }
    for (size_t i = p->count; i > at; i--) {
        p->matte[i] = p->matte[i - 1];
        p->gu[i] = p->gu[i - 1];
        p->line[i] = p->line[i - 1];
    }
    p->matte[at] = row->matte;
    p->gu[at] = gu;
    p->line[at] = row->line;
    p->count++;
    return STATUS_OK;
}

static enum status collect(const struct sheen_ladder *ladder, enum gloss_angle angle, double coats,
                           struct points *out, struct fault *fault) {
    for (size_t i = 0; i < ladder->count && out->count < SHEEN_ROWS_MOST; i++) {
        const struct sheen_row *row = &ladder->row[i];
        if (isnan(row->gu[angle]) || !has_coats(row, coats)) continue;
        const enum status status = insert(out, ladder, row, fmax(row->gu[angle], least_gu), fault);
        if (status != STATUS_OK) return status;
    }
    if (out->count >= 2) return STATUS_OK;
    return FAULT(fault, SHEEN_TOO_FEW_ROWS, ladder->name, COUNT_TEXT(out->count),
                 NUMBER_TEXT(gloss_degrees(angle)));
}

/* The total of what rises beyond the noise when row `without` is left out (count: none). */
static double total_rise(const struct points *p, size_t without) {
    double total = 0, lowest = HUGE_VAL;
    for (size_t i = 0; i < p->count; i++) {
        if (i == without) continue;
        if (lowest < HUGE_VAL) total += fmax(0, p->gu[i] - lowest - unit_gu(lowest));
        lowest = fmin(lowest, p->gu[i]);
    }
    return total;
}

static bool pool(struct points *p) {
    double y[SHEEN_ROWS_MOST];
    memcpy(y, p->gu, sizeof y);
    monotone_pool_falling(p->gu, p->count);
    return memcmp(y, p->gu, p->count * sizeof y[0]) != 0;
}

/* How a ladder is drawn: on which scale of gloss, along which of the fraction. */
struct scale {
    double offset_gu;
    bool root;
};
static const struct scale plain_scale = {0, false};

static double along(bool root, double matte) {
    return root ? sqrt(matte) : matte;
}

static void draw(const struct points *p, size_t without, struct scale scale, struct sheen_curve *curve) {
    curve->count = 0;
    curve->offset_gu = scale.offset_gu;
    curve->root = scale.root;
    for (size_t i = 0; i < p->count; i++) {
        if (i == without) continue;
        curve->matte[curve->count] = p->matte[i];
        curve->along[curve->count] = along(scale.root, p->matte[i]);
        curve->scaled[curve->count++] = log(p->gu[i] + scale.offset_gu);
    }
    monotone_slopes(curve->along, curve->scaled, curve->count, curve->slope);
}

static double plain_gu(const struct sheen_curve *curve, double matte) {
    const double x = along(curve->root, matte);
    const double scaled = monotone_at(curve->along, curve->scaled, curve->slope, curve->count, x);
    return fmax(exp(scaled) - curve->offset_gu, 0);
}

/* Leaves out each inner row; returns the sum of squared misses and notes the worst. */
static double leave_out(const struct points *p, struct scale scale, struct sheen_curve *out) {
    struct sheen_curve trial = {0};
    double sum = 0, parts = 0;
    out->worst_gu = out->worst_part = 0;
    for (size_t i = 1; i + 1 < p->count; i++) {
        draw(p, i, scale, &trial);
        const double error = fabs(plain_gu(&trial, p->matte[i]) - p->gu[i]),
                     part = error / (10 * unit_gu(p->gu[i]));
        out->worst_gu = fmax(out->worst_gu, error);
        out->worst_part = fmax(out->worst_part, part);
        sum += part * part;
        parts += 1;
    }
    out->left_out = (size_t)parts;
    out->rms_part = parts > 0 ? sqrt(sum / parts) : 0;
    return sum;
}

/* How badly the ladder without one row misses its own rows. */
static double roughness(const struct points *p, size_t without) {
    struct sheen_curve trial;
    struct points rest = *p;
    rest.count = 0;
    for (size_t i = 0; i < p->count; i++) {
        if (i == without) continue;
        rest.matte[rest.count] = p->matte[i];
        rest.gu[rest.count++] = p->gu[i];
    }
    return rest.count > 2 ? leave_out(&rest, plain_scale, &trial) : 0;
}

/* Is the rest better without a than without b? */
static bool is_odder(const struct points *p, size_t a, size_t b) {
    const double rise_a = total_rise(p, a), rise_b = total_rise(p, b);
    return rise_a != rise_b ? rise_a < rise_b : roughness(p, a) < roughness(p, b);
}

/* More matte clear must not shine more. The odd row is the one without which the rest falls best. */
static enum status check_falling(const struct points *p, const char *name, struct fault *fault) {
    if (total_rise(p, p->count) == 0) return STATUS_OK;
    size_t odd = 0;
    for (size_t i = 1; i < p->count; i++)
        if (is_odder(p, i, odd)) odd = i;
    const char *before = odd ? NUMBER_TEXT(p->gu[odd - 1]) : "no";
    const char *after = odd + 1 < p->count ? NUMBER_TEXT(p->gu[odd + 1]) : "no";
    return FAULT(fault, SHEEN_ODD_ROW, name, COUNT_TEXT(p->line[odd]), NUMBER_TEXT(p->gu[odd]),
                 NUMBER_TEXT(p->matte[odd]), before, after);
}

/* Three rows leave one inner row out of two ends: no ground to choose a scale on. Another one than the
 * logarithm along the fraction has to be better by a tenth, one along the root twice as good: so few rows
 * choose by luck else. */
static struct scale choose_scale(const struct points *p) {
    struct sheen_curve trial = {0};
    struct scale best = plain_scale;
    double least = 0.9 * leave_out(p, plain_scale, &trial);
    const size_t count = sizeof offsets / sizeof offsets[0];
    for (size_t k = 0; p->count > 3 && k < 2 * count; k++) {
        const struct scale scale = {offsets[k % count], k >= count};
        const double sum = leave_out(p, scale, &trial);
        if (sum < (scale.root && !best.root ? 0.5 : 1) * least) best = scale, least = sum;
    }
    return best;
}

enum status sheen_fit(const struct sheen_ladder *ladder, enum gloss_angle angle, double coats,
                      struct sheen_curve *out, struct fault *fault) {
    struct points points = {0};
    struct sheen_curve curve = {
        .angle = angle, .coats = choose_coats(ladder, angle, coats), .shift_sd = day_sd};
    enum status status = collect(ladder, angle, curve.coats, &points, fault);
    if (status == STATUS_OK) status = check_falling(&points, ladder->name, fault);
    if (status != STATUS_OK) return status;
    curve.other_coats = curve.coats != coats;
    curve.guess = points.count == 2;
    curve.pooled = pool(&points);
    const struct scale scale = choose_scale(&points);
    leave_out(&points, scale, &curve);
    draw(&points, points.count, scale, &curve);
    *out = curve;
    return STATUS_OK;
}

/* Spread of the curve itself at gu, as a part of it, without the day's. */
static double curve_sd(const struct sheen_curve *curve, double gu) {
    const double part = curve->guess ? guess_part : fmax(least_part, curve->rms_part);
    return hypot(part, read_out_gu / fmax(gu, least_gu));
}

void sheen_correct(struct sheen_curve *curve, const struct sheen_patch patch[], size_t count) {
    double weight = 1 / (day_sd * day_sd), sum = 0;
    for (size_t i = 0; i < count; i++) {
        const double expected = fmax(plain_gu(curve, patch[i].matte), least_gu),
                     gu = fmax(patch[i].gu, least_gu);
        const double sd = curve_sd(curve, gu);
        weight += 1 / (sd * sd);
        sum += log(gu / expected) / (sd * sd);
    }
    curve->shift = sum / weight;
    curve->shift_sd = sqrt(1 / weight);
    curve->patches = count;
}

struct sheen_value sheen_at(const struct sheen_curve *curve, double matte) {
    const double gu = plain_gu(curve, matte) * exp(curve->shift);
    const double half = 2 * gu * hypot(curve->shift_sd, curve_sd(curve, gu));
    return (struct sheen_value){gu, fmax(gu - half, 0), gu + half};
}

static double gu_at(const struct sheen_curve *curve, double matte) {
    return plain_gu(curve, matte) * exp(curve->shift);
}

/* The smallest fraction whose gloss is at most (strictly: below) gu. */
static double edge_of(const struct sheen_curve *curve, double gu, bool strictly) {
    double low = curve->matte[0], high = curve->matte[curve->count - 1];
    for (int i = 0; i < 60; i++) {
        const double middle = low + (high - low) / 2, here = gu_at(curve, middle);
        if (strictly ? here < gu : here <= gu)
            high = middle;
        else
            low = middle;
    }
    return high;
}

enum status sheen_find(const struct sheen_curve *curve, double gu, double *matte, struct fault *fault) {
    const double first = curve->matte[0], last = curve->matte[curve->count - 1];
    const double most = gu_at(curve, first), least = gu_at(curve, last), slack = read_out_gu / 2;
    *matte = gu > most ? first : last;
    if (!(gu <= most + slack && gu >= least - slack))
        return FAULT(fault, SHEEN_OUT_OF_REACH, NUMBER_TEXT(gu), NUMBER_TEXT(least), NUMBER_TEXT(most));
    if (gu >= most || gu <= least) return STATUS_OK;
    const double flat_from = edge_of(curve, gu, false), flat_to = edge_of(curve, gu, true);
    *matte = flat_from + (flat_to - flat_from) / 2;
    return STATUS_OK;
}

void sheen_strip(const struct sheen_curve *curve, double low, double high, size_t count, double matte[]) {
    const double from = curve ? log(fmax(gu_at(curve, low), least_gu)) : 0;
    const double to = curve ? log(fmax(gu_at(curve, high), least_gu)) : 0;
    for (size_t i = 0; i < count; i++) {
        const double t = count > 1 ? (double)i / (double)(count - 1) : 0;
        matte[i] = low + (high - low) * t;
        if (curve && i > 0 && i + 1 < count && from > to)
            matte[i] = edge_of(curve, exp(from + (to - from) * t), false);
    }
}
