/* MAP fit. Each toner i has
 *
 *     ln K = ln K0 + a + sum_j c_j cos(pi j (b + 1/2) / 31),  j = 1..4
 *     ln S = ln S0 + a + s + sum_j d_j cos(...),              j = 1..2
 *
 * a ~ N(0, strength_sd), s ~ N(0, scatter_sd), c_j, d_j ~ N(0, shape_sd share_j) with share_j falling as 1/j
 * so that the curve's sd over the bands is shape_sd. Each dab has a film, ln ~ N(ln 30 um, .5), or .1 around
 * what was written; the surface's k2 ~ N(.65, .05) and its return of outside light ~ N(.5, .25) in
 * photographs. The data's unit is a factor of two unsure, and the films are too: their product is what a film
 * shows, so both narrow together and recipes, which need ratios only, narrow most.
 *
 * What a camera that nothing on the sheet tells sees otherwise than the eye (prior_eye.h) is fitted with the
 * curves: the films' reflectances say by how much each strong colour is missed.
 *
 * A photographed film counts by its Lab and covariance (plus .4 dE of the model's own error), one read by an
 * instrument by its 31 bands in equal steps for the eye, with 3 % of model error over about six free shapes.
 *
 * Gauss-Newton with Levenberg's damping on central differences; the curvature at the end is the inverse of
 * the covariance. The next film is the one that lowers most the summed variance of what the shelf is used
 * for: each toner's opaque colour as it is, 1 in 10 and 1 in 4 in white (expected, linear). */
#include "paint/prior_fit.h"
#include "base/dense.h"
#include "colour/difference.h"
#include "paint/prior_eye.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { K_SHAPES = 4, S_SHAPES = 2, PER_TONER = 2 + K_SHAPES + S_SHAPES };
enum { SHARED_K2, SHARED_RETURN, SHARED_FORWARD, SHARED_CROWD, SHARED };
enum { RESIDUALS_MOST = BANDS, CHECKS = 3, STEPS_MOST = 60 };
static const double usual_film_um = 30, unwritten_sd = .5, written_sd = .1;
static const double k2_sd = .05, return_sd = .25, forward_sd = .15, crowd_sd = .4;
static const double own_lab_error = .4, own_band_error = .03, band_floor = .002, free_shapes = 6;
static const double tail = 4;
static const double next_lab_sd = 1.0; /* of a further photograph */

struct fit {
    const struct prior_task *task;
    size_t toners, dabs, shared, modes, eyes, n; /* shared: where those begin; modes, the eye after them */
    const int *dab;                              /* [films] 0..dabs-1, or -1 when opaque */
    double *prior_sd;                            /* [n] */
    double *x;     /* [n], in units of ln and of the shared unknowns, around the prior's mean */
    double *film0; /* [dabs] ln um */
    struct shelf shelf;
    struct spectrum *bare; /* [bares] as they are, with what the photograph was off by taken out */
    double *bend;          /* [bares][3][3]: exponents of that by the change of XYZ */
    struct prior_eye eye;
    struct prior_film *check; /* [toners * CHECKS] films that the shelf is used for */
    int white;
};

/* ---- unknowns ---- */

static double share(int j, int of) {
    double sum = 0;
    for (int i = 1; i <= of; i++) sum += 1.0 / (i * i);
    return sqrt(2 / sum) / j; /* cosines have a mean square of one half */
}

static double wave(int j, int band) {
    return cos(3.14159265358979323846 * j * (band + .5) / BANDS);
}

static void set_toner(struct fit *fit, size_t i) {
    const struct toner *from = &fit->task->shelf->toner[i];
    struct toner *to = &fit->shelf.toner[i];
    const double *x = fit->x + i * PER_TONER;
    for (int b = 0; b < BANDS; b++) {
        double k = x[0], s = x[0] + x[1];
        for (int j = 0; j < K_SHAPES; j++) k += x[2 + j] * wave(j + 1, b);
        for (int j = 0; j < S_SHAPES; j++) s += x[2 + K_SHAPES + j] * wave(j + 1, b);
        to->k[b] = from->k[b] * exp(k);
        to->s[b] = from->s[b] * exp(s);
    }
}

