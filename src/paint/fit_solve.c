/* The solver of the fit. Unknowns are ordered band by band (K and S of each toner); smoothness couples a band
 * with the next two, so their normal matrix A is a band of half width 4 x toners. Thickness and shared
 * unknowns touch every band: a border B with its own corner C.
 *
 *     | A  B | |x|   |a|      L L' = A,  Y = L^-1 B,  (C - Y'Y) z = c - Y' L^-1 a,  x = L'^-1 (L^-1 a - Y z)
 *     | B' C | |z| = |c|
 */
#include "base/dense.h"
#include "paint/fit_kernel.h"
#include "paint/fit_model.h"
#include <assert.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Units of the priors; all are weak against films that say something. */
static const double band_share =
    .25; /* neighbouring bands err together: a film counts as 31/4 independent bands */
static const double bend_sd = .3;    /* second difference of a curve, in its rms */
static const double clear_sd = 1e-3; /* per um: K and S of a binder */
static const double level_sd = 30;   /* of a value against its rms: keeps what no film shows finite */
static const double lean_sd = .1;    /* of a pigment's asymmetry beside its neighbours' */
struct prior {
    double mean, sd, low, high;
};

/* k2: what a boundary of index 1.5 turns back of diffuse light (Fresnel, over all directions); .564 and .625
 * at 1.45 and 1.55, between which oils, acrylics and urethanes lie, and light in a film is not quite diffuse.
 * With .1 few films drove it as far as .06 (docs/film.md). */
static struct prior prior_of(const struct fit_model *model, size_t g) {
    static const struct prior usual[FIT_SHEEN] = {
        {.04, .004, .005, .08}, {.596, .04, .05, .9}, {0, .1, 0, .9}, {.5, 1, 0, 20},
        {.4, .3, 0, .75},       {.0015, .01, 0, .1},  {.2, .3, 0, 1}, {0, .05, -.2, .2}};
    if (g >= FIT_SHEEN) return (struct prior){model->sheen_mean[g - FIT_SHEEN], .5, .001, .999};
    struct prior prior = usual[g];
    if (g == FIT_K1) prior.high = fmin(prior.high, model->k1_most);
    if (g == FIT_HAZE && model->sheens)
        prior.sd = .001; /* on a dark film it looks like more of the surface */
    return prior;
}

/* Places in the border: thickness of each film, shared unknowns, dose of each film, lean of each toner. Those
 * that stay as they are have none. */
static size_t dose_at(const struct fit_model *model, size_t film) {
    return model->films + FIT_GLOBALS + film;
}

static size_t lean_at(const struct fit_model *model, size_t toner) {
    return 2 * model->films + FIT_GLOBALS + toner;
}

static bool moves(const struct fit_model *model, size_t at) {
    if (at < model->films) return model->film[at].film_sd > 0;
    if (at < dose_at(model, 0)) return model->free[at - model->films];
    if (at < lean_at(model, 0)) return model->film[at - dose_at(model, 0)].dose_sd > 0;
    return model->leans;
}

#define NO_PLACE SIZE_MAX

struct normal {
    size_t n, wide, m, across; /* K and S, half width, border; across: m rounded up to FIT_LANES */
    size_t *place;             /* [2 films + FIT_GLOBALS + toners] in the border, or NO_PLACE */
    double *a, *b, *c;         /* a[n][wide + 1], a[i][j] = A(i, i - j); b[n][across]; c[m][m] */
    double *ga, *gc;           /* minus half the gradient */
    double *room;              /* [wide] of the kernel */
    const struct fit_kernel *kernel;
};

static struct normal normal_new(const struct fit_model *model, struct arena *arena) {
    const size_t most = lean_at(model, model->toners);
    struct normal q = {.n = BANDS * 2 * model->toners, .wide = 4 * model->toners};
    q.place = arena_need(arena, most, sizeof *q.place);
    for (size_t i = 0; i < most; i++) q.place[i] = moves(model, i) ? q.m++ : NO_PLACE;
    q.across = (q.m + FIT_LANES - 1) / FIT_LANES * FIT_LANES;
    q.a = arena_need(arena, q.n * (q.wide + 1), sizeof *q.a);
    q.b = arena_need(arena, q.n * q.across, sizeof *q.b);
    q.c = arena_need(arena, q.m * q.m, sizeof *q.c);
    q.ga = arena_need(arena, q.n, sizeof *q.ga);
    q.gc = arena_need(arena, q.m, sizeof *q.gc);
    q.room = arena_need(arena, q.wide, sizeof *q.room);
    q.kernel = fit_kernel_choose();
    return q;
}

