/* The fit. All films, all bands and all unknowns at once, by weighted least squares:
 *
 *     sum over films of weight  sum over bands ((R(mix, film) - measured) / sd)^2 / 4        sd: fit_sd, an
 * equal step for the eye
 *   + sum over films (ln(true film / written film) / .03)^2                                film thickness is
 * a nuisance
 *   + smoothness of every K and S curve, weak priors of the shared unknowns                   fit_solve.c
 *
 * K, S >= 0; shared: k1 (sci only, never above the lowest reading), k2, white's crowding, the forward
 * scattering of the beam (beam.h), what a clear adds (haze), what an sce or 45/0 reading still catches.
 * Levenberg-Marquardt with the exact slopes (fit_model.c, fit_solve.c).
 *
 * Robust: after a first fit the weight of a film falls as 1 / (1 + (misfit / scale))^2 with the scale coming
 * down to six times the median (Geman and McClure 1987), so that one bad film cannot bend the curves. Films
 * that then stand far off are left out, the rest is fitted again, and fit_doubt.c asks which slip would
 * explain each; a film that the rest does predict after all comes back.
 *
 * The smallest mass of each mix is a nuisance too, as far as the scale can err there.
 *
 * Whether the beam is on is decided by the films: both are fitted, and it stays when it halves what is off.
 */
#include "paint/fit.h"
#include "paint/fit_doubt.h"
#include "paint/fit_model.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double written_sd = .03, unwritten_sd = .3; /* of ln film; the last by hand on cards */
static const double usual_weighing_sd_g = .01 / 3.4641016151377544; /* a scale that shows .01 g */
static const double beam_gain = .5, crowd_gain = .75; /* share of what is off that either may leave */

struct fit {
    struct drawdown_set set; /* a copy whose readings may be put right */
    struct fit_model model;
    struct fit_point at;
    const struct toner *about;
    bool *singled_out; /* [films] without it the others agree: it is not heard again */
    struct arena *arena;
    struct fit_report *report;
};

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Quantile of what is counted; sorts values. */
static double quantile(double value[], size_t n, double p) {
    if (n == 0) return 0;
    qsort(value, n, sizeof *value, by_size);
    const double at = p * (double)(n - 1);
    const size_t i = (size_t)at;
    return i + 1 < n ? value[i] + (at - (double)i) * (value[i + 1] - value[i]) : value[i];
}

/* ---- the model from the set ---- */

static void copy_rows(struct fit *fit, const struct drawdown_set *set) {
    fit->set = *set;
    fit->set.row = arena_need(fit->arena, set->count + 1, sizeof *set->row);
    memcpy(fit->set.row, set->row, set->count * sizeof *set->row);
    for (size_t i = 0; i < set->count; i++) {
        struct drawdown *row = &fit->set.row[i];
        fit->report->row[i] =
            (struct fit_row){.de00 = (double)NAN, .film_um = (double)NAN, .toner = -1, .other = -1};
        if (!row->is_bare || !fit_off_scale(&row->reflectance, set->geometry)) continue;
        const double factor =
            row->reflectance.band[BANDS / 2] > 1.5 ? .01 : 100; /* a bare card is put right */
        for (int b = 0; b < BANDS; b++) row->reflectance.band[b] *= factor;
        fit->report->row[i].cause = CAUSE_SCALE;
        fit->report->row[i].factor = factor;
    }
}

static const double *parts_of(const struct fit *fit, const struct drawdown *row) {
    double *part = arena_need(fit->arena, fit->set.toner_count, sizeof *part), sum = 0;
    for (size_t i = 0; i < fit->set.toner_count; i++) sum += row->mass_g[i];
    for (size_t i = 0; i < fit->set.toner_count; i++) part[i] = row->mass_g[i] / sum;
    return part;
}

/* What the scale may err by: as the set says, else that of a usual scale, but never more than a batch of 10 g
 * would make of it (masses may be written as fractions). */
static double weighing_sd_of(const struct fit *fit, const struct drawdown *row) {
    double batch_g = 0;
    for (size_t i = 0; i < fit->set.toner_count; i++) batch_g += row->mass_g[i];
    const double usual = usual_weighing_sd_g * fmin(batch_g / 10, 1);
    return fit->set.weighing_sd_g > 0 ? fit->set.weighing_sd_g : usual;
}

/* An absolute error of the scale matters most where least was weighed. */
static void set_dose(const struct fit *fit, const struct drawdown *row, struct fit_film *film) {
    double most = 0;
    for (size_t i = 0; i < fit->set.toner_count; i++) {
        if (film->part[i] > most) most = film->part[film->dosed = i];
    }
    for (size_t i = 0; i < fit->set.toner_count; i++)
        if (film->part[i] > 0 && film->part[i] < film->part[film->dosed]) film->dosed = i;
    film->dose_sd = most < 1 ? fmin(weighing_sd_of(fit, row) / row->mass_g[film->dosed], 1) : 0;
}

