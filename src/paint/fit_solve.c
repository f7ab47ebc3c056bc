/* The solver of the fit. Unknowns are ordered band by band (K and S of each toner); smoothness couples a band
 * with the next two, so their normal matrix A is a band of half width 4 x toners. Thickness and shared
 * unknowns touch every band: a border B with its own corner C.
 *
 *     | A  B | |x|   |a|      L L' = A,  Y = L^-1 B,  (C - Y'Y) z = c - Y' L^-1 a,  x = L'^-1 (L^-1 a - Y z)
 *     | B' C | |z| = |c|
 */
#include "base/dense.h"
#include "paint/fit_model.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
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

static struct prior prior_of(const struct fit_model *model, size_t g) {
    static const struct prior usual[FIT_SHEEN] = {
        {.04, .004, .005, .08}, {.6, .1, .05, .9},   {0, .1, 0, .9}, {.5, 1, 0, 20},
        {.4, .3, 0, .75},       {.0015, .01, 0, .1}, {.2, .3, 0, 1}, {0, .05, -.2, .2}};
    if (g >= FIT_SHEEN) return (struct prior){model->sheen_mean[g - FIT_SHEEN], .5, .001, .999};
    struct prior prior = usual[g];
    if (g == FIT_K1) prior.high = fmin(prior.high, model->k1_most);
    if (g == FIT_HAZE && model->sheens)
        prior.sd = .001; /* on a dark film it looks like more of the surface */
    return prior;
}

struct normal {
    size_t n, wide, m; /* K and S, half width, border */
    double *a, *b, *c; /* a[n][wide + 1], a[i][j] = A(i, i - j); b[m][n]; c[m][m] */
    double *ga, *gc;   /* minus half the gradient */
};

static struct normal normal_new(const struct fit_model *model, struct arena *arena) {
    struct normal q = {.n = BANDS * 2 * model->toners,
                       .wide = 4 * model->toners,
                       .m = 2 * model->films + FIT_GLOBALS + model->toners};
    q.a = arena_need(arena, q.n * (q.wide + 1), sizeof *q.a);
    q.b = arena_need(arena, q.n * q.m, sizeof *q.b);
    q.c = arena_need(arena, q.m * q.m, sizeof *q.c);
    q.ga = arena_need(arena, q.n, sizeof *q.ga);
    q.gc = arena_need(arena, q.m, sizeof *q.gc);
    return q;
}