static void clear(struct normal *q) {
    memset(q->a, 0, q->n * (q->wide + 1) * sizeof *q->a);
    memset(q->b, 0, q->n * q->across * sizeof *q->b);
    memset(q->c, 0, q->m * q->m * sizeof *q->c);
    memset(q->ga, 0, q->n * sizeof *q->ga);
    memset(q->gc, 0, q->m * sizeof *q->gc);
}

/* Into one of the same model. */
static void normal_copy(const struct normal *from, struct normal *to) {
    memcpy(to->a, from->a, from->n * (from->wide + 1) * sizeof *to->a);
    memcpy(to->b, from->b, from->n * from->across * sizeof *to->b);
    memcpy(to->c, from->c, from->m * from->m * sizeof *to->c);
    memcpy(to->ga, from->ga, from->n * sizeof *to->ga);
    memcpy(to->gc, from->gc, from->m * sizeof *to->gc);
}

static double *at_a(struct normal *q, size_t i, size_t j) { /* i >= j */
    return &q->a[i * (q->wide + 1) + (i - j)];
}

/* Curves are measured in their own rms, taken when a solve begins. */
static void curve_sizes(const struct fit_model *model, const struct fit_point *at, double size[]) {
    const size_t p = 2 * model->toners;
    for (size_t j = 0; j < p; j++) {
        double sum = 0;
        for (size_t b = 0; b < BANDS; b++) sum += at->ks[b * p + j] * at->ks[b * p + j];
        size[j] = sqrt(sum / BANDS) + 1e-5;
    }
}

static double bend_of(const double *ks, size_t p, size_t b) {
    return ks[(b - 1) * p] - 2 * ks[b * p] + ks[(b + 1) * p];
}

/* Stiffness of the pull towards nothing. */
static double level_of(const struct fit_model *model, size_t j, double size) {
    const bool clear = !model->relative_s && model->clear[j % model->toners];
    const double sd = clear ? fmin(clear_sd, size * level_sd) : size * level_sd;
    return 1 / (sd * sd);
}

static double cost_of(const struct fit_model *model, const struct fit_point *at, const double size[]) {
    const size_t p = 2 * model->toners;
    double sum = 0;
    for (size_t f = 0; f < model->films; f++) {
        const struct fit_film *film = &model->film[f];
        if (film->weight > 0) sum += band_share * film->weight * fit_misfit(model, at, f);
        if (film->film_sd > 0) sum += at->stretch[f] * at->stretch[f] / film->film_sd / film->film_sd;
        if (film->dose_sd > 0) sum += at->dose[f] * at->dose[f] / film->dose_sd / film->dose_sd;
    }
    for (size_t i = 0; i < model->toners; i++) sum += at->lean[i] * at->lean[i] / lean_sd / lean_sd;
    for (size_t j = 0; j < p; j++) {
        const double level = level_of(model, j, size[j]);
        for (size_t b = 0; b < BANDS; b++) sum += level * at->ks[b * p + j] * at->ks[b * p + j];
        for (size_t b = 1; b + 1 < BANDS; b++) sum += pow(bend_of(at->ks + j, p, b) / size[j] / bend_sd, 2);
    }
    for (int g = 0; g < FIT_GLOBALS; g++)
        if (model->free[g]) {
            const struct prior prior = prior_of(model, (size_t)g);
            sum += pow((at->global[g] - prior.mean) / prior.sd, 2);
        }
    return sum;
}

/* A border unknown that a reading depends on, and how. */
struct side {
    size_t place;
    double slope;
};

static void add_side(const struct normal *q, size_t at, double slope, struct side side[], size_t *n) {
    if (q->place[at] != NO_PLACE) side[(*n)++] = (struct side){q->place[at], slope};
}

