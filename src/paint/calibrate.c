/* Maximum a posteriori strengths and shapes: see calibrate.h for the model.
 *
 * Gauss-Newton on  sum_cards sum_b ((R - R(x)) / sd_b)^2 + sum_i (x_i / sd_i)^2  with halving of a step that
 * makes it worse. The unknowns are logarithms, so no bound is needed. Rows of the Jacobian by the chain rule:
 * d R / d ln K_i = (dR/dk) c_i K_i, d R / d ln S_i = (dR/ds) c_i (1 - bend c_i) S_i, d R / d ln X = (dR/dX)
 * X. */
#include "paint/calibrate.h"
#include "base/dense.h"
#include "base/memory.h"
#include "colour/difference.h"
#include <math.h>
#include <string.h>

enum { SHAPES = 6, SCATTER_SHAPES = 4, OWN = SHAPES + SCATTER_SHAPES, STEPS_MOST = 25 };

const struct doubt doubt_usual = {.strength_sd = 0.08,
                                  .scatter_sd = 0.07,
                                  .shape_sd = 0.04,
                                  .film_sd = 0.05,
                                  .noise_floor = 3e-4,
                                  .noise_share = 0.006};
const struct doubt doubt_learning = {.strength_sd = 0.08,
                                     .scatter_sd = 0.07,
                                     .shape_sd = 0.05,
                                     .film_sd = 0.05,
                                     .noise_floor = 3e-4,
                                     .noise_share = 0.004};

struct calibration {
    const struct shelf *shelf;
    const struct card *card;
    size_t cards;
    int lots;
    struct doubt doubt;
    size_t unknowns;
    int *place;        /* [toner] first unknown of a toner, -1 when no card holds it */
    size_t card_place; /* first unknown of the cards: film and gain of each */
    double *x, *prior_sd, *normal;
    double wave[SHAPES + 1][BANDS]; /* the cosines of a shape */
};

static size_t per_toner(const struct calibration *c) {
    return 2 * (size_t)c->lots + OWN;
}

static void fill_waves(struct calibration *c) {
    for (int j = 0; j <= SHAPES; j++)
        for (int b = 0; b < BANDS; b++) c->wave[j][b] = cos(M_PI * j * (b + 0.5) / BANDS);
}

static bool in_play(const struct calibration *c, size_t toner) {
    for (size_t i = 0; i < c->cards; i++)
        if (c->card[i].part[toner] > 0) return true;
    return false;
}

/* The shape's variance is spread over its cosines, the slow ones having more: 1/j^2, sum_j 1/j^2 normalised.
 */
static double shape_share(int j) {
    double sum = 0;
    for (int i = 1; i <= SHAPES; i++) sum += 1.0 / (i * i);
    return sqrt(2.0 / (j * j) / sum); /* a cosine has mean square 1/2 */
}

static void lay_out(struct calibration *c) {
    size_t n = 0;
    for (size_t i = 0; i < c->shelf->count; i++) {
        c->place[i] = in_play(c, i) ? (int)n : -1;
        if (c->place[i] >= 0) n += per_toner(c);
    }
    c->card_place = n;
    c->unknowns = n + 2 * c->cards;
}

/* What a bottle may differ from the one that the drawdowns were made of, or what the shelf itself is unsure
 * of when that is more (a shelf that has learnt holds the bottle's doubt already). */
static double toner_strength_sd(const struct calibration *c, size_t toner) {
    return fmax(c->shelf->toner[toner].strength_sd, c->doubt.strength_sd);
}

static void fill_toner_priors(const struct calibration *c, size_t toner, double *sd) {
    for (int lot = 0; lot < c->lots; lot++) {
        *sd++ = toner_strength_sd(c, toner);
        *sd++ = c->doubt.scatter_sd;
    }
    for (int j = 1; j <= SHAPES; j++) *sd++ = c->doubt.shape_sd * shape_share(j);
    for (int j = 1; j <= SCATTER_SHAPES; j++) *sd++ = c->doubt.shape_sd * shape_share(j);
}