static void clear(struct normal *q) {
    memset(q->a, 0, q->n * (q->wide + 1) * sizeof *q->a);
    memset(q->b, 0, q->n * q->m * sizeof *q->b);
    memset(q->c, 0, q->m * q->m * sizeof *q->c);
    memset(q->ga, 0, q->n * sizeof *q->ga);
    memset(q->gc, 0, q->m * sizeof *q->gc);
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

/* Place in the border: thickness of each film, shared unknowns, dose of each film, lean of each toner. */
static size_t dose_at(const struct fit_model *model, size_t film) {
    return model->films + FIT_GLOBALS + film;
}

static size_t lean_at(const struct fit_model *model, size_t toner) {
    return 2 * model->films + FIT_GLOBALS + toner;
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
    double slope[2 * SHELF_MOST], side[FIT_GLOBALS + 2 + SHELF_MOST];
    size_t n = 0, sides = FIT_GLOBALS + 2;
    for (size_t i = 0; i < t && n + 2 <= 2 * SHELF_MOST; i++) {
        if (film->part[i] == 0) continue;
        where[n] = base + i, slope[n++] = slopes.by_k * fit_part(film, at->dose[f], i, NULL);
    }
    for (size_t i = 0; i < t && n < 2 * SHELF_MOST; i++) {
        if (film->part[i] == 0) continue;
        const double part = fit_part(film, at->dose[f], i, NULL);
        const double counted = fit_counted(at->global, model->crowds[i], part, NULL);
        where[n] = base + t + i, slope[n++] = slopes.by_s * counted;
    }
    size_t border[FIT_GLOBALS + 2 + SHELF_MOST];
    for (int g = 0; g < FIT_GLOBALS; g++) border[g] = model->films + (size_t)g, side[g] = slopes.by_global[g];
    border[FIT_GLOBALS] = f, side[FIT_GLOBALS] = film->film_sd > 0 ? slopes.by_stretch : 0;
    border[FIT_GLOBALS + 1] = dose_at(model, f),
                         side[FIT_GLOBALS + 1] = film->dose_sd > 0 ? slopes.by_dose : 0;
    const double *scatter = at->ks + base + t, all = model->leans ? fit_scatter(model, at, film, band) : 1;
    for (size_t i = 0; i < t && model->leans; i++) {
        if (film->part[i] == 0) continue;
        border[sides] = lean_at(model, i);
        side[sides++] = slopes.by_lean * (film->part[i] * scatter[i] / all);
    }
    for (size_t i = 0; i < n; i++) {
        q->ga[where[i]] -= weight * slope[i] * off;
        for (size_t j = 0; j <= i; j++) *at_a(q, where[i], where[j]) += weight * slope[i] * slope[j];
        for (size_t g = 0; g < sides; g++) q->b[border[g] * q->n + where[i]] += weight * slope[i] * side[g];
    }
    for (size_t g = 0; g < sides; g++) {
        q->gc[border[g]] -= weight * side[g] * off;
        for (size_t h = 0; h < sides; h++) q->c[border[g] * q->m + border[h]] += weight * side[g] * side[h];
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

static void add_priors(struct normal *q, const struct fit_model *model, const struct fit_point *at) {
    for (size_t f = 0; f < model->films; f++) {
        const double sd = model->film[f].film_sd, stiff = sd > 0 ? 1 / (sd * sd) : 1;
        q->c[f * q->m + f] += stiff;
        q->gc[f] -= stiff * at->stretch[f];
        const double dose_sd = model->film[f].dose_sd, dose_stiff = dose_sd > 0 ? 1 / (dose_sd * dose_sd) : 1;
        q->c[dose_at(model, f) * q->m + dose_at(model, f)] += dose_stiff;
        q->gc[dose_at(model, f)] -= dose_stiff * at->dose[f];
    }
    for (size_t i = 0; i < model->toners; i++) {
        q->c[lean_at(model, i) * (q->m + 1)] += 1 / (lean_sd * lean_sd);
        q->gc[lean_at(model, i)] -= at->lean[i] / (lean_sd * lean_sd);
    }
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        const size_t i = model->films + g;
        const struct prior prior = prior_of(model, g);
        const double stiff = 1 / (prior.sd * prior.sd);
        q->c[i * q->m + i] += stiff;
        if (model->free[g]) q->gc[i] -= stiff * (at->global[g] - prior.mean);
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

static bool band_cholesky(double *a, size_t n, size_t wide) {
    for (size_t i = 0; i < n; i++) {
        double *row = a + i * (wide + 1);
        const size_t first = i > wide ? i - wide : 0;
        for (size_t j = first; j <= i; j++) {
            const double *other = a + j * (wide + 1);
            const size_t from = j > wide && j - wide > first ? j - wide : first;
            double sum = row[i - j];
            for (size_t k = from; k < j; k++) sum -= row[i - k] * other[j - k];
            if (j < i)
                row[i - j] = sum / other[0];
            else if (!(sum > 0))
                return false;
            else
                row[0] = sqrt(sum);
        }
    }
    return true;
}

static void band_forward(const double *l, size_t n, size_t wide, double *x) {
    for (size_t i = 0; i < n; i++) {
        const double *row = l + i * (wide + 1);
        double sum = x[i];
        for (size_t j = i > wide ? i - wide : 0; j < i; j++) sum -= row[i - j] * x[j];
        x[i] = sum / row[0];
    }
}

/* Four right hand sides at a time: their sums do not wait for each other. */
static void band_forward_four(const double *l, size_t n, size_t wide, double *x) {
    double *x0 = x, *x1 = x + n, *x2 = x + 2 * n, *x3 = x + 3 * n;
    for (size_t i = 0; i < n; i++) {
        const double *row = l + i * (wide + 1);
        double s0 = x0[i], s1 = x1[i], s2 = x2[i], s3 = x3[i];
        for (size_t j = i > wide ? i - wide : 0; j < i; j++) {
            const double f = row[i - j];
            s0 -= f * x0[j], s1 -= f * x1[j], s2 -= f * x2[j], s3 -= f * x3[j];
        }
        x0[i] = s0 / row[0], x1[i] = s1 / row[0], x2[i] = s2 / row[0], x3[i] = s3 / row[0];
    }
}

static void band_backward(const double *l, size_t n, size_t wide, double *x) {
    for (size_t i = n; i-- > 0;) {
        const double *row = l + i * (wide + 1);
        x[i] /= row[0];
        for (size_t j = i > wide ? i - wide : 0; j < i; j++) x[j] -= row[i - j] * x[i];
    }
}

static double dot_of(const double *y, const double *z, size_t n) {
    double sum = 0;
    for (size_t k = 0; k < n; k++) sum += y[k] * z[k];
    return sum;
}

/* C - Y'Y and c - Y'L^-1 a, four columns at a time. */
static void take_border(struct normal *q) {
    const size_t n = q->n;
    for (size_t i = 0; i < q->m; i++) {
        const double *y = q->b + i * n;
        double *row = q->c + i * q->m;
        q->gc[i] -= dot_of(y, q->ga, n);
        size_t j = 0;
        for (; j + 4 <= i + 1; j += 4) {
            const double *z0 = q->b + j * n, *z1 = z0 + n, *z2 = z1 + n, *z3 = z2 + n;
            double s0 = 0, s1 = 0, s2 = 0, s3 = 0;
            for (size_t k = 0; k < n; k++)
                s0 += y[k] * z0[k], s1 += y[k] * z1[k], s2 += y[k] * z2[k], s3 += y[k] * z3[k];
            row[j] -= s0, row[j + 1] -= s1, row[j + 2] -= s2, row[j + 3] -= s3;
        }
        for (; j <= i; j++) row[j] -= dot_of(y, q->b + j * n, n);
    }
}

/* Solves the bordered system in place: q->ga and q->gc become the step. */
static bool solve(struct normal *q) {
    if (!band_cholesky(q->a, q->n, q->wide)) return false;
    band_forward(q->a, q->n, q->wide, q->ga);
    size_t done = 0;
    for (; done + 4 <= q->m; done += 4) band_forward_four(q->a, q->n, q->wide, q->b + done * q->n);
    for (; done < q->m; done++) band_forward(q->a, q->n, q->wide, q->b + done * q->n);
    take_border(q);
    if (!dense_cholesky(q->c, q->m)) return false;
    dense_cholesky_solve(q->c, q->m, q->gc);
    for (size_t i = 0; i < q->m; i++)
        for (size_t k = 0; k < q->n; k++) q->ga[k] -= q->b[i * q->n + k] * q->gc[i];
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
        for (size_t j = 0; j < q->m; j++) q->b[j * q->n + i] = 0;
    }
}

/* The same for the shared unknowns at their bounds. */
static void hold_globals(struct normal *q, const struct fit_model *model, const struct fit_point *at) {
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        const size_t i = model->films + g;
        const struct prior prior = prior_of(model, g);
        const bool low = at->global[g] <= prior.low && q->gc[i] < 0,
                   high = at->global[g] >= prior.high && q->gc[i] > 0;
        if (model->free[g] && !low && !high) continue;
        q->gc[i] = 0;
        memset(q->b + i * q->n, 0, q->n * sizeof *q->b);
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

static void step(const struct normal *q, const struct fit_model *model, const struct fit_point *from,
                 struct fit_point *to) {
    for (size_t i = 0; i < q->n; i++)
        to->ks[i] = held(from->ks[i] + q->ga[i], fmax(FIT_FLOOR, .1 * from->ks[i]), 10 * from->ks[i] + .01);
    for (size_t f = 0; f < model->films; f++) {
        to->stretch[f] = held(from->stretch[f] + q->gc[f], -1.5, 1.5);
        to->dose[f] = held(from->dose[f] + q->gc[dose_at(model, f)], -1.5, 1.5);
    }
    for (size_t i = 0; i < model->toners; i++)
        to->lean[i] = held(from->lean[i] + q->gc[lean_at(model, i)], -.3, .3);
    for (size_t g = 0; g < FIT_GLOBALS; g++) {
        to->global[g] = from->global[g];
        if (!model->free[g]) continue;
        const struct prior prior = prior_of(model, g);
        to->global[g] = held(from->global[g] + q->gc[model->films + g], prior.low, prior.high);
    }
}

double fit_solve(const struct fit_model *model, struct fit_point *at, int most) {
    struct arena *arena = arena_new();
    struct normal q = normal_new(model, arena);
    struct fit_point next = fit_point_new(model, arena);
    double *size = arena_need(arena, 2 * model->toners, sizeof *size), lambda = .1;
    curve_sizes(model, at, size);
    double cost = cost_of(model, at, size);
    for (int i = 0; i < most && lambda < 1e8; i++) {
        build(&q, model, at, size);
        hold(&q, model, at);
        hold_globals(&q, model, at);
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
    for (size_t j = 0; j < q->m; j++) {
        z[j] = 0;
        for (size_t k = 0; k < q->n; k++) z[j] += q->b[j * q->n + k] * y[k];
    }
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