static size_t sides_of(const struct normal *q, const struct fit_model *model, const struct fit_point *at,
                       size_t f, int band, const struct fit_slopes *slopes, struct side side[]) {
    const struct fit_film *film = &model->film[f];
    size_t n = 0;
    for (size_t g = 0; g < FIT_GLOBALS; g++) add_side(q, model->films + g, slopes->by_global[g], side, &n);
    add_side(q, f, slopes->by_stretch, side, &n);
    add_side(q, dose_at(model, f), slopes->by_dose, side, &n);
    if (!model->leans) return n;
    const double *scatter = at->ks + (size_t)band * 2 * model->toners + model->toners;
    const double all = fit_scatter(model, at, film, band);
    for (size_t i = 0; i < model->toners; i++)
        if (film->part[i] > 0)
            add_side(q, lean_at(model, i), slopes->by_lean * (film->part[i] * scatter[i] / all), side, &n);
    return n;
}

/* One reading of one film: residual / sd = off, its slopes by the unknowns that it touches. */
static void add_reading(struct normal *q, const struct fit_model *model, const struct fit_point *at, size_t f,
                        int band) {
    const struct fit_film *film = &model->film[f];
    const size_t t = model->toners, base = (size_t)band * 2 * t;
    struct fit_slopes slopes;
    const double is = film->from->reflectance.band[band], sd = fit_sd(model, is);
    const double weight = band_share * film->weight / (sd * sd);
    const double off = fit_predict(model, at, f, band, &slopes) - is;
    size_t where[2 * SHELF_MOST];
    double slope[2 * SHELF_MOST];
    struct side side[FIT_GLOBALS + 2 + SHELF_MOST];
    size_t n = 0;
    const struct fit_dosed dosed = fit_dosed(film, at->dose[f]);
    for (size_t i = 0; i < t && n + 2 <= 2 * SHELF_MOST; i++) {
        if (film->part[i] == 0) continue;
        where[n] = base + i, slope[n++] = slopes.by_k * fit_part(film, &dosed, i, NULL);
    }
    for (size_t i = 0; i < t && n < 2 * SHELF_MOST; i++) {
        if (film->part[i] == 0) continue;
        const double part = fit_part(film, &dosed, i, NULL);
        const double counted = fit_counted(at->global, model->crowds[i], part, NULL);
        where[n] = base + t + i, slope[n++] = slopes.by_s * counted;
    }
    const size_t sides = sides_of(q, model, at, f, band, &slopes, side);
    for (size_t i = 0; i < n; i++) {
        const double pull = weight * slope[i];
        q->ga[where[i]] -= pull * off;
        for (size_t j = 0; j <= i; j++) *at_a(q, where[i], where[j]) += pull * slope[j];
        for (size_t g = 0; g < sides; g++) q->b[where[i] * q->across + side[g].place] += pull * side[g].slope;
    }
    for (size_t g = 0; g < sides; g++) {
        double *row = q->c + side[g].place * q->m;
        q->gc[side[g].place] -= weight * side[g].slope * off;
        for (size_t h = 0; h < sides; h++) row[side[h].place] += weight * side[g].slope * side[h].slope;
    }
}

static void add_smoothness(struct normal *q, const struct fit_model *model, const struct fit_point *at,
                           const double size[]) {
    const size_t p = 2 * model->toners;
    for (size_t j = 0; j < p; j++) {
        const double level = level_of(model, j, size[j]), bend = 1 / pow(size[j] * bend_sd, 2);
        for (size_t b = 0; b < BANDS; b++) {
            const size_t i = b * p + j;
            *at_a(q, i, i) += level;
            q->ga[i] -= level * at->ks[i];
            if (b == 0 || b + 1 == BANDS) continue;
            const double off = bend_of(at->ks + j, p, b), slope[3] = {1, -2, 1};
            for (size_t x = 0; x < 3; x++) {
                q->ga[i + x * p - p] -= bend * slope[x] * off;
                for (size_t y = 0; y <= x; y++)
                    *at_a(q, i + x * p - p, i + y * p - p) += bend * slope[x] * slope[y];
            }
        }
    }
}

static void add_prior(struct normal *q, size_t at, double off, double sd) {
    const size_t i = q->place[at];
    if (i == NO_PLACE) return;
    q->c[i * q->m + i] += 1 / (sd * sd);
    q->gc[i] -= off / (sd * sd);
}

static void add_priors(struct normal *q, const struct fit_model *model, const struct fit_point *at) {
    for (size_t f = 0; f < model->films; f++) {
        add_prior(q, f, at->stretch[f], model->film[f].film_sd);
        add_prior(q, dose_at(model, f), at->dose[f], model->film[f].dose_sd);
    }
    for (size_t i = 0; i < model->toners; i++) add_prior(q, lean_at(model, i), at->lean[i], lean_sd);
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        const struct prior prior = prior_of(model, g);
        add_prior(q, model->films + g, at->global[g] - prior.mean, prior.sd);
    }
}