static void fill_priors(struct calibration *c) {
    for (size_t i = 0; i < c->shelf->count; i++)
        if (c->place[i] >= 0) fill_toner_priors(c, i, c->prior_sd + c->place[i]);
    for (size_t i = 0; i < c->cards; i++) {
        const bool finite_film = isfinite(c->card[i].film.film_um);
        c->prior_sd[c->card_place + 2 * i] = finite_film ? c->doubt.film_sd : 0;
        c->prior_sd[c->card_place + 2 * i + 1] = c->card[i].trust_sd;
    }
}

/* Logarithms of K's and S's factors of one toner at one band. */
static void factors(const struct calibration *c, const double *x, size_t toner, int lot, int band,
                    double *ln_k, double *ln_s) {
    *ln_k = *ln_s = 0;
    if (c->place[toner] < 0) return;
    const double *own = x + c->place[toner], *shape = own + 2 * c->lots;
    *ln_k = own[2 * lot];
    *ln_s = own[2 * lot] + own[2 * lot + 1];
    for (int j = 1; j <= SHAPES; j++) *ln_k += shape[j - 1] * c->wave[j][band];
    for (int j = 1; j <= SCATTER_SHAPES; j++) *ln_s += shape[SHAPES + j - 1] * c->wave[j][band];
}

static int lot_of(const struct card *card, size_t toner) {
    return card->lot ? card->lot[toner] : 0;
}

/* The shelf with x applied, every toner in the lot that this card held. */
static void bend_shelf(const struct calibration *c, const double *x, const struct card *card, int lot,
                       struct toner *to) {
    memcpy(to, c->shelf->toner, c->shelf->count * sizeof *to);
    for (size_t i = 0; i < c->shelf->count; i++) {
        if (c->place[i] < 0) continue;
        const int l = card ? lot_of(card, i) : lot;
        for (int b = 0; b < BANDS; b++) {
            double ln_k, ln_s;
            factors(c, x, i, l, b, &ln_k, &ln_s);
            to[i].k[b] *= exp(ln_k);
            to[i].s[b] *= exp(ln_s);
        }
    }
}

struct slopes {
    struct spectrum r;
    double by_k[BANDS], by_s[BANDS], by_film[BANDS];
};

static void see_card(const struct calibration *c, const double *x, size_t index, struct toner *scratch,
                     struct slopes *out) {
    const struct card *card = &c->card[index];
    bend_shelf(c, x, card, 0, scratch);
    struct shelf bent = *c->shelf;
    bent.toner = scratch;
    struct film_case film = card->film;
    film.film_um *= exp(x[c->card_place + 2 * index]);
    predict_ks_slopes(&bent, card->part, &film, &out->r, out->by_k, out->by_s, out->by_film);
    const double gain = exp(x[c->card_place + 2 * index + 1]);
    for (int b = 0; b < BANDS; b++) {
        out->r.band[b] *= gain;
        out->by_k[b] *= gain;
        out->by_s[b] *= gain;
        out->by_film[b] *= isfinite(film.film_um) ? gain * film.film_um : 0; /* opaque: 0, not 0 x INFINITY */
    }
}

static double band_sd(const struct calibration *c, double measured) {
    return c->doubt.noise_floor + c->doubt.noise_share * measured;
}

static double misfit(const struct calibration *c, const double *x, struct toner *scratch) {
    double sum = 0;
    for (size_t i = 0; i < c->unknowns; i++)
        if (c->prior_sd[i] > 0) sum += (x[i] / c->prior_sd[i]) * (x[i] / c->prior_sd[i]);
    struct slopes seen;
    for (size_t i = 0; i < c->cards; i++) {
        see_card(c, x, i, scratch, &seen);
        for (int b = 0; b < BANDS; b++) {
            const double m = c->card[i].measured.band[b], e = (m - seen.r.band[b]) / band_sd(c, m);
            sum += e * e;
        }
    }
    return sum;
}