static void set_shared(struct fit *fit) {
    const struct shelf *from = fit->task->shelf;
    const double *x = fit->x + fit->shared;
    fit->shelf.surface.k2 = fmin(fmax(from->surface.k2 + x[SHARED_K2], 0), .9);
    fit->shelf.surface.sheen_return = fmin(fmax(from->surface.sheen_return + x[SHARED_RETURN], 0), 1);
    if (from->beam.on) fit->shelf.beam.forward = fmin(fmax(from->beam.forward + x[SHARED_FORWARD], 0), .7);
    for (size_t i = 0; i < fit->toners; i++)
        if (from->toner[i].crowd > 0) fit->shelf.toner[i].crowd = from->toner[i].crowd * exp(x[SHARED_CROWD]);
}

/* 3 x 3 by cofactors; the places' are never singular. */
static void invert(const double a[3][3], double out[3][3]) {
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) {
            const int r1 = (r + 1) % 3, r2 = (r + 2) % 3, c1 = (c + 1) % 3, c2 = (c + 2) % 3;
            out[c][r] = a[r1][c1] * a[r2][c2] - a[r1][c2] * a[r2][c1];
        }
    const double det = a[0][0] * out[0][0] + a[0][1] * out[1][0] + a[0][2] * out[2][0];
    for (int i = 0; i < 9; i++) out[i / 3][i % 3] /= det;
}

static double across(int band) { /* -1..1 over the bands */
    return (band - (BANDS - 1) / 2) / ((BANDS - 1) / 2.0);
}

/* A bare place is read with the photograph's common errors as every film is: its curve is then off by exp of
 * a parabola over the wavelength, to the first order. */
static void make_bends(struct fit *fit) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    for (size_t i = 0; i < fit->task->bares; i++) {
        double slope[3][3] = {{0}};
        for (int b = 0; b < BANDS; b++) {
            const double u = across(b), power[3] = {1, u, u * u}, r = fit->task->bare[i].reflectance.band[b];
            for (int p = 0; p < 3; p++) {
                slope[0][p] += w->x[b] * r * power[p];
                slope[1][p] += w->y[b] * r * power[p];
                slope[2][p] += w->z[b] * r * power[p];
            }
        }
        invert((const double(*)[3])slope, (double(*)[3])(fit->bend + 9 * i));
    }
}

static void set_bares(struct fit *fit) {
    const double *z = fit->x + fit->shared + SHARED;
    for (size_t i = 0; i < fit->task->bares; i++) {
        const struct prior_bare *bare = &fit->task->bare[i];
        const double *bend = fit->bend + 9 * i;
        double off[3] = {0}, c[3];
        for (size_t m = 0; m < fit->modes; m++)
            for (int k = 0; k < 3; k++) off[k] += bare->common[m][k] * z[m];
        for (int p = 0; p < 3; p++) {
            const double sum = bend[3 * p] * off[0] + bend[3 * p + 1] * off[1] + bend[3 * p + 2] * off[2];
            c[p] = -fmin(fmax(sum, -2), 2);
        }
        for (int b = 0; b < BANDS; b++) {
            const double u = across(b), by = fit->modes ? exp(c[0] + c[1] * u + c[2] * u * u) : 1;
            fit->bare[i].band[b] = fmin(bare->reflectance.band[b] * by, 1);
        }
    }
}

static void set_unknown(struct fit *fit, size_t i, double value) {
    fit->x[i] = value;
    if (i < fit->toners * PER_TONER) set_toner(fit, i / PER_TONER);
    if (i >= fit->shared && i < fit->shared + SHARED) set_shared(fit);
    if (i >= fit->shared + SHARED && i < fit->shared + SHARED + fit->modes) set_bares(fit);
}

static double film_um_of(const struct fit *fit, size_t f) {
    if (fit->dab[f] < 0) return (double)INFINITY;
    const size_t dab = (size_t)fit->dab[f];
    return exp(fit->film0[dab] + fit->x[fit->toners * PER_TONER + dab]);
}