static void add_film(struct fit *fit, struct drawdown *row) {
    struct fit_film *film = &fit->model.film[fit->model.films++];
    const bool opaque = row->backing == DRAWDOWN_OPAQUE, written = !isnan(row->film_um);
    film->from = row;
    film->part = parts_of(fit, row);
    film->film_um = opaque ? (double)INFINITY : written ? row->film_um : FIT_UNWRITTEN_UM;
    film->film_sd = opaque ? 0 : written ? written_sd : unwritten_sd;
    film->backing = opaque ? NULL : &fit->set.row[row->backing].reflectance;
    set_dose(fit, row, film);
    film->weight = fit_off_scale(&row->reflectance, fit->set.geometry) ? 0 : 1;
}

static double lowest(const struct fit *fit) {
    double low = 1;
    for (size_t i = 0; i < fit->set.count; i++) {
        const struct spectrum *r = &fit->set.row[i].reflectance;
        for (int b = 0; b < BANDS && !fit_off_scale(r, fit->set.geometry); b++) low = fmin(low, r->band[b]);
    }
    return fmax(low, .005);
}

/* White's crowding needs films with white at three fractions or more. */
static bool shows_crowding(const struct fit *fit, const bool crowds[]) {
    for (size_t i = 0; i < fit->model.toners; i++) {
        double low = 1, high = 0;
        size_t n = 0;
        for (size_t f = 0; f < fit->model.films && crowds[i]; f++) {
            const double c = fit->model.film[f].part[i];
            if (c > 0) n++, low = fmin(low, c), high = fmax(high, c);
        }
        if (n >= 3 && high > 1.5 * low) return true;
    }
    return false;
}

/* The sheens of the clears, those within a tenth of each other taken as one; no more than there is room for.
 */
static void choose_sheens(struct fit_model *model) {
    for (size_t f = 0; f < model->films; f++) {
        const double gu = model->film[f].from->topcoat_gu;
        size_t at = 0;
        bool known = isnan(gu) || model->sheens == TOPCOAT_SHEENS_MOST;
        for (size_t i = 0; i < model->sheens; i++) {
            known = known || fabs(gu - model->sheen_gu[i]) <= .1 * model->sheen_gu[i] + .1;
            at += model->sheen_gu[i] < gu;
        }
        if (known) continue;
        for (size_t i = model->sheens++; i > at; i--) model->sheen_gu[i] = model->sheen_gu[i - 1];
        model->sheen_gu[at] = gu;
    }
    for (size_t i = 0; i < model->sheens; i++) {
        model->sheen_mean[i] = sheen_return(model->sheen_gu[i], model->geometry);
        model->free[FIT_SHEEN + i] = true;
    }
}

static void choose_free(struct fit *fit, bool crowds[], bool clear[]) {
    struct fit_model *model = &fit->model;
    size_t coated = 0, white = 0;
    double most = 0;
    for (size_t i = 0; i < model->toners; i++) {
        double sum = 0;
        crowds[i] = fit->about[i].role == ROLE_WHITE;
        clear[i] = fit->about[i].role == ROLE_BINDER;
        for (size_t f = 0; f < model->films; f++)
            sum += model->film[f].part[i] + (crowds[i] && !white ? 1e6 : 0);
        white += crowds[i] ? 1 : 0;
        if (sum > most) most = sum, model->anchor = i;
    }
    model->relative_s = true;
    for (size_t f = 0; f < model->films; f++) {
        coated += isnan(model->film[f].from->topcoat_gu) ? 0 : 1;
        if (!isinf(model->film[f].film_um)) model->relative_s = false;
    }
    const bool sci = model->geometry == GEOMETRY_SCI;
    model->free[FIT_K1] = sci, model->free[FIT_RETURN] = !sci, model->free[FIT_K2] = true;
    model->free[FIT_OBLIQUE] = model->geometry == GEOMETRY_45_0;
    model->free[FIT_HAZE] = coated >= 2;
    if (!sci && coated >= 2) choose_sheens(model);
}

static void make_model(struct fit *fit) {
    struct fit_model *model = &fit->model;
    bool *crowds = arena_need(fit->arena, fit->set.toner_count, sizeof *crowds);
    bool *clear = arena_need(fit->arena, fit->set.toner_count, sizeof *clear);
    model->toners = fit->set.toner_count;
    model->geometry = fit->set.geometry;
    model->film = arena_need(fit->arena, fit->set.count + 1, sizeof *model->film);
    model->crowds = crowds;
    model->clear = clear;
    model->error = .1;
    for (size_t i = 0; i < fit->set.count; i++)
        if (!fit->set.row[i].is_bare) add_film(fit, &fit->set.row[i]);
    model->k1_most = lowest(fit);
    choose_free(fit, crowds, clear);
}