/* One band of one card as a row: which unknowns it touches and how. Returns their number. */
static size_t fill_row(const struct calibration *c, size_t index, const struct toner *bent,
                       const struct slopes *seen, int b, size_t *at, double *by) {
    const struct card *card = &c->card[index];
    size_t n = 0;
    for (size_t i = 0; i < c->shelf->count; i++) {
        const double part = card->part[i];
        if (part <= 0) continue;
        const double dk = seen->by_k[b] * part * bent[i].k[b];
        const double ds = seen->by_s[b] * toner_counted(&bent[i], part, NULL) * bent[i].s[b];
        const size_t first = (size_t)c->place[i], lot = 2 * (size_t)lot_of(card, i),
                     shape = first + 2 * (size_t)c->lots;
        at[n] = first + lot, by[n++] = dk + ds;
        at[n] = first + lot + 1, by[n++] = ds;
        for (int j = 1; j <= SHAPES; j++) at[n] = shape + (size_t)j - 1, by[n++] = dk * c->wave[j][b];
        for (size_t j = 1; j <= SCATTER_SHAPES; j++)
            at[n] = shape + SHAPES + j - 1, by[n++] = ds * c->wave[j][b];
    }
    at[n] = c->card_place + 2 * index, by[n++] = seen->by_film[b];
    at[n] = c->card_place + 2 * index + 1, by[n++] = seen->r.band[b];
    return n;
}

static void add_row(double *normal, double *gradient, size_t unknowns, const size_t *at, const double *by,
                    size_t n, double error, double sd) {
    const double w = 1 / (sd * sd);
    for (size_t i = 0; i < n; i++) {
        gradient[at[i]] += w * by[i] * error;
        for (size_t j = 0; j < n; j++) normal[at[i] * unknowns + at[j]] += w * by[i] * by[j];
    }
}

/* Normal matrix and gradient at x. An unknown whose prior has no width stays where it is. */
static void linearise(struct calibration *c, struct toner *scratch, double *gradient, size_t *at,
                      double *by) {
    const size_t n = c->unknowns;
    memset(c->normal, 0, n * n * sizeof *c->normal);
    memset(gradient, 0, n * sizeof *gradient);
    struct slopes seen;
    for (size_t i = 0; i < c->cards; i++) {
        see_card(c, c->x, i, scratch, &seen);
        for (int b = 0; b < BANDS; b++) {
            const double m = c->card[i].measured.band[b];
            const size_t touched = fill_row(c, i, scratch, &seen, b, at, by);
            add_row(c->normal, gradient, n, at, by, touched, m - seen.r.band[b], band_sd(c, m));
        }
    }
    for (size_t i = 0; i < n; i++) {
        const double precision = c->prior_sd[i] > 0 ? 1 / (c->prior_sd[i] * c->prior_sd[i]) : 1e18;
        c->normal[i * n + i] += precision;
        gradient[i] -= precision * c->x[i];
    }
}

/* Halves the step until the misfit falls; false when it does not fall any more. */
static bool step_down(struct calibration *c, const double *step, double *trial, double *now,
                      struct toner *scratch) {
    for (double size = 1; size > 1e-3; size /= 2) {
        for (size_t i = 0; i < c->unknowns; i++) trial[i] = c->x[i] + size * step[i];
        const double then = misfit(c, trial, scratch);
        if (!(then < *now)) continue;
        const bool worth = *now - then > 1e-9 * (1 + *now);
        memcpy(c->x, trial, c->unknowns * sizeof *trial);
        *now = then;
        return worth;
    }
    return false;
}