static void set_priors(struct fit *fit, const double film_sd[]) {
    for (size_t i = 0; i < fit->toners; i++) {
        const struct toner_prior *prior = &fit->task->shelf->toner[i].prior;
        double *sd = fit->prior_sd + i * PER_TONER;
        const double least = 1e-4; /* known: hardly moves */
        sd[0] = fmax(prior->strength_sd, least), sd[1] = fmax(prior->scatter_sd, least);
        for (int j = 0; j < K_SHAPES; j++) sd[2 + j] = fmax(prior->shape_sd * share(j + 1, K_SHAPES), least);
        for (int j = 0; j < S_SHAPES; j++)
            sd[2 + K_SHAPES + j] = fmax(prior->shape_sd * share(j + 1, S_SHAPES), least);
    }
    for (size_t d = 0; d < fit->dabs; d++) fit->prior_sd[fit->toners * PER_TONER + d] = film_sd[d];
    const bool photo = fit->task->geometry != GEOMETRY_SCI;
    double *shared = fit->prior_sd + fit->shared;
    shared[SHARED_K2] = k2_sd;
    shared[SHARED_RETURN] = photo ? return_sd : 1e-4;
    shared[SHARED_FORWARD] = forward_sd, shared[SHARED_CROWD] = crowd_sd;
    for (size_t m = 0; m < fit->modes + fit->eyes; m++) shared[SHARED + m] = 1;
}

/* ---- what a film shows ---- */

static void predict(const struct fit *fit, const struct prior_film *film, double film_um,
                    struct spectrum *out) {
    double part[SHELF_MOST] = {0}, sum = 0;
    struct film_case seen = {.film_um = film_um, .geometry = fit->task->geometry, .sheen_gu = (double)NAN};
    for (size_t i = 0; i < fit->toners; i++) sum += film->mass_g[i];
    for (size_t i = 0; i < fit->toners; i++) part[i] = film->mass_g[i] / sum;
    if (film->over >= 0) seen.backing = fit->bare[film->over];
    predict_reflectance(&fit->shelf, part, &seen, out);
}

static struct lab lab_seen(const struct spectrum *r) {
    return lab_of_spectrum(r, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

/* Lower triangle of the covariance with the model's own error, as its Cholesky factor. */
static void whiten(const double cov[3][3], double extra, double v[3]) {
    double a[9];
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) a[3 * r + c] = cov[r][c] + (r == c ? extra * extra : 0);
    if (!dense_cholesky(a, 3)) { /* no covariance: its diagonal, roughly */
        for (int r = 0; r < 3; r++) v[r] /= sqrt(fmax(cov[r][r], 0) + 1);
        return;
    }
    dense_forward_solve(a, 3, v);
}

/* The same with what the photograph adds to all colours. */
static struct lab lab_photographed(const struct fit *fit, const struct prior_film *film,
                                   const struct spectrum *r) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    struct xyz xyz = xyz_of(r, w);
    const double *z = fit->x + fit->shared + SHARED;
    for (size_t m = 0; m < fit->modes; m++) {
        xyz.x += z[m] * film->common[m][0], xyz.y += z[m] * film->common[m][1];
        xyz.z += z[m] * film->common[m][2];
    }
    if (fit->eyes) prior_eye_add(&fit->eye, z + fit->modes, r, &xyz);
    return lab_of(xyz, w);
}

/* (seen - read) in units of its sd, of a film that looks so; returns how many. */
static int residuals_of(const struct fit *fit, size_t f, const struct spectrum *seen,
                        double out[RESIDUALS_MOST]) {
    const struct prior_film *film = &fit->task->film[f];
    if (film->has_spectrum) {
        for (int b = 0; b < BANDS; b++) {
            const double is = film->reflectance.band[b];
            out[b] = (seen->band[b] - is) / (own_band_error * is + band_floor) * sqrt(free_shapes / BANDS);
        }
        return BANDS;
    }
    const struct lab lab = lab_photographed(fit, film, seen);
    out[0] = lab.l - film->lab.l, out[1] = lab.a - film->lab.a, out[2] = lab.b - film->lab.b;
    whiten(film->cov, own_lab_error, out);
    return 3;
}

static int residuals(const struct fit *fit, size_t f, double out[RESIDUALS_MOST]) {
    struct spectrum seen;
    predict(fit, &fit->task->film[f], film_um_of(fit, f), &seen);
    return residuals_of(fit, f, &seen, out);
}

/* A photographed film is believed as far as it agrees (Student's t of four degrees): its cost is
 * 7 ln(1 + r^2 / 4), and each of its residuals weighs 7 / (4 + r^2). Returns the cost. */