/* ---- robust ---- */

static double usual_misfit(const struct fit *fit) {
    double *value = arena_need(fit->arena, fit->model.films + 1, sizeof *value);
    size_t n = 0;
    for (size_t f = 0; f < fit->model.films; f++)
        if (fit->model.film[f].weight > 0) value[n++] = fit_misfit(&fit->model, &fit->at, f) / BANDS;
    return quantile(value, n, .5);
}

static void weigh(struct fit *fit, double scale) {
    for (size_t f = 0; f < fit->model.films; f++) {
        struct fit_film *film = &fit->model.film[f];
        if (film->weight == 0) continue;
        const double share = 1 + fit_misfit(&fit->model, &fit->at, f) / BANDS / scale;
        film->weight = fmax(1 / (share * share), 1e-6);
    }
}

/* Films that err more than .1 dE00 have a larger sd, so that their thickness priors keep their say. */
static void tune_error(struct fit *fit) {
    fit->model.error = fmin(fmax(fit->model.error * sqrt(usual_misfit(fit)), .1), 3);
}

static void settle(struct fit *fit) {
    static const double reach[] = {60, 20, 6, 6};
    fit->model.leans = fit->model.beam && !fit->model.relative_s;
    tune_error(fit);
    for (int i = 0; i < 4; i++) {
        weigh(fit, reach[i] * fmax(usual_misfit(fit), .05));
        fit_solve(&fit->model, &fit->at, i < 3 ? 8 : 30);
        tune_error(fit);
    }
}

/* The bad films lose their say, so that they do not decide which model is tried further; afterwards all have
 * it again. */
static void calm(struct fit *fit, struct fit_point *at) {
    const struct fit_point held = fit->at;
    fit->at = *at;
    for (int i = 0; i < 2; i++) {
        weigh(fit, 20 * fmax(usual_misfit(fit), .05));
        fit_solve(&fit->model, &fit->at, 5);
    }
    for (size_t f = 0; f < fit->model.films; f++)
        if (fit->model.film[f].weight > 0) fit->model.film[f].weight = 1;
    *at = fit->at;
    if (at != &fit->at) fit->at = held;
}

/* One kind of model, from the start, all films alike: what is off, under the robust scale. */
static double attempt(struct fit *fit, bool beam, bool crowding, struct fit_point *at) {
    struct fit_model *model = &fit->model;
    model->beam = model->free[FIT_FORWARD] = beam;
    model->leans = false;
    model->free[FIT_BEND] = model->free[FIT_CROWD] = crowding;
    fit_start(&fit->model, fit->about, at);
    fit_solve(model, at, 15);
    calm(fit, at);
    double sum = 0;
    for (size_t f = 0; f < model->films; f++)
        if (model->film[f].weight > 0) sum += log1p(fit_misfit(model, at, f) / BANDS);
    return sum;
}

/* Few films can be fitted by anything, and slips of the scale look like crowding: plain Kubelka-Munk stands
 * unless the films speak clearly, first for the beam, then for the crowding. Opaque films hardly tell them
 * apart (k1, k2 and S take up what is wrong), so there the truer model stands as soon as it fits no worse. */
static double first_fit(struct fit *fit) {
    const bool shown = shows_crowding(fit, fit->model.crowds), opaque = fit->model.relative_s;
    struct fit_point trial = fit_point_new(&fit->model, fit->arena);
    double best = attempt(fit, false, false, &fit->at);
    const double lit = attempt(fit, true, false, &trial);
    const bool beam = lit < (opaque ? 1 : beam_gain) * best;
    if (beam) best = lit, fit_point_copy(&fit->model, &trial, &fit->at);
    const double crowded = shown ? attempt(fit, beam, true, &trial) : best;
    const bool crowding = crowded < (opaque ? 1 : crowd_gain) * best;
    if (crowding) best = crowded, fit_point_copy(&fit->model, &trial, &fit->at);
    fit->model.beam = fit->model.free[FIT_FORWARD] = beam;
    fit->model.free[FIT_BEND] = fit->model.free[FIT_CROWD] = crowding;
    return best;
}

/* ---- cards exchanged in the whole file ---- */

static void exchange(struct fit *fit, size_t a, size_t b) {
    const struct spectrum keep = fit->set.row[a].reflectance;
    fit->set.row[a].reflectance = fit->set.row[b].reflectance;
    fit->set.row[b].reflectance = keep;
}

