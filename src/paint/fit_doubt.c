/* A drawdown is doubted when the rest of the set, fitted without it, predicts another colour. Then each slip
 * that a bench knows is tried on it, with the film free within its usual spread: which of them brings the
 * prediction to the reading? The one that leaves the smallest dE00 is named, if it leaves little enough (a
 * third of what was wrong, and no more than films of this set usually miss, times four). Ties go to the
 * simpler slip in the order scale, card, tenfold, label, wrong toner, film. A film that has the right colour
 * once it is much thinner or thicker than written needs no such trial. */
#include "paint/fit_doubt.h"
#include "colour/difference.h"
#include <math.h>
#include <string.h>

double fit_de00(const struct spectrum *a, const struct spectrum *b) {
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    return difference_de00(lab_of_spectrum(a, day), lab_of_spectrum(b, day));
}

/* Sum of squares of film and prior at a stretch. */
static double cost_at(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                      double stretch, double film_sd) {
    struct spectrum seen;
    fit_see(model, at, film, stretch, 0, &seen);
    double sum = film_sd > 0 ? stretch * stretch / (film_sd * film_sd) : 0;
    for (int b = 0; b < BANDS; b++) {
        const double is = film->from->reflectance.band[b], off = (seen.band[b] - is) / fit_sd(model, is);
        sum += .25 * off * off;
    }
    return sum;
}

/* Golden section on ln film; the cost has one valley in practice, a coarse scan finds it. The reach holds a
 * slipped decimal point (2.3) and mil for um (3.2). */
static double best_stretch(const struct fit_model *model, const struct fit_point *at,
                           const struct fit_film *film, double film_sd) {
    const double reach = fmin(5 * film_sd, 3.5), golden = .6180339887498949;
    const int steps = reach > 1.5 ? 14 : 6;
    double best = 0, least = HUGE_VAL;
    for (int i = -steps; i <= steps; i++) {
        const double x = reach * i / steps, cost = cost_at(model, at, film, x, film_sd);
        if (cost < least) least = cost, best = x;
    }
    double low = best - reach / steps, high = best + reach / steps;
    for (int i = 0; i < 16; i++) {
        const double a = high - golden * (high - low), b = low + golden * (high - low);
        if (cost_at(model, at, film, a, film_sd) < cost_at(model, at, film, b, film_sd))
            high = b;
        else
            low = a;
    }
    return .5 * (low + high);
}

double fit_film_de00(const struct fit_model *model, const struct fit_point *at, const struct fit_film *film,
                     double film_sd, double *stretch) {
    const double x = isinf(film->film_um) || film_sd <= 0 ? 0 : best_stretch(model, at, film, film_sd);
    struct spectrum seen;
    fit_see(model, at, film, x, 0, &seen);
    if (stretch) *stretch = x;
    return fit_de00(&seen, &film->from->reflectance);
}

bool fit_off_scale(const struct spectrum *reflectance, enum geometry geometry) {
    double sum = 0;
    for (int b = 0; b < BANDS; b++) sum += reflectance->band[b] / BANDS;
    return sum > 1.5 || (geometry == GEOMETRY_SCI && sum < .015);
}

struct trial {
    const struct fit_model *model;
    const struct fit_point *at;
    const struct drawdown_set *set;
    size_t film;
    double film_sd, enough; /* dE00 that an explanation may leave */
    struct fit_row *out;
};

/* Takes the explanation if it is better than the one held by more than a little. */
static void offer(struct trial *trial, enum fit_cause cause, double de00, int toner, double factor,
                  int other) {
    if (!(de00 <= trial->enough) || !(de00 < .8 * trial->out->de00_if)) return;
    trial->out->cause = cause;
    trial->out->de00_if = de00;
    trial->out->toner = toner;
    trial->out->factor = factor;
    trial->out->other = other;
}

static double judged(const struct trial *trial, const struct fit_film *film) {
    return fit_film_de00(trial->model, trial->at, film, trial->film_sd, NULL);
}

static void try_scale(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    const double factors[2] = {100, .01};
    for (int i = 0; i < 2; i++) {
        struct drawdown row = *film->from;
        struct fit_film other = *film;
        for (int b = 0; b < BANDS; b++) row.reflectance.band[b] *= factors[i];
        other.from = &row;
        offer(trial, CAUSE_SCALE, judged(trial, &other), -1, factors[i], -1);
    }
}