static void build(struct normal *q, const struct fit_model *model, const struct fit_point *at,
                  const double size[]) {
    clear(q);
    for (size_t f = 0; f < model->films; f++)
        for (int b = 0; b < BANDS && model->film[f].weight > 0; b++) add_reading(q, model, at, f, b);
    add_smoothness(q, model, at, size);
    add_priors(q, model, at);
}

static void band_forward(const double *l, size_t n, size_t wide, double *x) {
    for (size_t i = 0; i < n; i++) {
        const double *row = l + i * (wide + 1);
        double sum = x[i];
        for (size_t j = i > wide ? i - wide : 0; j < i; j++) sum -= row[i - j] * x[j];
        x[i] = sum / row[0];
    }
}

static void band_backward(const double *l, size_t n, size_t wide, double *x) {
    for (size_t i = n; i-- > 0;) {
        const double *row = l + i * (wide + 1);
        x[i] /= row[0];
        for (size_t j = i > wide ? i - wide : 0; j < i; j++) x[j] -= row[i - j] * x[i];
    }
}

/* Solves the bordered system in place: q->ga and q->gc become the step. */
static bool solve(struct normal *q) {
    if (!q->kernel->cholesky(q->a, q->n, q->wide, q->room)) return false;
    band_forward(q->a, q->n, q->wide, q->ga);
    q->kernel->forward(q->a, q->n, q->wide, q->b, q->across);
    q->kernel->take(q->b, q->n, q->across, q->c, q->m);
    for (size_t k = 0; k < q->n; k++)
        for (size_t i = 0; i < q->m; i++) q->gc[i] -= q->b[k * q->across + i] * q->ga[k];
    if (!dense_cholesky(q->c, q->m)) return false;
    dense_cholesky_solve(q->c, q->m, q->gc);
    for (size_t k = 0; k < q->n; k++)
        for (size_t i = 0; i < q->m; i++) q->ga[k] -= q->b[k * q->across + i] * q->gc[i];
    band_backward(q->a, q->n, q->wide, q->ga);
    return true;
}

/* A value on the floor that wants to go below it is held there (and the S that others are relative to,
 * always): its row and column leave the system. */
static void hold(struct normal *q, const struct fit_model *model, const struct fit_point *at) {
    for (size_t i = 0; i < q->n; i++) {
        const bool anchored = model->relative_s && i % (2 * model->toners) == model->toners + model->anchor;
        if (!anchored && (at->ks[i] > FIT_FLOOR || q->ga[i] >= 0)) continue;
        q->ga[i] = 0;
        for (size_t j = i > q->wide ? i - q->wide : 0; j < i; j++) *at_a(q, i, j) = 0;
        for (size_t j = i + 1; j < q->n && j <= i + q->wide; j++) *at_a(q, j, i) = 0;
        memset(q->b + i * q->across, 0, q->across * sizeof *q->b);
    }
}

/* The same for the shared unknowns at their bounds. */
static void hold_globals(struct normal *q, const struct fit_model *model, const struct fit_point *at) {
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        const size_t i = q->place[model->films + g];
        if (i == NO_PLACE) continue;
        const struct prior prior = prior_of(model, g);
        const bool low = at->global[g] <= prior.low && q->gc[i] < 0,
                   high = at->global[g] >= prior.high && q->gc[i] > 0;
        if (!low && !high) continue;
        q->gc[i] = 0;
        for (size_t k = 0; k < q->n; k++) q->b[k * q->across + i] = 0;
        for (size_t j = 0; j < q->m; j++) q->c[i * q->m + j] = q->c[j * q->m + i] = i == j;
    }
}

static void damp(struct normal *q, double lambda, const double size[], size_t p) {
    for (size_t i = 0; i < q->n; i++) {
        double *d = at_a(q, i, i);
        *d += lambda * (*d + 1e-2 / (size[i % p] * size[i % p]));
    }
    for (size_t i = 0; i < q->m; i++) q->c[i * q->m + i] *= 1 + lambda;
}

static double held(double x, double low, double high) {
    return fmin(fmax(x, low), high);
}

