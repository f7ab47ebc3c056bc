/* First order in ln strength: dR_b / d ln s_i = (dR/dK) c_i K_i + (dR/dS) c_i' S_i, c_i' what counts of a
 * crowded toner; Lab along it by a central difference; dE00^2 = d' F'F d near the mix (difference.h).
 * Strengths of different toners are taken as independent, so the squares add up; where the shelf still has
 * its cards, all that they have shown counts instead, strengths, shapes and how they hang together (D65/10):
 * five cards hardly tell how strong the white is, and yet very well what comes of white, oxide and black
 * together. A shelf that has learnt (calibrate.h) is sure of the toners that its cards have shown and not of
 * the others: a recipe of known toners comes nearer at the first shot. */
#include "paint/match_doubt.h"
#include "colour/difference.h"
#include "paint/calibrate.h"
#include <math.h>

static double along(const struct spectrum *at, const double by[BANDS], const struct weights *light) {
    const double h = 1e-3;
    struct spectrum up = *at, down = *at;
    for (int b = 0; b < BANDS; b++) up.band[b] += h * by[b], down.band[b] -= h * by[b];
    const struct lab a = lab_of_spectrum(&up, light), c = lab_of_spectrum(&down, light);
    const double d[3] = {(a.l - c.l) / (2 * h), (a.a - c.a) / (2 * h), (a.b - c.b) / (2 * h)};
    const struct de00_metric metric = difference_metric(lab_of_spectrum(at, light));
    double square = 0;
    for (int i = 0; i < 3; i++) {
        const double e = metric.f[i][0] * d[0] + metric.f[i][1] * d[1] + metric.f[i][2] * d[2];
        square += e * e;
    }
    return square;
}

static double spread_by_cards(const struct match_task *task, const double part[]) {
    struct spectrum seen;
    double cov[3][3], square = 0;
    predict_reflectance(task->shelf, part, &task->film, &seen);
    calibration_lab_cov(task->sure, part, &task->film, 0, cov);
    const struct de00_metric m =
        difference_metric(lab_of_spectrum(&seen, weights_of((struct view){LIGHT_D65, OBSERVER_10})));
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++) square += m.f[i][j] * cov[j][k] * m.f[i][k];
    return sqrt(square);
}

double match_spread(const struct match_task *task, const double part[]) {
    if (task->sure) return spread_by_cards(task, part);
    const struct shelf *shelf = task->shelf;
    struct spectrum seen;
    double by_k[BANDS], by_s[BANDS], by[BANDS], square = 0;
    predict_ks_slopes(shelf, part, &task->film, &seen, by_k, by_s, NULL);
    for (size_t i = 0; i < shelf->count; i++) {
        const struct toner *toner = &shelf->toner[i];
        if (part[i] <= 0 || toner->strength_sd <= 0) continue;
        const double counted = toner_counted(toner, part[i], NULL);
        for (int b = 0; b < BANDS; b++)
            by[b] = toner->strength_sd * (by_k[b] * part[i] * toner->k[b] + by_s[b] * counted * toner->s[b]);
        square += along(&seen, by, task->light[0]);
    }
    return sqrt(square);
}

/* What the cards leave unsure is reckoned to first order around the likeliest curves, which is a little too
 * sure (docs/correct.md), and the first of twenty candidates is the one whose guess flatters it most. */
static const double CARDS_COUNT = 1.6;

static double rise(double de00, double spread) {
    return hypot(de00, spread) - de00;
}

double match_doubt_costs(const struct match_task *task, const double part[], const double de00[]) {
    const double spread = (task->sure ? CARDS_COUNT : 1) * match_spread(task, part);
    double weights = 0, all = 0, weakest = 0;
    for (size_t i = 0; i < task->light_count; i++) {
        const double weight = task->light_weight[i];
        if (!(weight > 0) || isnan(de00[i])) continue;
        weights += weight;
        all += weight * rise(de00[i], spread);
        if (i > 0) weakest = fmax(weakest, de00[i]);
    }
    if (!task->sure) return task->light_weight[0] / weights * rise(de00[0], spread);
    return all / weights + MATCH_WEAKEST * rise(weakest, spread);
}