static void try_exchange(struct fit *fit, size_t a, size_t b, double *best) {
    struct fit_point keep = fit_point_new(&fit->model, fit->arena);
    fit_point_copy(&fit->model, &fit->at, &keep);
    const bool beam = fit->model.beam, crowding = fit->model.free[FIT_CROWD];
    exchange(fit, a, b);
    const double cost = first_fit(fit);
    if (cost < .5 * *best) {
        *best = cost;
        fit->report->cards_exchanged = true;
        fit->report->card[0] = (int)a, fit->report->card[1] = (int)b;
        return;
    }
    exchange(fit, a, b);
    fit->model.beam = fit->model.free[FIT_FORWARD] = beam;
    fit->model.free[FIT_BEND] = fit->model.free[FIT_CROWD] = crowding;
    fit_point_copy(&fit->model, &keep, &fit->at);
}

static void try_exchanges(struct fit *fit, double cost) {
    if (cost / (double)fit->model.films < 1) return; /* films fit as they should */
    size_t bare[4], n = 0;
    for (size_t i = 0; i < fit->set.count && n < 4; i++)
        if (fit->set.row[i].is_bare) bare[n++] = i;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n && !fit->report->cards_exchanged; j++)
            try_exchange(fit, bare[i], bare[j], &cost);
}

/* ---- doubts ---- */

static struct fit_row *row_of(const struct fit *fit, size_t film) {
    return &fit->report->row[fit->model.film[film].from - fit->set.row];
}

static double judge_film(struct fit *fit, size_t film) {
    const struct fit_film *f = &fit->model.film[film];
    struct fit_row *row = row_of(fit, film);
    double stretch = fit->at.stretch[film];
    struct spectrum seen;
    if (f->weight == 0) {
        row->de00 = fit_film_de00(&fit->model, &fit->at, f, f->film_sd, &stretch);
        fit->at.stretch[film] = stretch;
    } else {
        fit_see(&fit->model, &fit->at, f, stretch, fit->at.dose[film], &seen);
        row->de00 = fit_de00(&seen, &f->from->reflectance);
    }
    row->film_um = isinf(f->film_um) ? (double)NAN : f->film_um * exp(stretch);
    return row->de00;
}

static double usual_de00(struct fit *fit) {
    double *value = arena_need(fit->arena, fit->model.films + 1, sizeof *value);
    size_t n = 0;
    for (size_t f = 0; f < fit->model.films; f++) {
        const double de00 = judge_film(fit, f);
        if (fit->model.film[f].weight > 0) value[n++] = de00;
    }
    return quantile(value, n, .5);
}

/* A film that nearly hides says little of its thickness: written ten times too thick it misses by less than
 * what is doubted otherwise, and its toner's S gives way for the rest. It is told by this that in half or
 * twice its thickness most of what is off is gone. */
static bool is_of_another_thickness(const struct fit *fit, size_t film, double usual) {
    const struct fit_film *f = &fit->model.film[film];
    const double de00 = row_of(fit, film)->de00;
    double stretch;
    if (f->film_sd <= 0 || !(de00 > fmax(.3, 6 * usual))) return false;
    return fit_film_de00(&fit->model, &fit->at, f, 1, &stretch) < de00 / 3 &&
           fabs(stretch) > fmax(.69, 6 * f->film_sd);
}

static bool stands_off(const struct fit *fit, size_t film, double usual) {
    const struct fit_film *f = &fit->model.film[film];
    const bool thick = f->film_sd > 0 && fabs(fit->at.stretch[film]) > 6 * f->film_sd;
    return thick || row_of(fit, film)->de00 > fmax(.6, 6 * usual) ||
           is_of_another_thickness(fit, film, usual);
}

/* Leaves out what stands off, fits the rest, takes back what the rest predicts. Twice: the second look is no
 * longer bent. */
static void leave_out(struct fit *fit) {
    for (int look = 0; look < 3; look++) {
        const double usual = usual_de00(fit);
        bool moved = false;
        for (size_t f = 0; f < fit->model.films; f++) {
            const bool out = fit->singled_out[f] || stands_off(fit, f, usual) ||
                             fit_off_scale(&fit->model.film[f].from->reflectance, fit->set.geometry);
            moved = moved || out != (fit->model.film[f].weight == 0);
            fit->model.film[f].weight = out ? 0 : 1;
        }
        if (!moved && look) return;
        fit_solve(&fit->model, &fit->at, 30);
    }
}