static double believed(const struct prior_film *film, double r[], int m) {
    double square = 0;
    for (int k = 0; k < m; k++) square += r[k] * r[k];
    if (film->has_spectrum) return square;
    const double weight = sqrt((tail + 3) / (tail + square));
    for (int k = 0; k < m; k++) r[k] *= weight;
    return (tail + 3) * log(1 + square / tail);
}

static double cost_of(const struct fit *fit) {
    double sum = 0, r[RESIDUALS_MOST];
    for (size_t i = 0; i < fit->n; i++) sum += fit->x[i] * fit->x[i] / fit->prior_sd[i] / fit->prior_sd[i];
    for (size_t f = 0; f < fit->task->films; f++) {
        const int m = residuals(fit, f, r);
        sum += believed(&fit->task->film[f], r, m);
    }
    return sum;
}

/* ---- slopes ---- */

/* The unknowns that film f feels. */
static size_t felt_by(const struct fit *fit, const struct prior_film *film, int dab, size_t at[]) {
    size_t n = 0;
    for (size_t i = 0; i < fit->toners; i++)
        for (size_t k = 0; k < PER_TONER && film->mass_g[i] > 0; k++) at[n++] = i * PER_TONER + k;
    if (dab >= 0) at[n++] = fit->toners * PER_TONER + (size_t)dab;
    for (size_t k = 0; k < SHARED + fit->modes + fit->eyes; k++) at[n++] = fit->shared + k;
    return n;
}

typedef int seen_by(const struct fit *fit, size_t f, double out[RESIDUALS_MOST]);

/* Central differences: slope[k * felt + u]; those of the eye, the last ones, are left out. */
static int slopes_of(struct fit *fit, size_t f, seen_by *seen, const size_t at[], size_t felt,
                     double *slope) {
    static const double h = 1e-4;
    double up[RESIDUALS_MOST], down[RESIDUALS_MOST];
    int m = 0;
    for (size_t u = 0; u < felt - fit->eyes; u++) {
        const double x = fit->x[at[u]];
        set_unknown(fit, at[u], x + h);
        m = seen(fit, f, up);
        set_unknown(fit, at[u], x - h);
        seen(fit, f, down);
        set_unknown(fit, at[u], x);
        for (int k = 0; k < m; k++) slope[(size_t)k * felt + u] = (up[k] - down[k]) / (2 * h);
    }
    return m;
}

/* The camera's eye changes nothing of the film itself. */
static void slopes_of_eye(struct fit *fit, size_t f, const size_t at[], size_t felt, double *slope) {
    static const double h = 1e-4;
    double up[RESIDUALS_MOST], down[RESIDUALS_MOST];
    struct spectrum seen;
    predict(fit, &fit->task->film[f], film_um_of(fit, f), &seen);
    for (size_t u = felt - fit->eyes; u < felt; u++) {
        const double x = fit->x[at[u]];
        fit->x[at[u]] = x + h;
        const int m = residuals_of(fit, f, &seen, up);
        fit->x[at[u]] = x - h;
        residuals_of(fit, f, &seen, down);
        fit->x[at[u]] = x;
        for (int k = 0; k < m; k++) slope[(size_t)k * felt + u] = (up[k] - down[k]) / (2 * h);
    }
}

struct normal {
    double *a, *g; /* [n n], [n] */
    double *slope; /* room for one film */
    size_t *at;
};

static void build(struct fit *fit, struct normal *q) {
    const size_t n = fit->n;
    double r[RESIDUALS_MOST];
    memset(q->a, 0, n * n * sizeof *q->a);
    for (size_t i = 0; i < n; i++) {
        const double stiff = 1 / (fit->prior_sd[i] * fit->prior_sd[i]);
        q->a[i * n + i] = stiff, q->g[i] = -stiff * fit->x[i];
    }
    for (size_t f = 0; f < fit->task->films; f++) {
        const size_t felt = felt_by(fit, &fit->task->film[f], fit->dab[f], q->at);
        const int m = slopes_of(fit, f, residuals, q->at, felt, q->slope);
        slopes_of_eye(fit, f, q->at, felt, q->slope);
        residuals(fit, f, r);
        double weighed[RESIDUALS_MOST];
        memcpy(weighed, r, sizeof weighed);
        believed(&fit->task->film[f], weighed, m);
        double square = 0, weighed_square = 0;
        for (int k = 0; k < m; k++) square += r[k] * r[k], weighed_square += weighed[k] * weighed[k];
        const double weight = square > 0 ? weighed_square / square : 1;
        for (int k = 0; k < m; k++) {
            const double *s = q->slope + (size_t)k * felt;
            for (size_t u = 0; u < felt; u++) {
                q->g[q->at[u]] -= weight * s[u] * r[k];
                for (size_t v = 0; v < felt; v++) q->a[q->at[u] * n + q->at[v]] += weight * s[u] * s[v];
            }
        }
    }
}

