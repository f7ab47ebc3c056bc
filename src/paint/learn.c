#include "paint/learn.h"
#include "base/dense.h"
#include "colour/difference.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double FAR_TIMES = 4; /* the usual */

struct lesson {
    const struct shelf *shelf;
    const struct card *result;
    size_t results;
    int lots;
    const struct doubt *doubt;
    const bool *left_out; /* outliers found so far */
    double *held_out;
};

double learn_card_de00(const struct shelf *shelf, const struct card *card) {
    struct spectrum seen;
    predict_reflectance(shelf, card->part, &card->film, &seen);
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    return difference_de00(lab_of_spectrum(&card->measured, day), lab_of_spectrum(&seen, day));
}

/* The shelf as one result saw it: each toner in that result's lot. */
static void shelf_for(const struct calibration *learnt, const struct shelf *shelf, const struct card *card,
                      struct shelf *out) {
    struct shelf lot = *shelf;
    lot.toner = memory_need(shelf->count, sizeof *lot.toner);
    calibration_apply(learnt, 0, out);
    for (size_t i = 0; i < shelf->count; i++) {
        if (!card->lot || card->lot[i] == 0) continue;
        calibration_apply(learnt, card->lot[i], &lot);
        out->toner[i] = lot.toner[i];
    }
    memory_free(lot.toner);
}

/* Cards of one pour: the halves of a card over two grounds, a card that was read twice. */
static bool same_pour(const struct card *a, const struct card *b, size_t toners) {
    for (size_t i = 0; i < toners; i++)
        if (fabs(a->part[i] - b->part[i]) > 1e-9) return false;
    return true;
}

/* Learns from all but one result, what else was read of its pour, and the outliers, and predicts that one. */
static void hold_out_one(void *context, size_t index) {
    struct lesson *lesson = context;
    struct card *rest = memory_need(lesson->results, sizeof *rest);
    size_t n = 0;
    for (size_t i = 0; i < lesson->results; i++)
        if (!lesson->left_out[i] &&
            !same_pour(&lesson->result[i], &lesson->result[index], lesson->shelf->count))
            rest[n++] = lesson->result[i];
    const struct card *card = &lesson->result[index];
    struct calibration *learnt = calibration_new(lesson->shelf, rest, n, lesson->lots, lesson->doubt);
    struct shelf bent = *lesson->shelf;
    bent.toner = memory_need(bent.count, sizeof *bent.toner);
    shelf_for(learnt, lesson->shelf, card, &bent);
    lesson->held_out[index] = learn_card_de00(&bent, card);
    memory_free(bent.toner);
    calibration_free(learnt);
    memory_free(rest);
}