/* A bad film can hide that white crowds; without it the question is asked once more. */
static void reconsider_crowding(struct fit *fit) {
    if (fit->model.free[FIT_CROWD] || !shows_crowding(fit, fit->model.crowds)) return;
    struct fit_point trial = fit_point_new(&fit->model, fit->arena);
    const bool beam = fit->model.beam;
    const double off = attempt(fit, beam, false, &trial), on = attempt(fit, beam, true, &trial);
    const bool crowding = on < crowd_gain * off;
    fit->model.free[FIT_BEND] = fit->model.free[FIT_CROWD] = crowding;
    if (!crowding) return;
    fit_point_copy(&fit->model, &trial, &fit->at);
    leave_out(fit);
}

static bool all_stand(struct fit *fit) {
    const double usual = usual_de00(fit);
    for (size_t f = 0; f < fit->model.films; f++)
        if (fit->model.film[f].weight > 0 && stands_off(fit, f, usual)) return false;
    return true;
}

/* A film may look wrong only because another that says the same was left out as well: the mildest first, each
 * that fits together with the rest comes back. */
static void take_back(struct fit *fit) {
    struct fit_point keep = fit_point_new(&fit->model, fit->arena);
    bool *tried = arena_need(fit->arena, fit->model.films, sizeof *tried);
    for (int turn = 0; turn < 8; turn++) {
        size_t mildest = fit->model.films;
        for (size_t f = 0; f < fit->model.films; f++) {
            const bool out = fit->model.film[f].weight == 0 && !tried[f] && !fit->singled_out[f] &&
                             row_of(fit, f)->de00 < 4;
            if (out && (mildest == fit->model.films || row_of(fit, f)->de00 < row_of(fit, mildest)->de00))
                mildest = f;
        }
        if (mildest == fit->model.films) return;
        tried[mildest] = true;
        fit_point_copy(&fit->model, &fit->at, &keep);
        fit->model.film[mildest].weight = 1;
        fit_solve(&fit->model, &fit->at, 30);
        if (all_stand(fit)) continue;
        fit->model.film[mildest].weight = 0;
        fit_point_copy(&fit->model, &keep, &fit->at);
    }
}

static void explain(struct fit *fit) {
    fit->report->doubted = 0;
    const double usual = usual_de00(fit);
    for (size_t f = 0; f < fit->model.films; f++) {
        struct fit_row *row = row_of(fit, f);
        row->counted = fit->model.film[f].weight > 0;
        if (row->counted) continue;
        fit->report->doubted++;
        fit_explain(&fit->model, &fit->at, &fit->set, f, usual, row);
    }
}

/* One bad film can make good ones look bad. Once it is named, those that nothing explained are heard again,
 * all together. */
static void hear_again(struct fit *fit) {
    size_t heard = 0;
    for (size_t f = 0; f < fit->model.films; f++) {
        struct fit_row *row = row_of(fit, f);
        if (row->cause != CAUSE_UNKNOWN || fit->singled_out[f]) continue;
        fit->model.film[f].weight = 1;
        fit->at.stretch[f] = 0;
        row->cause = CAUSE_NONE;
        heard++;
    }
    if (heard == 0) return;
    fit_solve(&fit->model, &fit->at, 30);
    const double usual = usual_de00(fit);
    bool out = false;
    for (size_t f = 0; f < fit->model.films; f++)
        if (fit->model.film[f].weight > 0 && stands_off(fit, f, usual))
            fit->model.film[f].weight = 0, out = true;
    if (out) fit_solve(&fit->model, &fit->at, 30);
    explain(fit);
}

/* What the films say, from the first fit on, of those that have a say (weight over 0). */
static void settle_and_doubt(struct fit *fit) {
    settle(fit);
    leave_out(fit);
    reconsider_crowding(fit);
    take_back(fit);
    explain(fit);
    for (int i = 0; i < 3; i++) hear_again(fit);
}

/* A slip that was found. Nothing, or a film somewhat off in thickness, may be the work of another's slip. */
static bool is_named(const struct fit_row *row) {
    if (row->cause == CAUSE_FILM) return fabs(log(row->factor)) > .7;
    return row->cause != CAUSE_NONE && row->cause != CAUSE_UNKNOWN;
}

/* A bad slip can bend the very first fit into another valley, where good films look wrong that nothing
 * explains. Once the slip is named, all others are fitted anew without it, from the start. */
static void start_over(struct fit *fit) {
    size_t named = 0, unsure = 0;
    for (size_t f = 0; f < fit->model.films; f++) {
        const struct fit_row *row = row_of(fit, f);
        named += is_named(row), unsure += row->cause != CAUSE_NONE && !is_named(row);
    }
    if (named == 0 || unsure == 0) return;
    for (size_t f = 0; f < fit->model.films; f++) {
        struct fit_row *row = row_of(fit, f);
        fit->model.film[f].weight = is_named(row) ? 0 : 1;
        row->cause = CAUSE_NONE;
    }
    first_fit(fit);
    settle_and_doubt(fit);
}