static void move(struct fit *fit, const double x[], const double step[]) {
    for (size_t i = 0; i < fit->n; i++) fit->x[i] = x[i] + (step ? fmin(fmax(step[i], -1), 1) : 0);
    for (size_t i = 0; i < fit->toners; i++) set_toner(fit, i);
    set_shared(fit);
    set_bares(fit);
}

/* Leaves the Cholesky factor of the curvature in q->a. */
static bool solve(struct fit *fit, struct normal *q, struct arena *arena) {
    const size_t n = fit->n;
    double *a = arena_need(arena, n * n, sizeof *a), *g = arena_need(arena, n, sizeof *g);
    double *x = arena_need(arena, n, sizeof *x), lambda = 1e-3, cost = cost_of(fit);
    for (int step = 0; step < STEPS_MOST && lambda < 1e8; step++) {
        build(fit, q);
        memcpy(x, fit->x, n * sizeof *x);
        bool better = false;
        double gain = 0;
        while (!better && lambda < 1e8) {
            memcpy(a, q->a, n * n * sizeof *a);
            memcpy(g, q->g, n * sizeof *g);
            for (size_t i = 0; i < n; i++) a[i * n + i] *= 1 + lambda;
            if (dense_cholesky(a, n)) {
                dense_cholesky_solve(a, n, g);
                move(fit, x, g);
                const double trial = cost_of(fit);
                better = trial < cost;
                if (better) gain = (cost - trial) / (1 + cost), cost = trial;
            }
            lambda = better ? fmax(lambda / 5, 1e-9) : lambda * 6;
        }
        if (!better) move(fit, x, NULL);
        if (gain < 1e-7) break;
    }
    build(fit, q);
    return dense_cholesky(q->a, n);
}

/* ---- how sure, and what next ---- */

static int check_seen(const struct fit *fit, size_t c, double out[RESIDUALS_MOST]) {
    struct spectrum seen;
    predict(fit, &fit->check[c], fit->check[c].film_um, &seen);
    const struct lab lab = lab_seen(&seen);
    out[0] = lab.l, out[1] = lab.a, out[2] = lab.b;
    return 3;
}

static void make_check(struct fit *fit, size_t i, double part, double film_um, int over, struct arena *arena,
                       struct prior_film *out) {
    double *mass = arena_need(arena, fit->toners, sizeof *mass);
    mass[i] = part;
    if (fit->white >= 0) mass[fit->white] += 1 - part;
    *out = (struct prior_film){.mass_g = mass, .over = over, .film_um = film_um};
}

/* Whitened slopes L^-1 J' of one check: out[3][n], so that a covariance of two is a plain product. */
static void check_slopes(struct fit *fit, const struct normal *q, size_t c, double *out) {
    const size_t felt = felt_by(fit, &fit->check[c], -1, q->at);
    slopes_of(fit, c, check_seen, q->at, felt, q->slope);
    memset(out, 0, 3 * fit->n * sizeof *out);
    for (size_t k = 0; k < 3; k++) {
        for (size_t u = 0; u < felt - fit->eyes; u++) out[k * fit->n + q->at[u]] = q->slope[k * felt + u];
        dense_forward_solve(q->a, fit->n, out + k * fit->n);
    }
}