static void try_cards(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    for (size_t i = 0; i < trial->set->count && film->backing; i++) {
        const struct drawdown *row = &trial->set->row[i];
        if (!row->is_bare || &row->reflectance == film->backing) continue;
        struct fit_film other = *film;
        other.backing = &row->reflectance;
        offer(trial, CAUSE_CARDS, judged(trial, &other), -1, 1, (int)i);
    }
}

static void try_tenfold(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    for (size_t i = 0; i < trial->model->toners; i++)
        for (int up = 0; up < 2 && film->part[i] > 0; up++) {
            double part[SHELF_MOST];
            const double factor = up ? 10 : .1, whole = 1 + (factor - 1) * film->part[i];
            for (size_t j = 0; j < trial->model->toners; j++)
                part[j] = film->part[j] * (j == i ? factor : 1) / whole;
            struct fit_film other = *film;
            other.part = part;
            if (film->part[i] < 1) offer(trial, CAUSE_TENFOLD, judged(trial, &other), (int)i, factor, -1);
        }
}

/* The reading under another row's label, and that row's reading under this label: both must be better for it.
 */
static void try_labels(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    for (size_t q = 0; q < trial->model->films; q++) {
        const struct fit_film *other = &trial->model->film[q];
        if (q == trial->film) continue;
        struct fit_film here = *other, there = *film;
        here.from = film->from, there.from = other->from;
        const double mine = judged(trial, &here);
        if (!(mine <= trial->enough && mine < .8 * trial->out->de00_if)) continue;
        if (judged(trial, &there) < judged(trial, other))
            offer(trial, CAUSE_SWAPPED, mine, -1, 1, (int)(other->from - trial->set->row));
    }
}

/* One toner poured where another is written. */
static void try_toner(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    for (size_t i = 0; i < trial->model->toners; i++)
        for (size_t j = 0; j < trial->model->toners && film->part[i] > 0; j++) {
            double part[SHELF_MOST];
            if (film->part[j] > 0) continue;
            memcpy(part, film->part, trial->model->toners * sizeof *part);
            part[j] = part[i], part[i] = 0;
            struct fit_film other = *film;
            other.part = part;
            other.dosed = film->dosed == i ? j : film->dosed;
            offer(trial, CAUSE_TONER, judged(trial, &other), (int)i, 1, (int)j);
        }
}

/* Against another explanation, a film so far from what is written counts only as a slipped point or as mil
 * for um. */
static bool is_usual_slip(double ln_factor) {
    return fabs(ln_factor - log(10)) < .15 || fabs(ln_factor - log(25.4)) < .15;
}

static void try_film(struct trial *trial) {
    const struct fit_film *film = &trial->model->film[trial->film];
    if (isinf(film->film_um)) return;
    double stretch;
    const double de00 = fit_film_de00(trial->model, trial->at, film, 1, &stretch);
    if (trial->out->cause != CAUSE_UNKNOWN && fabs(stretch) > 1.5 && !is_usual_slip(fabs(stretch))) return;
    if (fabs(stretch) > 4 * trial->film_sd) offer(trial, CAUSE_FILM, de00, -1, exp(stretch), -1);
}

void fit_explain(const struct fit_model *model, const struct fit_point *at, const struct drawdown_set *set,
                 size_t film, double usual, struct fit_row *out) {
    struct trial trial = {model, at, set, film, model->film[film].film_sd, fmax(4 * usual, .3), out};
    out->cause = CAUSE_UNKNOWN;
    out->de00_if = out->de00;
    if (out->de00 <= trial.enough && model->film[film].film_sd > 0) { /* only its thickness stands off */
        double stretch;
        const double de00 = fit_film_de00(model, at, &model->film[film], 1, &stretch);
        if (fabs(stretch) <= 4 * trial.film_sd) return; /* bent by another's slip: it will be heard again */
        out->de00_if = de00, out->cause = CAUSE_FILM, out->factor = exp(stretch);
        return;
    }
    trial.enough = fmin(fmax(trial.enough, out->de00 / 10), out->de00 / 3);
    try_scale(&trial);
    try_cards(&trial);
    try_tenfold(&trial);
    try_labels(&trial);
    try_toner(&trial);
    try_film(&trial);
}