/* ---- one bad film against its own toner ---- */

/* Of a toner that few films speak of, one bad film can win against the good ones: they all look wrong then,
 * and nothing explains them. So each of its films in turn (and each mix with all its cards) is left out of a
 * fit from the start; the one without which the others agree best is the culprit. */

static size_t unknown_of(const struct fit *fit, size_t toner) {
    size_t n = 0;
    for (size_t f = 0; f < fit->model.films; f++)
        n += row_of(fit, f)->cause == CAUSE_UNKNOWN && fit->model.film[f].part[toner] > 0;
    return n;
}

/* The toner most of whose films nothing explains, two at least; -1: none. */
static int accused_toner(const struct fit *fit) {
    int accused = -1;
    double most = 0;
    for (size_t i = 0; i < fit->model.toners; i++) {
        size_t films = 0;
        const size_t unknown = unknown_of(fit, i);
        for (size_t f = 0; f < fit->model.films; f++) films += fit->model.film[f].part[i] > 0;
        if (unknown >= 2 && (double)unknown / (double)films > most)
            accused = (int)i, most = (double)unknown / (double)films;
    }
    return accused;
}

/* Left out: this film, or with it all that were drawn of the same mix. */
struct culprit {
    size_t film;
    bool batch;
};

static bool is_culprit(const struct fit *fit, const struct culprit *culprit, size_t f) {
    const struct fit_film *own = &fit->model.film[culprit->film], *film = &fit->model.film[f];
    return f == culprit->film ||
           (culprit->batch && memcmp(own->part, film->part, fit->model.toners * sizeof *film->part) == 0);
}

static void hear_all_but(struct fit *fit, const struct culprit *culprit) {
    for (size_t f = 0; f < fit->model.films; f++) {
        const bool out = is_named(row_of(fit, f)) || is_culprit(fit, culprit, f) || fit->singled_out[f] ||
                         fit_off_scale(&fit->model.film[f].from->reflectance, fit->set.geometry);
        fit->model.film[f].weight = out ? 0 : 1;
    }
}

/* What is off on the average film without the culprit; their number decides nothing. */
static double off_without(struct fit *fit, const struct culprit *culprit, struct fit_point *at) {
    size_t heard = 0;
    hear_all_but(fit, culprit);
    for (size_t f = 0; f < fit->model.films; f++) heard += fit->model.film[f].weight > 0;
    return attempt(fit, fit->model.beam, fit->model.free[FIT_CROWD], at) / (double)(heard + 1);
}

static struct culprit find_culprit(struct fit *fit, int toner, const struct work *work) {
    enum { TRIED_MOST = 32 };
    struct fit_point trial = fit_point_new(&fit->model, fit->arena);
    struct culprit best = {.film = fit->model.films}, one = {0};
    double least = HUGE_VAL;
    int tried = 0;
    for (one.film = 0; one.film < fit->model.films && !work_is_cancelled(work); one.film++)
        for (int batch = 0; batch < 2 && fit->model.film[one.film].part[toner] > 0; batch++) {
            one.batch = batch == 1;
            size_t out = 0;
            for (size_t f = 0; f < fit->model.films; f++) out += is_culprit(fit, &one, f);
            if ((batch && out < 2) || tried++ >= TRIED_MOST) continue;
            const double off = off_without(fit, &one, &trial) * (batch ? 1.05 : 1); /* one before many */
            if (off < least) least = off, best = one;
        }
    return best;
}

/* Where the fit stands, to come back to. */
struct stand {
    struct fit_model model;
    struct fit_point at;
    struct fit_film *film;
    struct fit_row *row;
    size_t doubted;
};

static struct stand stand_of(struct fit *fit) {
    struct stand stand = {.model = fit->model, .at = fit_point_new(&fit->model, fit->arena)};
    stand.film = arena_need(fit->arena, fit->model.films, sizeof *stand.film);
    stand.row = arena_need(fit->arena, fit->set.count, sizeof *stand.row);
    fit_point_copy(&fit->model, &fit->at, &stand.at);
    memcpy(stand.film, fit->model.film, fit->model.films * sizeof *stand.film);
    memcpy(stand.row, fit->report->row, fit->set.count * sizeof *stand.row);
    stand.doubted = fit->report->doubted;
    return stand;
}

static void stand_again(const struct stand *stand, struct fit *fit) {
    fit->model = stand->model;
    fit_point_copy(&fit->model, &stand->at, &fit->at);
    memcpy(fit->model.film, stand->film, fit->model.films * sizeof *stand->film);
    memcpy(fit->report->row, stand->row, fit->set.count * sizeof *stand->row);
    fit->report->doubted = stand->doubted;
}