static double dot(const double *a, const double *b, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

static double variance_of(const double *slopes, size_t n) {
    double sum = 0;
    for (size_t k = 0; k < 3; k++) sum += dot(slopes + k * n, slopes + k * n, n);
    return sum;
}

static bool is_asked(const struct fit *fit, size_t i) {
    return fit->shelf.toner[i].role != ROLE_BINDER && fit->task->shelf->toner[i].prior.on;
}

static const double check_part[CHECKS] = {1, .1, .25};

static double *all_checks(struct fit *fit, const struct normal *q, struct arena *arena) {
    double *slopes = arena_need(arena, fit->toners * CHECKS * 3 * fit->n, sizeof *slopes);
    fit->check = arena_need(arena, fit->toners * CHECKS + 1, sizeof *fit->check);
    for (size_t i = 0; i < fit->toners; i++)
        for (size_t c = 0; c < CHECKS; c++) {
            const size_t at = i * CHECKS + c;
            make_check(fit, i, fit->white >= 0 ? check_part[c] : 1, (double)INFINITY, PRIOR_BARE, arena,
                       &fit->check[at]);
            if (is_asked(fit, i)) check_slopes(fit, q, at, slopes + at * 3 * fit->n);
        }
    return slopes;
}

/* What reading one more film (slopes y, noise sd) takes from the variance of all checks:
 * sum |C y'(y y' + R)^-1/2|^2. */
static double gain_of(const struct fit *fit, const double *slopes, const double *y) {
    const size_t n = fit->n;
    double m[9], gain = 0;
    for (size_t r = 0; r < 3; r++)
        for (size_t c = 0; c < 3; c++)
            m[3 * r + c] = dot(y + r * n, y + c * n, n) + (r == c ? next_lab_sd * next_lab_sd : 0);
    if (!dense_cholesky(m, 3)) return 0;
    for (size_t c = 0; c < fit->toners * CHECKS * 3; c++) {
        double v[3];
        for (size_t r = 0; r < 3; r++) v[r] = dot(slopes + c * n, y + r * n, n);
        dense_forward_solve(m, 3, v);
        gain += dot(v, v, 3);
    }
    return gain;
}

static void keep_next(struct prior_result *out, struct prior_next next) {
    for (int i = 0; i < out->nexts; i++)
        if (out->next[i].toner == next.toner) {
            if (next.gain > out->next[i].gain + 1e-12) out->next[i] = next;
            return;
        }
    if (out->nexts < PRIOR_NEXT)
        out->next[out->nexts++] = next;
    else if (next.gain > out->next[PRIOR_NEXT - 1].gain + 1e-12)
        out->next[PRIOR_NEXT - 1] = next;
}

static int by_gain(const void *a, const void *b) {
    const struct prior_next *x = a, *y = b;
    return x->gain > y->gain ? -1 : x->gain < y->gain ? 1 : x->toner - y->toner;
}

static int darkest(const struct prior_task *task, bool dark) {
    int best = PRIOR_BARE;
    for (size_t i = 0; i < task->bares; i++) {
        const double l = task->bare[i].reflectance.band[BANDS / 2];
        if (best < 0 || (l < task->bare[best].reflectance.band[BANDS / 2]) == dark) best = (int)i;
    }
    return best;
}

/* Candidates: as it is, 1 in 4, 1 in 10, 1 in 30 in white; over black and over white at the usual film. */
static void find_next(struct fit *fit, const struct normal *q, const double *slopes, double whole,
                      struct arena *arena, struct prior_result *out) {
    static const double part[4] = {1, .25, .1, .03};
    double *y = arena_need(arena, 3 * fit->n, sizeof *y);
    const size_t spare = fit->toners * CHECKS;
    for (size_t i = 0; i < fit->toners; i++)
        for (int c = 0; c < 8 && is_asked(fit, i); c++) {
            const bool black = c >= 4;
            if (part[c % 4] < 1 && (fit->white < 0 || (int)i == fit->white)) continue;
            make_check(fit, i, part[c % 4], usual_film_um, darkest(fit->task, black), arena,
                       &fit->check[spare]);
            check_slopes(fit, q, spare, y);
            const double gain = gain_of(fit, slopes, y) / whole;
            keep_next(out, (struct prior_next){(int)i, part[c % 4], black, gain});
            qsort(out->next, (size_t)out->nexts, sizeof out->next[0], by_gain);
        }
}

/* sd of unknown i now. */
static double sd_of(const struct fit *fit, const struct normal *q, size_t i, double *room) {
    memset(room, 0, fit->n * sizeof *room);
    room[i] = 1;
    dense_forward_solve(q->a, fit->n, room);
    return sqrt(dot(room, room, fit->n));
}

static void tell_toner(struct fit *fit, const struct normal *q, size_t i, const double *slopes, double *room,
                       struct prior_toner *out) {
    double shape = 0;
    const size_t at = i * PER_TONER, n = fit->n;
    out->strength_sd = sd_of(fit, q, at, room);
    out->scatter_sd = sd_of(fit, q, at + 1, room);
    for (size_t j = 0; j < K_SHAPES; j++) shape += pow(sd_of(fit, q, at + 2 + j, room), 2) / 2;
    out->shape_sd = sqrt(shape);
    out->full_de = sqrt(variance_of(slopes + i * CHECKS * 3 * n, n));
    out->tint_de = sqrt(variance_of(slopes + (i * CHECKS + 1) * 3 * n, n));
    for (size_t f = 0; f < fit->task->films; f++) out->films += fit->task->film[f].mass_g[i] > 0;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void tell_rows(const struct fit *fit, struct arena *arena, struct prior_result *out) {
    const size_t films = fit->task->films;
    double *de00 = arena_need(arena, films, sizeof *de00);
    out->row = arena_need(arena, films, sizeof *out->row);
    for (size_t f = 0; f < films; f++) {
        const struct prior_film *film = &fit->task->film[f];
        struct spectrum seen;
        predict(fit, film, film_um_of(fit, f), &seen);
        const struct lab lab = film->has_spectrum ? lab_seen(&film->reflectance) : film->lab;
        de00[f] =
            difference_de00(lab, film->has_spectrum ? lab_seen(&seen) : lab_photographed(fit, film, &seen));
        out->row[f] = (struct prior_row){de00[f], film_um_of(fit, f), lab_seen(&seen),
                                         lab_of_spectrum(&seen, &out->camera)};
    }
    qsort(de00, films, sizeof *de00, by_size);
    out->de00_median = de00[films / 2], out->de00_max = de00[films - 1];
}

static void tell(struct fit *fit, const struct normal *q, struct arena *arena, struct prior_result *out) {
    double *room = arena_need(arena, fit->n, sizeof *room), whole = 0;
    const double *slopes = all_checks(fit, q, arena);
    out->toner = arena_need(arena, fit->toners, sizeof *out->toner);
    for (size_t i = 0; i < fit->toners; i++) tell_toner(fit, q, i, slopes, room, &out->toner[i]);
    for (size_t c = 0; c < fit->toners * CHECKS; c++) whole += variance_of(slopes + c * 3 * fit->n, fit->n);
    if (whole > 0) find_next(fit, q, slopes, whole, arena, out);
    out->camera = *weights_of((struct view){LIGHT_D65, OBSERVER_10});
    if (fit->eyes) prior_eye_weights(&fit->eye, fit->x + fit->shared + SHARED + fit->modes, &out->camera);
    tell_rows(fit, arena, out);
}

/* ---- the whole ---- */

/* Dabs that have a film, numbered in order of their first film; film_sd and film0 of each. */
static double *number_dabs(struct fit *fit, struct arena *arena) {
    const struct prior_task *task = fit->task;
    int *dab = arena_need(arena, task->films + 1, sizeof *dab),
        *name = arena_need(arena, task->films + 1, sizeof *name);
    double *sd = arena_need(arena, task->films + 1, sizeof *sd);
    fit->film0 = arena_need(arena, task->films + 1, sizeof *fit->film0);
    for (size_t f = 0; f < task->films; f++) {
        const struct prior_film *film = &task->film[f];
        dab[f] = -1;
        if (film->over < 0) continue;
        size_t d = 0;
        while (d < fit->dabs && name[d] != film->dab) d++;
        dab[f] = (int)d;
        if (d < fit->dabs) continue;
        const bool written = !isnan(film->film_um);
        name[d] = film->dab;
        fit->film0[d] = log(written ? film->film_um : usual_film_um);
        sd[d] = written ? written_sd : unwritten_sd;
        fit->dabs++;
    }
    fit->dab = dab;
    return sd;
}

static void set_up(struct fit *fit, struct arena *arena) {
    const double *film_sd = number_dabs(fit, arena);
    fit->shared = fit->toners * PER_TONER + fit->dabs;
    fit->modes = (size_t)fit->task->modes;
    fit->eyes = fit->task->eye ? EYE_UNKNOWNS : 0;
    fit->n = fit->shared + SHARED + fit->modes + fit->eyes;
    fit->x = arena_need(arena, fit->n, sizeof *fit->x);
    fit->prior_sd = arena_need(arena, fit->n, sizeof *fit->prior_sd);
    fit->shelf = *fit->task->shelf;
    fit->shelf.toner = arena_need(arena, fit->toners, sizeof *fit->shelf.toner);
    memcpy(fit->shelf.toner, fit->task->shelf->toner, fit->toners * sizeof *fit->shelf.toner);
    fit->white = -1;
    for (size_t i = fit->toners; i-- > 0;)
        if (fit->shelf.toner[i].role == ROLE_WHITE) fit->white = (int)i;
    fit->bare = arena_need(arena, fit->task->bares + 1, sizeof *fit->bare);
    fit->bend = arena_need(arena, 9 * (fit->task->bares + 1), sizeof *fit->bend);
    prior_eye_make(&fit->eye);
    make_bends(fit);
    set_priors(fit, film_sd);
    set_bares(fit);
}

enum status prior_fit(const struct prior_task *task, struct arena *arena, struct shelf *shelf,
                      struct prior_result *out, struct fault *fault) {
    struct fit fit = {.task = task, .toners = task->shelf->count};
    if (task->films == 0) return FAULT0(fault, FIT_NO_FILM);
    if (task->films > PRIOR_FILMS_MOST)
        return FAULT(fault, FIT_TOO_MANY, COUNT_TEXT(task->films), COUNT_TEXT(PRIOR_FILMS_MOST));
    set_up(&fit, arena);
    const size_t felt_most = fit.toners * PER_TONER + 1 + SHARED + fit.modes + fit.eyes;
    struct normal q = {arena_need(arena, fit.n * fit.n, sizeof *q.a), arena_need(arena, fit.n, sizeof *q.g),
                       arena_need(arena, RESIDUALS_MOST * felt_most, sizeof *q.slope),
                       arena_need(arena, felt_most, sizeof *q.at)};
    *out = (struct prior_result){0};
    const bool solved = solve(&fit, &q, arena);
    assert(solved && "every unknown has a prior");
    if (!solved) return FAULT0(fault, FIT_NO_FILM);
    tell(&fit, &q, arena, out);
    for (size_t i = 0; i < fit.toners; i++) {
        struct toner_prior *prior = &fit.shelf.toner[i].prior;
        if (!prior->on) continue;
        prior->strength_sd = out->toner[i].strength_sd, prior->scatter_sd = out->toner[i].scatter_sd;
        prior->shape_sd = out->toner[i].shape_sd;
        fit.shelf.toner[i].strength_sd = fmin(out->toner[i].strength_sd, 1);
    }
    *shelf = fit.shelf;
    return STATUS_OK;
}

/* Newton on the three coefficients of ln R = c0 + c1 u + c2 u^2, u = -1..1. */
void prior_bare_of_lab(struct lab lab, struct spectrum *out) {
    const struct weights *w = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    const struct xyz want = xyz_of_lab(lab, w);
    double c[3] = {log(fmin(fmax(want.y / 100, .003), 1)), 0, 0};
    for (int step = 0; step < 40; step++) {
        double f[3] = {-want.x, -want.y, -want.z}, j[3][3] = {{0}};
        for (int b = 0; b < BANDS; b++) {
            const double u = (b - 15) / 15.0, power[3] = {1, u, u * u};
            const double r = exp(fmin(c[0] + c[1] * u + c[2] * u * u, .1)),
                         by[3] = {w->x[b], w->y[b], w->z[b]};
            out->band[b] = r;
            for (int k = 0; k < 3; k++) {
                f[k] += by[k] * r;
                for (int p = 0; p < 3; p++) j[k][p] += by[k] * r * power[p];
            }
        }
        /* Cramer, damped */
        const double d = j[0][0] * (j[1][1] * j[2][2] - j[1][2] * j[2][1]) -
                         j[0][1] * (j[1][0] * j[2][2] - j[1][2] * j[2][0]) +
                         j[0][2] * (j[1][0] * j[2][1] - j[1][1] * j[2][0]);
        if (!(fabs(d) > 1e-9)) return;
        double move[3];
        for (int p = 0; p < 3; p++) {
            double m[3][3];
            memcpy(m, j, sizeof m);
            for (int k = 0; k < 3; k++) m[k][p] = -f[k];
            move[p] = (m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
                       m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                       m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])) /
                      d;
        }
        for (int p = 0; p < 3; p++) c[p] += fmin(fmax(move[p], -.5), .5);
    }
}