static int by_value(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(const double *value, size_t n) {
    double *sorted = memory_need(n, sizeof *sorted);
    memcpy(sorted, value, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, by_value);
    const double m = n % 2 ? sorted[n / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2;
    memory_free(sorted);
    return m;
}

/* Misfit when the card held `factor` times as much of one toner as was written. */
static double de00_with_factor(const struct shelf *shelf, const struct card *card, size_t toner,
                               double factor, double part[]) {
    double sum = 0;
    for (size_t i = 0; i < shelf->count; i++)
        part[i] = card->part[i] * (i == toner ? factor : 1), sum += part[i];
    for (size_t i = 0; i < shelf->count; i++) part[i] /= sum;
    struct card changed = *card;
    changed.part = part;
    return learn_card_de00(shelf, &changed);
}

/* Which one toner's amount explains a result best: a golden-section search on the logarithm between a
 * thirtieth and thirty times. */
void learn_cause(const struct shelf *shelf, const struct card *card, struct outlier *out) {
    double *part = memory_need(shelf->count, sizeof *part);
    double best = out->de00;
    out->toner = -1;
    out->factor = 1;
    for (size_t i = 0; i < shelf->count; i++) {
        if (card->part[i] <= 0) continue;
        for (double ln = -3.4; ln <= 3.4; ln += 0.02) {
            const double de = de00_with_factor(shelf, card, i, exp(ln), part);
            if (de < best) best = de, out->toner = (int)i, out->factor = exp(ln);
        }
    }
    out->explained = 1 - best / out->de00;
    memory_free(part);
}

static double mean_of_seen(const double *value, const bool *left_out, size_t n) {
    double sum = 0;
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (!left_out[i]) sum += value[i], count++;
    return count ? sum / (double)count : (double)NAN;
}

static double median_of_seen(const double *value, const bool *left_out, size_t n) {
    double *seen = memory_need(n, sizeof *seen);
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (!left_out[i]) seen[count++] = value[i];
    const double m = count ? median(seen, count) : (double)NAN;
    memory_free(seen);
    return m;
}

static double median_rest(const struct lesson *rest) {
    return median_of_seen(rest->held_out, rest->left_out, rest->results);
}

static double mean_rest(const struct lesson *rest) {
    return mean_of_seen(rest->held_out, rest->left_out, rest->results);
}

/* How well the others tell each other when one result, and what else was read of its pour, is not among them.
 */
static double rest_without(const struct lesson *lesson, size_t index, struct work *work,
                           double (*usual)(const struct lesson *rest)) {
    bool *left_out = memory_need(lesson->results, sizeof *left_out);
    struct lesson rest = *lesson;
    memcpy(left_out, lesson->left_out, lesson->results * sizeof *left_out);
    for (size_t i = 0; i < lesson->results; i++)
        if (same_pour(&lesson->result[i], &lesson->result[index], lesson->shelf->count)) left_out[i] = true;
    rest.left_out = left_out;
    rest.held_out = memory_need(lesson->results, sizeof *rest.held_out);
    work_run(work, rest.results, hold_out_one, &rest);
    const double told = usual(&rest);
    memory_free(rest.held_out);
    memory_free(left_out);
    return told;
}

/* The worst result with that many worse ones before it, or -1 when it is not over LEARN_FAR. */
static int worst(const struct lesson *lesson, size_t before) {
    int found = -1;
    double under = (double)INFINITY;
    for (size_t k = 0; k <= before; k++) {
        found = -1;
        for (size_t i = 0; i < lesson->results; i++)
            if (!lesson->left_out[i] && lesson->held_out[i] > LEARN_FAR && lesson->held_out[i] < under &&
                (found < 0 || lesson->held_out[i] > lesson->held_out[found]))
                found = (int)i;
        if (found < 0) return -1;
        under = lesson->held_out[found];
    }
    return found;
}

/* Not more pours than FEW: among few the usual itself is spoilt by a bad one. */
static bool is_few(const struct lesson *lesson) {
    enum { FEW = 12 };
    size_t pours = 0;
    for (size_t i = 0; i < lesson->results; i++) {
        bool again = false;
        for (size_t k = 0; k < i && !again; k++)
            again = same_pour(&lesson->result[k], &lesson->result[i], lesson->shelf->count);
        pours += !again;
    }
    return pours <= FEW;
}

enum { SUSPECTS = 3 };

/* Of the worst, the one without which the others tell each other best: a bad result makes its neighbours look
 * bad, and they it. */
static int likeliest(const struct lesson *lesson, struct work *work) {
    int found = worst(lesson, 0);
    double least = (double)INFINITY;
    if (worst(lesson, 1) < 0) return found; /* it stands alone */
    for (size_t k = 0; k < SUSPECTS; k++) {
        const int suspect = worst(lesson, k);
        if (suspect < 0) break;
        const double mean = rest_without(lesson, (size_t)suspect, work, mean_rest);
        if (mean < least) least = mean, found = suspect;
    }
    return found;
}

/* The result that stands far off, or -1. One at a time: a bad result makes its neighbours look bad, and among
 * few the usual itself; so the worst three, of few all, are also held to what the others are without them. */
static int find_far(const struct lesson *lesson, struct work *work) {
    int far = worst(lesson, 0);
    double most = FAR_TIMES;
    if (far < 0) return -1;
    const bool few = is_few(lesson);
    if (!few && lesson->held_out[far] >
                    FAR_TIMES * median_of_seen(lesson->held_out, lesson->left_out, lesson->results))
        return likeliest(lesson, work);
    far = -1;
    for (size_t k = 0; k < (few ? lesson->results : SUSPECTS); k++) {
        const int suspect = worst(lesson, k);
        if (suspect < 0) break;
        const double times =
            lesson->held_out[suspect] / rest_without(lesson, (size_t)suspect, work, median_rest);
        if (times > most) most = times, far = suspect;
    }
    return far;
}

static void describe_outlier(const struct lesson *lesson, size_t index, struct outlier *out) {
    struct calibration *learnt;
    struct card *rest = memory_need(lesson->results, sizeof *rest);
    size_t n = 0;
    for (size_t i = 0; i < lesson->results; i++)
        if (!lesson->left_out[i] &&
            !same_pour(&lesson->result[i], &lesson->result[index], lesson->shelf->count))
            rest[n++] = lesson->result[i];
    const struct card *card = &lesson->result[index];
    learnt = calibration_new(lesson->shelf, rest, n, lesson->lots, lesson->doubt);
    struct shelf bent = *lesson->shelf;
    bent.toner = memory_need(bent.count, sizeof *bent.toner);
    shelf_for(learnt, lesson->shelf, card, &bent);
    *out = (struct outlier){.result = index, .de00 = learn_card_de00(&bent, card)};
    learn_cause(&bent, card, out);
    memory_free(bent.toner);
    calibration_free(learnt);
    memory_free(rest);
}

enum status learn_run(const struct shelf *shelf, const struct card *result, size_t results, int lots,
                      const struct doubt *doubt, struct work *work, struct arena *arena, struct learnt *out,
                      struct fault *fault) {
    bool *left_out = arena_need(arena, results, sizeof *left_out);
    struct lesson lesson = {
        shelf, result, results, lots, doubt, left_out, arena_need(arena, results, sizeof(double))};
    struct learnt learnt = {.outlier = arena_need(arena, results, sizeof *learnt.outlier)};
    for (size_t rounds = 0; rounds <= results / 4; rounds++) {
        work_report(work, (double)rounds / (double)(results / 4 + 2));
        work_run(work, results, hold_out_one, &lesson);
        if (work_is_cancelled(work)) return FAULT0(fault, CANCELLED);
        const int far = find_far(&lesson, work);
        if (far < 0 || rounds == results / 4) break;
        left_out[far] = true;
        describe_outlier(&lesson, (size_t)far, &learnt.outlier[learnt.outliers++]);
    }
    double *before = arena_need(arena, results, sizeof *before);
    for (size_t i = 0; i < results; i++) before[i] = learn_card_de00(shelf, &result[i]);
    learnt.before_de00 = mean_of_seen(before, left_out, results);
    learnt.after_de00 = mean_of_seen(lesson.held_out, left_out, results);
    learnt.better = learnt.after_de00 < learnt.before_de00;
    struct card *kept = arena_need(arena, results, sizeof *kept);
    size_t n = 0;
    for (size_t i = 0; i < results; i++) {
        if (left_out[i])
            lesson.held_out[i] = (double)NAN;
        else
            kept[n++] = result[i];
    }
    learnt.held_out = lesson.held_out;
    learnt.calibration = calibration_new(shelf, kept, n, lots, doubt);
    *out = learnt;
    return STATUS_OK;
}

/* ln(R as learnt / R read) of one card, band by band. */
static void shift_of_card(const struct shelf *learnt, const struct card *card, double ln[BANDS]) {
    struct spectrum model;
    predict_reflectance(learnt, card->part, &card->film, &model);
    for (int b = 0; b < BANDS; b++)
        ln[b] = log(fmax(model.band[b], 1e-4) / fmax(card->measured.band[b], 1e-4));
}

/* Prior sd of each term; a card is worth CARD_TELLS independent bands, each good to CARD_SD. */
static const double term_sd[SHIFT_TERMS] = {0.1, 0.03, 0.03, 0.08, 0.3};
static const double CARD_TELLS = 4, CARD_SD = 0.02;

static void add_card(const struct shelf *learnt, const struct card *card, double normal[], double right[]) {
    const double weight = CARD_TELLS / BANDS / (CARD_SD * CARD_SD);
    double ln[BANDS], term[SHIFT_TERMS];
    shift_of_card(learnt, card, ln);
    for (int b = 0; b < BANDS; b++) {
        shift_terms(card->measured.band[b], b, term);
        for (int i = 0; i < SHIFT_TERMS; i++) {
            right[i] += weight * term[i] * ln[b];
            for (int j = 0; j < SHIFT_TERMS; j++) normal[i * SHIFT_TERMS + j] += weight * term[i] * term[j];
        }
    }
}

/* Mean square of what the shift leaves of one card. */
static double left_of_card(const struct shelf *learnt, const struct card *card, const double ln_r[]) {
    double ln[BANDS], term[SHIFT_TERMS], square = 0;
    shift_of_card(learnt, card, ln);
    for (int b = 0; b < BANDS; b++) {
        shift_terms(card->measured.band[b], b, term);
        for (int j = 0; j < SHIFT_TERMS; j++) ln[b] -= ln_r[j] * term[j];
        square += ln[b] * ln[b] / BANDS;
    }
    return square;
}

void learn_shift(const struct shelf *learnt, const struct card *card, size_t count, struct shift *out) {
    struct shift shift = {.pairs = (int)count};
    double normal[SHIFT_TERMS * SHIFT_TERMS] = {0}, square = 0;
    for (size_t i = 0; i < count; i++) add_card(learnt, &card[i], normal, shift.ln_r);
    for (int j = 0; j < SHIFT_TERMS; j++) normal[j * SHIFT_TERMS + j] += 1 / (term_sd[j] * term_sd[j]);
    if (dense_cholesky(normal, SHIFT_TERMS)) dense_cholesky_solve(normal, SHIFT_TERMS, shift.ln_r);
    for (size_t i = 0; i < count; i++) square += left_of_card(learnt, &card[i], shift.ln_r);
    /* few cards are fitted too well, and one alone says nothing of how they differ */
    const double cards = (double)count;
    shift.sd = fmax(0.015, sqrt(square / cards) * (1 + 3 / cards) + 0.02 / cards);
    *out = shift;
}