static void climb(struct calibration *c, int steps_most) {
    const size_t n = c->unknowns, longest = c->shelf->count * per_toner(c) + 2;
    struct toner *scratch = memory_need(c->shelf->count, sizeof *scratch);
    double *gradient = memory_need(n, sizeof *gradient), *trial = memory_need(n, sizeof *trial),
           *by = memory_need(longest, sizeof *by);
    size_t *at = memory_need(longest, sizeof *at);
    double now = misfit(c, c->x, scratch);
    bool better = true;
    for (int i = 0; i < steps_most && better; i++) {
        linearise(c, scratch, gradient, at, by);
        if (!dense_cholesky(c->normal, n)) break;
        dense_cholesky_solve(c->normal, n, gradient);
        better = step_down(c, gradient, trial, &now, scratch);
    }
    linearise(c, scratch, gradient, at, by);
    /* The prior makes it positive definite; if rounding took that away, the prior alone stands. */
    if (!dense_cholesky(c->normal, n)) {
        memset(c->normal, 0, n * n * sizeof *c->normal);
        for (size_t i = 0; i < n; i++) c->normal[i * n + i] = c->prior_sd[i] > 0 ? 1 / c->prior_sd[i] : 1e9;
    }
    memory_free(scratch);
    memory_free(gradient);
    memory_free(trial);
    memory_free(by);
    memory_free(at);
}

static struct calibration *begin(const struct shelf *shelf, const struct card *card, size_t cards,
                                 int lot_count, const struct doubt *doubt) {
    struct calibration *c = memory_need(1, sizeof *c);
    c->shelf = shelf;
    c->card = card;
    c->cards = cards;
    c->lots = lot_count;
    c->doubt = *doubt;
    c->place = memory_need(shelf->count, sizeof *c->place);
    fill_waves(c);
    lay_out(c);
    c->x = memory_need(c->unknowns, sizeof *c->x);
    c->prior_sd = memory_need(c->unknowns, sizeof *c->prior_sd);
    c->normal = memory_need(c->unknowns * c->unknowns, sizeof *c->normal);
    fill_priors(c);
    return c;
}

struct calibration *calibration_new(const struct shelf *shelf, const struct card *card, size_t cards,
                                    int lot_count, const struct doubt *doubt) {
    struct calibration *c = begin(shelf, card, cards, lot_count, doubt);
    climb(c, STEPS_MOST);
    return c;
}

struct calibration *calibration_of_shelf(const struct shelf *shelf, const struct doubt *doubt) {
    int lots = 1;
    for (size_t i = 0; i < shelf->cards; i++)
        for (size_t t = 0; t < shelf->count; t++)
            if (lot_of(&shelf->card[i], t) >= lots) lots = lot_of(&shelf->card[i], t) + 1;
    struct calibration *c = begin(shelf, shelf->card, shelf->cards, lots, doubt);
    climb(c, 0);
    return c;
}

void calibration_free(struct calibration *c) {
    if (!c) return;
    memory_free(c->place);
    memory_free(c->x);
    memory_free(c->prior_sd);
    memory_free(c->normal);
    memory_free(c);
}

double calibration_strength(const struct calibration *c, size_t toner, int lot, double *sd) {
    *sd = toner_strength_sd(c, toner);
    if (c->place[toner] < 0) return 0;
    const size_t at = (size_t)c->place[toner] + 2 * (size_t)lot;
    double *unit = memory_need(c->unknowns, sizeof *unit);
    unit[at] = 1;
    dense_cholesky_solve(c->normal, c->unknowns, unit);
    *sd = sqrt(unit[at]);
    memory_free(unit);
    return c->x[at];
}

void calibration_apply(const struct calibration *c, int lot, struct shelf *shelf) {
    bend_shelf(c, c->x, NULL, lot, shelf->toner);
    for (size_t i = 0; i < shelf->count; i++) calibration_strength(c, i, lot, &shelf->toner[i].strength_sd);
}

double calibration_film_factor(const struct calibration *c, size_t card) {
    return exp(c->x[c->card_place + 2 * card]);
}

double calibration_card_de00(const struct calibration *c, size_t card) {
    struct toner *scratch = memory_need(c->shelf->count, sizeof *scratch);
    struct slopes seen;
    see_card(c, c->x, card, scratch, &seen);
    memory_free(scratch);
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    return difference_de00(lab_of_spectrum(&c->card[card].measured, day), lab_of_spectrum(&seen.r, day));
}