static double moved(const struct normal *q, size_t at, double from, double low, double high) {
    const size_t i = q->place[at];
    return i == NO_PLACE ? from : held(from + q->gc[i], low, high);
}

static void step(const struct normal *q, const struct fit_model *model, const struct fit_point *from,
                 struct fit_point *to) {
    for (size_t i = 0; i < q->n; i++)
        to->ks[i] = held(from->ks[i] + q->ga[i], fmax(FIT_FLOOR, .1 * from->ks[i]), 10 * from->ks[i] + .01);
    for (size_t f = 0; f < model->films; f++) {
        to->stretch[f] = moved(q, f, from->stretch[f], -1.5, 1.5);
        to->dose[f] = moved(q, dose_at(model, f), from->dose[f], -1.5, 1.5);
    }
    for (size_t i = 0; i < model->toners; i++)
        to->lean[i] = moved(q, lean_at(model, i), from->lean[i], -.3, .3);
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        const struct prior prior = prior_of(model, g);
        to->global[g] = moved(q, model->films + g, from->global[g], prior.low, prior.high);
    }
}

double fit_solve(const struct fit_model *model, struct fit_point *at, int most) {
    struct arena *arena = arena_new();
    struct normal built = normal_new(model, arena), q = normal_new(model, arena);
    bool is_built = false; /* where the search stands; a shorter step from there needs no new slopes */
    struct fit_point next = fit_point_new(model, arena);
    double *size = arena_need(arena, 2 * model->toners, sizeof *size), lambda = .1;
    curve_sizes(model, at, size);
    double cost = cost_of(model, at, size);
    for (int i = 0; i < most && lambda < 1e8; i++) {
        if (!is_built) {
            build(&built, model, at, size);
            hold(&built, model, at);
            hold_globals(&built, model, at);
            is_built = true;
        }
        normal_copy(&built, &q);
        damp(&q, lambda, size, 2 * model->toners);
        double trial = HUGE_VAL;
        if (solve(&q)) {
            step(&q, model, at, &next);
            trial = cost_of(model, &next, size);
        }
        if (!(trial < cost)) {
            lambda *= 5;
            continue;
        }
        const double gain = (cost - trial) / (1 + cost);
        fit_point_copy(model, &next, at);
        is_built = false;
        lambda = fmax(lambda / 4, 1e-7);
        cost = trial;
        if (gain < 1e-5) break;
    }
    arena_free(arena);
    return cost;
}

/* Variance of the sum over the bands of value i of each band, in its own size, from the solved system. */
static double spread_of(const struct normal *q, const struct fit_point *at, size_t i, size_t p, double *y,
                        double *z) {
    double sum = 0, own = 0;
    for (size_t b = 0; b < BANDS; b++) sum += at->ks[b * p + i];
    memset(y, 0, q->n * sizeof *y);
    for (size_t b = 0; b < BANDS; b++) y[b * p + i] = 1 / sum;
    band_forward(q->a, q->n, q->wide, y);
    for (size_t k = 0; k < q->n; k++) own += y[k] * y[k];
    memset(z, 0, q->m * sizeof *z);
    for (size_t k = 0; k < q->n; k++)
        for (size_t j = 0; j < q->m; j++) z[j] += q->b[k * q->across + j] * y[k];
    dense_forward_solve(q->c, q->m, z);
    for (size_t j = 0; j < q->m; j++) own += z[j] * z[j];
    return own;
}

void fit_spread(const struct fit_model *model, const struct fit_point *at, double k_sd[], double s_sd[]) {
    struct arena *arena = arena_new();
    const size_t t = model->toners;
    struct normal q = normal_new(model, arena);
    double *size = arena_need(arena, 2 * t, sizeof *size), *y = arena_need(arena, q.n, sizeof *y);
    double *z = arena_need(arena, q.m, sizeof *z);
    curve_sizes(model, at, size);
    build(&q, model, at, size);
    hold_globals(&q, model, at);
    const bool solved = solve(&q);
    for (size_t i = 0; i < t; i++) {
        k_sd[i] = solved ? sqrt(spread_of(&q, at, i, 2 * t, y, z)) : (double)INFINITY;
        s_sd[i] = solved ? sqrt(spread_of(&q, at, t + i, 2 * t, y, z)) : (double)INFINITY;
    }
    arena_free(arena);
}