static void fit_without(struct fit *fit, const struct culprit *culprit) {
    hear_all_but(fit, culprit);
    for (size_t f = 0; f < fit->model.films; f++) {
        fit->singled_out[f] = fit->singled_out[f] || is_culprit(fit, culprit, f);
        if (fit->model.film[f].weight > 0) row_of(fit, f)->cause = CAUSE_NONE;
    }
    attempt(fit, fit->model.beam, fit->model.free[FIT_CROWD], &fit->at);
    settle_and_doubt(fit);
}

/* Two slips want two turns, and the first may help nobody by itself: the best of all turns stands. */
static void single_out(struct fit *fit, const struct work *work) {
    struct stand best = {0};
    for (int turn = 0; turn < 3; turn++) {
        const int toner = accused_toner(fit);
        if (toner < 0) break;
        if (!turn || fit->report->doubted < best.doubted) best = stand_of(fit);
        const struct culprit culprit = find_culprit(fit, toner, work);
        if (work_is_cancelled(work)) return;
        fit_without(fit, &culprit);
    }
    if (best.film && fit->report->doubted >= best.doubted) stand_again(&best, fit);
}

/* A bad film can also be met half way by its toner's curves: nothing stands off, but the toner's other films
 * miss by many times the usual. Such a toner, the one that misses most; -1: none. */
static int strained_toner(struct fit *fit) {
    const double usual = usual_de00(fit);
    double most = 0, worst = 0;
    int strained = -1;
    for (size_t i = 0; i < fit->model.toners; i++) {
        double sum = 0;
        size_t films = 0;
        for (size_t f = 0; f < fit->model.films; f++) {
            if (fit->model.film[f].weight == 0 || fit->model.film[f].part[i] == 0) continue;
            const double de00 = row_of(fit, f)->de00;
            sum += de00, films++, worst = fmax(worst, de00);
        }
        if (films > 2 && sum / (double)films > most) most = sum / (double)films, strained = (int)i;
    }
    return worst > fmax(.3, 6 * usual) ? strained : -1;
}

/* One film of it is left out when without it the others agree, contradict it as what anybody would see, and a
 * slip explains it; else all stands as it stood. */
static void relieve(struct fit *fit, const struct work *work) {
    const int toner = strained_toner(fit);
    if (toner < 0) return;
    const struct stand before = stand_of(fit);
    const struct culprit culprit = find_culprit(fit, toner, work);
    if (work_is_cancelled(work) || culprit.batch || culprit.film == fit->model.films) return;
    fit_without(fit, &culprit);
    const struct fit_row *row = row_of(fit, culprit.film);
    if (is_named(row) && row->de00 > .6 && fit->report->doubted == before.doubted + 1 &&
        strained_toner(fit) < 0)
        return;
    fit->singled_out[culprit.film] = false;
    stand_again(&before, fit);
}

/* ---- what comes out ---- */

static void fill_shelf(const struct fit *fit, const double k_sd[], const double s_sd[], struct shelf *shelf) {
    const struct fit_model *model = &fit->model;
    const size_t t = model->toners;
    *shelf = (struct shelf){.count = t, .geometry = model->geometry, .relative_s = model->relative_s};
    shelf->toner = arena_need(fit->arena, t, sizeof *shelf->toner);
    shelf->surface = (struct surface){.k1 = fit->at.global[FIT_K1],
                                      .k2 = fit->at.global[FIT_K2],
                                      .sheen_return = fit->at.global[FIT_RETURN],
                                      .oblique = fit->at.global[FIT_OBLIQUE]};
    shelf->beam = (struct beam){model->beam, model->beam ? fit->at.global[FIT_FORWARD] : 0};
    if (model->free[FIT_HAZE]) shelf->topcoat = fit_topcoat(model, fit->at.global);
    for (size_t i = 0; i < t; i++) {
        struct toner *toner = &shelf->toner[i];
        *toner = fit->about[i];
        toner->bend = model->crowds[i] ? fit->at.global[FIT_BEND] : 0;
        toner->crowd = model->crowds[i] ? fit->at.global[FIT_CROWD] : 0;
        toner->lean = model->leans ? fit->at.lean[i] : 0;
        toner->strength_sd = model->clear[i] ? 0 : fmin(model->crowds[i] ? s_sd[i] : k_sd[i], 1);
        for (size_t b = 0; b < BANDS; b++) {
            toner->k[b] = fit->at.ks[b * 2 * t + i];
            toner->s[b] = fit->at.ks[b * 2 * t + t + i];
        }
    }
}