/* d Lab / d R of one band by a central difference: Lab is smooth and this is not a hot path. */
static void lab_by_band(const struct spectrum *at, int band, const struct weights *day, double out[3]) {
    struct spectrum up = *at, down = *at;
    const double h = 1e-5;
    up.band[band] += h;
    down.band[band] -= h;
    const struct lab a = lab_of_spectrum(&up, day), b = lab_of_spectrum(&down, day);
    out[0] = (a.l - b.l) / (2 * h);
    out[1] = (a.a - b.a) / (2 * h);
    out[2] = (a.b - b.b) / (2 * h);
}

/* d L, d a, d b by a toner's own unknowns at one band, added to to[m][]: the order of lay_out. */
static void add_lab_slopes(const struct calibration *c, int lot, int band, const double lab[3], double dk,
                           double ds, double *to, size_t stride) {
    for (int m = 0; m < 3; m++, to += stride) {
        double *shape = to + 2 * c->lots;
        to[2 * lot] += lab[m] * (dk + ds);
        to[2 * lot + 1] += lab[m] * ds;
        for (int j = 1; j <= SHAPES; j++) shape[j - 1] += lab[m] * dk * c->wave[j][band];
        for (int j = 1; j <= SCATTER_SHAPES; j++) shape[SHAPES + j - 1] += lab[m] * ds * c->wave[j][band];
    }
}

static void add_products(const double *row, size_t n, double cov[3][3]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            for (size_t k = 0; k < n; k++) cov[i][j] += row[(size_t)i * n + k] * row[(size_t)j * n + k];
}

/* A toner that no card holds has its prior still, and nothing else depends on it. */
static void add_unseen(const struct calibration *c, size_t toner, double *own, double cov[3][3]) {
    const size_t n = per_toner(c);
    double *sd = memory_need(n, sizeof *sd);
    fill_toner_priors(c, toner, sd);
    for (size_t k = 0; k < 3 * n; k++) own[k] *= sd[k % n];
    add_products(own, n, cov);
    memory_free(sd);
}

void calibration_lab_cov(const struct calibration *c, const double part[], const struct film_case *film,
                         int lot, double cov[3][3]) {
    const size_t n = c->unknowns, mine = per_toner(c);
    struct shelf bent = *c->shelf;
    bent.toner = memory_need(c->shelf->count, sizeof *bent.toner);
    bend_shelf(c, c->x, NULL, lot, bent.toner);
    struct slopes seen;
    predict_ks_slopes(&bent, part, film, &seen.r, seen.by_k, seen.by_s, seen.by_film);
    const struct weights *day = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    double *row = memory_need(3 * n + 1, sizeof *row), lab[BANDS][3];
    for (int b = 0; b < BANDS; b++) lab_by_band(&seen.r, b, day, lab[b]);
    memset(cov, 0, 9 * sizeof cov[0][0]);
    for (size_t i = 0; i < c->shelf->count; i++) {
        if (part[i] <= 0) continue;
        const struct toner *toner = &bent.toner[i];
        const bool seen_before = c->place[i] >= 0;
        double *own = memory_need(3 * mine, sizeof *own);
        for (int b = 0; b < BANDS; b++)
            add_lab_slopes(c, lot, b, lab[b], seen.by_k[b] * part[i] * toner->k[b],
                           seen.by_s[b] * toner_counted(toner, part[i], NULL) * toner->s[b],
                           seen_before ? row + c->place[i] : own, seen_before ? n : mine);
        if (!seen_before) add_unseen(c, i, own, cov);
        memory_free(own);
    }
    for (int m = 0; m < 3; m++) dense_forward_solve(c->normal, n, row + (size_t)m * n);
    add_products(row, n, cov);
    memory_free(row);
    memory_free(bent.toner);
}