static bool is_mixed(const struct fit *fit, const struct fit_film *film, size_t toner) {
    bool any_white = false, white = false, other = false;
    for (size_t i = 0; i < fit->model.toners; i++) {
        any_white = any_white || fit->model.crowds[i];
        white = white || (fit->model.crowds[i] && film->part[i] > 0);
        other = other || (i != toner && film->part[i] > 0 && !fit->model.clear[i]);
    }
    return any_white && !fit->model.crowds[toner] ? white : other;
}

static void rate_toners(const struct fit *fit, const double k_sd[], const double s_sd[]) {
    for (size_t i = 0; i < fit->model.toners; i++) {
        struct fit_toner *toner = &fit->report->toner[i];
        *toner = (struct fit_toner){
            .only_alone = true, .k_sd = k_sd[i], .s_sd = s_sd[i], .s_known = s_sd[i] <= .2};
        for (size_t f = 0; f < fit->model.films; f++) {
            const struct fit_film *film = &fit->model.film[f];
            if (film->weight == 0 || film->part[i] == 0) continue;
            toner->films++;
            toner->de00_mean += row_of(fit, f)->de00;
            if (is_mixed(fit, film, i)) toner->only_alone = false;
        }
        if (toner->films) toner->de00_mean /= toner->films;
    }
}

static void rate_films(struct fit *fit) {
    double *value = arena_need(fit->arena, fit->model.films + 1, sizeof *value), squares = 0;
    size_t n = 0, finite = 0;
    for (size_t f = 0; f < fit->model.films; f++) {
        if (fit->model.film[f].weight == 0) continue;
        value[n++] = row_of(fit, f)->de00;
        if (fit->model.film[f].film_sd > 0 && !isnan(fit->model.film[f].from->film_um))
            squares += fit->at.stretch[f] * fit->at.stretch[f], finite++;
    }
    fit->report->films = n;
    fit->report->film_sd = finite ? sqrt(squares / (double)finite) : 0;
    fit->report->de00_median = quantile(value, n, .5);
    fit->report->de00_p95 = quantile(value, n, .95);
    fit->report->de00_max = quantile(value, n, 1);
}

static enum status check(const struct drawdown_set *set, struct fault *fault) {
    size_t films = 0;
    for (size_t i = 0; i < set->count; i++) films += !set->row[i].is_bare;
    if (films == 0) return FAULT0(fault, FIT_NO_FILM);
    if (films > FIT_FILMS_MOST)
        return FAULT(fault, FIT_TOO_MANY, COUNT_TEXT(films), COUNT_TEXT(FIT_FILMS_MOST));
    if (set->toner_count > SHELF_MOST)
        return FAULT(fault, FIT_TOO_MANY_TONERS, COUNT_TEXT(set->toner_count), COUNT_TEXT(SHELF_MOST));
    for (size_t t = 0; t < set->toner_count; t++) {
        double sum = 0;
        for (size_t i = 0; i < set->count; i++) sum += set->row[i].mass_g[t];
        if (!(sum > 0)) return FAULT(fault, FIT_TONER_NOWHERE, set->toner_id[t]);
    }
    return STATUS_OK;
}

enum status fit_shelf(const struct drawdown_set *set, const struct toner about[], const struct work *work,
                      struct arena *arena, struct shelf *shelf, struct fit_report *report,
                      struct fault *fault) {
    const enum status status = check(set, fault);
    if (status != STATUS_OK) return status;
    *report = (struct fit_report){.row = arena_need(arena, set->count, sizeof *report->row),
                                  .toner = arena_need(arena, set->toner_count, sizeof *report->toner)};
    struct fit fit = {.about = about, .arena = arena, .report = report};
    copy_rows(&fit, set);
    make_model(&fit);
    fit.at = fit_point_new(&fit.model, arena);
    fit.singled_out = arena_need(arena, fit.model.films, sizeof *fit.singled_out);
    try_exchanges(&fit, first_fit(&fit));
    if (work_is_cancelled(work)) return FAULT0(fault, CANCELLED);
    settle_and_doubt(&fit);
    start_over(&fit);
    single_out(&fit, work);
    relieve(&fit, work);
    if (work_is_cancelled(work)) return FAULT0(fault, CANCELLED);
    double *k_sd = arena_need(arena, set->toner_count, sizeof *k_sd),
           *s_sd = arena_need(arena, set->toner_count, sizeof *s_sd);
    fit_spread(&fit.model, &fit.at, k_sd, s_sd);
    rate_films(&fit);
    rate_toners(&fit, k_sd, s_sd);
    fill_shelf(&fit, k_sd, s_sd, shelf);
    return STATUS_OK;
}
