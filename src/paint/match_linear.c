/* Every subset's linear optimum. The measured reflectance is made linear in K and S at a film (k0, s0) per
 * band, R = R0 + R_K (sum c K - k0) + R_S (sum c S - s0) (Allen 1966, Cogno 1988 for the opaque film, where
 * it comes to sum c (K - q S) weighted by how colour answers), with rows for dE00 under each light (the
 * metric at the target) and for the 31 bands. With the binder put in as 1 - sum c, what is left is min |rest
 * + A y|^2,   y >= 0,   sum_low <= sum y <= sum_high. For one subset, signs free: G p = pull, G q = 1 by one
 * LDL'; when sum p leaves its limits, y = p + q (s - P) / Q. All y > 0: that is the subset's optimum (Karush,
 * Kuhn, Tucker). Otherwise the problem is convex, so the optimum lies on a face y_i = 0: it belongs to a
 * smaller subset and nothing is lost by leaving this one out. Prefixes of subsets share their rows of L. */
#include "colour/difference.h"
#include "paint/match_model.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- rows ---- */

struct rows {
    size_t count;
    double by_band[3 * MATCH_LIGHTS_MOST + BANDS][BANDS]; /* row = base + by_band (R - R0) */
    double base[3 * MATCH_LIGHTS_MOST + BANDS];
};

/* Lab's slopes by reflectance. */
static void lab_slopes(const struct spectrum *seen, const struct weights *w, double out[3][BANDS]) {
    const struct xyz xyz = xyz_of(seen, w);
    const double r[3] = {xyz.x / w->white.x, xyz.y / w->white.y, xyz.z / w->white.z};
    double d[3];
    for (int i = 0; i < 3; i++) d[i] = r[i] > 216.0 / 24389 ? 1 / (3 * cbrt(r[i] * r[i])) : 24389.0 / 3132;
    for (int b = 0; b < BANDS; b++) {
        const double x = d[0] * w->x[b] / w->white.x, y = d[1] * w->y[b] / w->white.y,
                     z = d[2] * w->z[b] / w->white.z;
        out[0][b] = 116 * y;
        out[1][b] = 500 * (x - y);
        out[2][b] = 200 * (y - z);
    }
}

/* The first term of a light is its colour as read; the other points of an uncertain target lie evenly around
 * it. */
static void light_rows(const struct objective *o, size_t light, const struct spectrum *seen,
                       struct rows *rows) {
    const struct lab wanted = o->term[light * (o->terms / o->lights)].lab;
    double weight = 0, by_lab[3][BANDS];
    for (size_t t = 0; t < o->terms; t++) weight += o->term[t].light == light ? o->term[t].weight : 0;
    const struct de00_metric metric = difference_metric(wanted);
    const struct lab lab = lab_of_spectrum(seen, o->light[light]);
    const double off[3] = {lab.l - wanted.l, lab.a - wanted.a, lab.b - wanted.b};
    lab_slopes(seen, o->light[light], by_lab);
    for (int i = 0; i < 3; i++) {
        double *row = rows->by_band[rows->count];
        rows->base[rows->count] = 0;
        for (int b = 0; b < BANDS; b++) row[b] = 0;
        for (int j = 0; j < 3; j++) {
            rows->base[rows->count] += weight * metric.f[i][j] * off[j];
            for (int b = 0; b < BANDS; b++) row[b] += weight * metric.f[i][j] * by_lab[j][b];
        }
        rows->count++;
    }
}

static void spectral_rows(const struct match_model *m, const struct spectrum *seen, struct rows *rows) {
    for (int b = 0; b < BANDS && m->objective.spectral; b++) {
        double *row = rows->by_band[rows->count];
        for (int i = 0; i < BANDS; i++) row[i] = i == b ? m->rms_weight : 0;
        rows->base[rows->count++] = m->rms_weight * (seen->band[b] - m->objective.target[b]);
    }
}

struct film_line {
    struct spectrum seen;
    double by_k[BANDS], by_s[BANDS], still[BANDS]; /* R = seen + by_k K + by_s S - still */
};

static void film_line(const struct match_model *m, const double k0[], const double s0[],
                      struct film_line *out) {
    const struct objective *o = &m->objective;
    for (int b = 0; b < BANDS; b++) {
        const struct film_terms terms = predict_terms(k0[b], s0[b]);
        double by_film, outward;
        const double inner = film_lit_slopes(&o->shelf->beam, terms.k, terms.s, m->film_um, o->backing[b],
                                             &out->by_k[b], &out->by_s[b], &by_film);
        out->seen.band[b] = surface_measured(inner, &o->surface, o->film.geometry, &outward);
        out->by_k[b] *= outward;
        out->by_s[b] *= outward;
        out->still[b] = out->by_k[b] * terms.k + out->by_s[b] * terms.s;
    }
}

/* ---- Gram matrix ---- */

static void column_rows(const struct rows *rows, const struct film_line *line,
                        const struct match_column *column, double out[]) {
    double shift[BANDS];
    for (int b = 0; b < BANDS; b++) shift[b] = line->by_k[b] * column->k[b] + line->by_s[b] * column->s[b];
    for (size_t r = 0; r < rows->count; r++) {
        out[r] = 0;
        for (int b = 0; b < BANDS; b++) out[r] += rows->by_band[r][b] * shift[b];
    }
}

static void start_rest(const struct rows *rows, const struct film_line *line, double rest[]) {
    for (size_t r = 0; r < rows->count; r++) {
        rest[r] = rows->base[r];
        for (int b = 0; b < BANDS; b++) rest[r] -= rows->by_band[r][b] * line->still[b];
    }
}

static void set_sums(const struct match_model *m, struct match_linear *out) {
    out->sum_low = m->has_binder ? 1 - m->column[m->count].high : 1;
    out->sum_high = m->has_binder ? 1 - m->column[m->count].low : 1;
    for (size_t i = 0; i < m->count; i++) {
        out->least[i] = i < m->needed ? m->column[i].low : 0;
        out->sum_low -= out->least[i];
        out->sum_high -= out->least[i];
    }
    out->sum_low = fmax(out->sum_low, 0);
    out->sum_high = fmax(out->sum_high, 0);
}

enum { ROWS_MOST = 3 * MATCH_LIGHTS_MOST + BANDS };

static double dot(const double a[], const double b[], size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

void match_linearise(const struct match_model *m, const double k0[BANDS], const double s0[BANDS],
                     struct match_linear *out) {
    struct rows *rows = memory_need(1, sizeof *rows);
    double(*column)[ROWS_MOST] = memory_need(m->count + 1, sizeof *column), rest[ROWS_MOST];
    struct film_line line;
    film_line(m, k0, s0, &line);
    for (size_t l = 0; l < m->objective.lights; l++) light_rows(&m->objective, l, &line.seen, rows);
    spectral_rows(m, &line.seen, rows);
    start_rest(rows, &line, rest);
    out->n = m->count;
    out->needed = m->needed;
    set_sums(m, out);
    for (size_t i = 0; i < m->count + m->has_binder; i++) column_rows(rows, &line, &m->column[i], column[i]);
    for (size_t r = 0; r < rows->count && m->has_binder; r++) {
        rest[r] += column[m->count][r];
        for (size_t i = 0; i < m->count; i++) column[i][r] -= column[m->count][r];
    }
    for (size_t i = 0; i < m->count; i++)
        for (size_t r = 0; r < rows->count; r++) rest[r] += out->least[i] * column[i][r];
    out->rest = dot(rest, rest, rows->count);
    for (size_t i = 0; i < m->count; i++) {
        out->pull[i] = -dot(column[i], rest, rows->count);
        for (size_t j = 0; j <= i; j++)
            out->gram[i][j] = out->gram[j][i] = dot(column[i], column[j], rows->count);
    }
    memory_free(rows);
    memory_free(column);
}

/* ---- the target's level set ---- */

/* K that gives an inner reflectance over this backing: R falls with K, bisection on its logarithm. */
static double k_of(const struct beam *beam, double inner, double s, double film_um, double backing) {
    if (isinf(film_um) && !beam->on) return s * film_ratio_of_opaque(fmax(inner, 1e-6));
    double low = log(1e-9), high = log(1e3);
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        if (film_lit(beam, exp(middle), s, film_um, backing) > inner)
            low = middle;
        else
            high = middle;
    }
    return exp(0.5 * (low + high));
}

void match_level_set(const struct match_model *m, const double s0[BANDS], double k0[BANDS]) {
    const struct objective *o = &m->objective;
    for (int b = 0; b < BANDS; b++) {
        const double inner = surface_inner(m->smooth[b], &o->surface, o->film.geometry);
        k0[b] = k_of(&o->shelf->beam, fmin(fmax(inner, 1e-5), 1 - 1e-5), fmax(s0[b], 1e-9), m->film_um,
                     o->backing[b]);
    }
}

/* ---- all subsets ---- */

struct ladder { /* one subset's LDL', row by row */
    double l[MATCH_TONERS_MOST][MATCH_TONERS_MOST], over[MATCH_TONERS_MOST]; /* over: 1 / D */
    double p[MATCH_TONERS_MOST], q[MATCH_TONERS_MOST];                       /* L p = pull, L q = 1 */
    double sum_p[MATCH_TONERS_MOST + 1], sum_q[MATCH_TONERS_MOST + 1], gain[MATCH_TONERS_MOST + 1];
};

/* Adds column j behind the first k; false when it is (nearly) a mix of them. */
static bool ladder_add(const struct match_linear *x, const signed char column[], size_t k, size_t j,
                       struct ladder *w) {
    const double *row = x->gram[j];
    double *l = w->l[k], d = row[j], p = x->pull[j], q = 1;
    for (size_t m = 0; m < k; m++) {
        double u = row[column[m]];
        for (size_t r = 0; r < m; r++) u -= l[r] * w->l[m][r];
        l[m] = u; /* L D for now */
    }
    for (size_t m = 0; m < k; m++) {
        const double u = l[m];
        l[m] = u * w->over[m];
        d -= u * l[m];
        p -= l[m] * w->p[m];
        q -= l[m] * w->q[m];
    }
    if (!(d > 1e-11 * row[j])) return false;
    w->over[k] = 1 / d;
    w->p[k] = p;
    w->q[k] = q;
    w->sum_p[k + 1] = w->sum_p[k] + p * q * w->over[k];
    w->sum_q[k + 1] = w->sum_q[k] + q * q * w->over[k];
    w->gain[k + 1] = w->gain[k] + p * p * w->over[k];
    return true;
}

/* The subset of the first k rows: its optimum's value and the multiplier of the sum. */
static double ladder_value(const struct match_linear *x, const struct ladder *w, size_t k,
                           double *multiplier) {
    const double sum = w->sum_p[k];
    const double wanted = sum < x->sum_low ? x->sum_low : sum > x->sum_high ? x->sum_high : sum;
    *multiplier = (wanted - sum) / w->sum_q[k];
    return x->rest - w->gain[k] + (wanted - sum) * *multiplier;
}

/* Back substitution; stops at the first that is not positive when only_proper. */
static bool ladder_solve(const struct ladder *w, size_t k, double multiplier, bool only_proper, double y[]) {
    for (size_t i = k; i-- > 0;) {
        y[i] = (w->p[i] + multiplier * w->q[i]) * w->over[i];
        for (size_t r = i + 1; r < k; r++) y[i] -= w->l[r][i] * y[r];
        if (only_proper && !(y[i] > 0)) return false;
    }
    return true;
}

bool match_linear_solve(const struct match_linear *x, const signed char column[], size_t count, double y[],
                        double *value) {
    struct ladder w;
    double multiplier;
    w.sum_p[0] = w.sum_q[0] = w.gain[0] = 0;
    for (size_t k = 0; k < count; k++)
        if (!ladder_add(x, column, k, (size_t)column[k], &w)) return false;
    *value = ladder_value(x, &w, count, &multiplier);
    return ladder_solve(&w, count, multiplier, false, y);
}

struct harvest {
    struct match_proper *proper;
    size_t count, room;
};

struct walk {
    const struct match_linear *linear;
    size_t most;
    struct harvest *harvest; /* one per first column */
};

/* What is left of every later column once the first k of the subset are taken out: D, L p = pull, L q = 1,
 * and its entry of L D. Subsets with the same first columns share it, so the last column costs next to
 * nothing. */
struct remains {
    double d[SHELF_MOST], p[SHELF_MOST], q[SHELF_MOST], u[SHELF_MOST];
};

struct walker {
    const struct match_linear *linear;
    size_t most_free;
    signed char column[MATCH_TONERS_MOST];
    struct ladder ladder;
    struct remains remains[MATCH_TONERS_MOST]; /* [k]: with k columns taken out; u: of column k - 1 */
    struct harvest *harvest;
};

/* The recipe of a support: with the needed columns that rest at their least. */
static void keep(struct walker *w, size_t k, double value) {
    struct harvest *h = w->harvest;
    if (h->count == h->room) {
        h->room = h->room ? 2 * h->room : 64;
        h->proper = memory_grow(h->proper, h->room, sizeof *h->proper);
    }
    struct match_proper *out = &h->proper[h->count++];
    memset(out, 0, sizeof *out);
    out->value = (float)fmax(value, 0);
    for (size_t i = 0; i < w->linear->needed; i++) out->column[out->count++] = (signed char)i;
    for (size_t i = 0; i < k; i++)
        if ((size_t)w->column[i] >= w->linear->needed) out->column[out->count++] = w->column[i];
}

/* Row k of the ladder is what is left of column j, but for L itself (ladder_fill); the same bits as
 * ladder_add. */
static bool ladder_take(struct walker *w, size_t k, size_t j) {
    const struct remains *left = &w->remains[k];
    struct ladder *to = &w->ladder;
    const double d = left->d[j], p = left->p[j], q = left->q[j];
    if (!(d > 1e-11 * w->linear->gram[j][j])) return false;
    to->over[k] = 1 / d;
    to->p[k] = p;
    to->q[k] = q;
    to->sum_p[k + 1] = to->sum_p[k] + p * q * to->over[k];
    to->sum_q[k + 1] = to->sum_q[k] + q * q * to->over[k];
    to->gain[k + 1] = to->gain[k] + p * p * to->over[k];
    return true;
}

static void ladder_fill(struct walker *w, size_t k, size_t j) {
    for (size_t m = 0; m < k; m++) w->ladder.l[k][m] = w->remains[m + 1].u[j] * w->ladder.over[m];
}

/* Whether the column that is solved first, the last one, is positive: y has the sign of d (p Q + (s - P) q)
 * with P and Q of the columns before, so nothing need be divided. Within a rounding of 0 it may say either.
 */
static bool last_is_positive(const struct walker *w, size_t k, size_t j) {
    const struct remains *left = &w->remains[k];
    const struct match_linear *x = w->linear;
    const double d = left->d[j], p = left->p[j], q = left->q[j], sum = w->ladder.sum_p[k] * d + p * q;
    if (sum < x->sum_low * d) return p * w->ladder.sum_q[k] + (x->sum_low - w->ladder.sum_p[k]) * q > 0;
    if (sum > x->sum_high * d) return p * w->ladder.sum_q[k] + (x->sum_high - w->ladder.sum_p[k]) * q > 0;
    return p > 0;
}

/* Takes the ladder's row k, column j, out of all later columns. */
static inline void take_out_of(struct walker *w, const size_t k, size_t j) {
    const struct remains *from = &w->remains[k];
    const struct ladder *ladder = &w->ladder;
    struct remains *to = &w->remains[k + 1];
    const double over = ladder->over[k], p = ladder->p[k], q = ladder->q[k];
    const size_t n = w->linear->n;
    for (size_t i = j + 1; i < n; i++) {
        double u = w->linear->gram[j][i];
        for (size_t r = 0; r < k; r++) u -= w->remains[r + 1].u[i] * ladder->l[k][r];
        const double l = u * over;
        to->u[i] = u;
        to->d[i] = from->d[i] - u * l;
        to->p[i] = from->p[i] - l * p;
        to->q[i] = from->q[i] - l * q;
    }
}

/* The loop over the columns before is unrolled. */
static void take_out(struct walker *w, size_t k, size_t j) {
    switch (k) {
    case 0:
        take_out_of(w, 0, j);
        break;
    case 1:
        take_out_of(w, 1, j);
        break;
    case 2:
        take_out_of(w, 2, j);
        break;
    default:
        take_out_of(w, 3, j);
        break;
    }
}

static void walk_on(struct walker *w, size_t k, size_t free, size_t j) {
    const size_t needed = w->linear->needed;
    const size_t now_free = free + (j >= needed);
    double multiplier, y[MATCH_TONERS_MOST];
    const bool last = k + 1 == MATCH_TONERS_MOST || (now_free == w->most_free && j + 1 >= needed);
    if (now_free > w->most_free) return;
    const bool hopeful = last_is_positive(w, k, j);
    if ((last && !hopeful) || !ladder_take(w, k, j)) return;
    w->column[k] = (signed char)j;
    ladder_fill(w, k, j);
    if (hopeful) {
        const double value = ladder_value(w->linear, &w->ladder, k + 1, &multiplier);
        if (ladder_solve(&w->ladder, k + 1, multiplier, true, y)) keep(w, k + 1, value);
    }
    if (last) return;
    take_out(w, k, j);
    for (size_t next = j + 1; next < w->linear->n; next++) walk_on(w, k + 1, now_free, next);
}

static void walk_chunk(void *context, size_t chunk) {
    const struct walk *walk = context;
    struct walker w = {.linear = walk->linear,
                       .most_free = walk->most - walk->linear->needed,
                       .harvest = &walk->harvest[chunk]};
    for (size_t i = 0; i < walk->linear->n; i++) {
        w.remains[0].d[i] = walk->linear->gram[i][i];
        w.remains[0].p[i] = walk->linear->pull[i];
        w.remains[0].q[i] = 1;
    }
    walk_on(&w, 0, 0, chunk);
}

static int by_columns(const void *a, const void *b) {
    const struct match_proper *x = a, *y = b;
    if (x->count != y->count) return x->count < y->count ? -1 : 1;
    const int order = memcmp(x->column, y->column, sizeof x->column);
    if (order) return order;
    return (x->value > y->value) - (x->value < y->value);
}

static int by_value(const void *a, const void *b) {
    const struct match_proper *x = a, *y = b;
    if (x->value != y->value) return x->value < y->value ? -1 : 1;
    return by_columns(a, b);
}

/* With needed toners several supports are one recipe. */
static size_t drop_repeats(struct match_proper *p, size_t n) {
    size_t kept = 0;
    qsort(p, n, sizeof *p, by_columns);
    for (size_t i = 0; i < n; i++)
        if (kept == 0 || p[i].count != p[kept - 1].count ||
            memcmp(p[i].column, p[kept - 1].column, sizeof p[i].column) != 0)
            p[kept++] = p[i];
    return kept;
}

static size_t count_subsets(size_t n, size_t most) {
    double sum = 0, choose = 1;
    for (size_t k = 0; k <= most && k <= n; k++) {
        sum += choose;
        choose = choose * (double)(n - k) / (double)(k + 1);
    }
    return (size_t)(sum + .5);
}

size_t match_enumerate(const struct match_linear *linear, size_t most, struct work *work,
                       struct match_proper **out, size_t *count) {
    struct harvest *harvest = memory_need(linear->n, sizeof *harvest);
    struct walk walk = {linear, most, harvest};
    size_t total = 0;
    work_run(work, linear->n, walk_chunk, &walk);
    for (size_t i = 0; i < linear->n; i++) total += harvest[i].count;
    *out = memory_grow(*out, total, sizeof **out);
    *count = 0;
    for (size_t i = 0; i < linear->n; i++) {
        if (harvest[i].count) memcpy(*out + *count, harvest[i].proper, harvest[i].count * sizeof **out);
        *count += harvest[i].count;
        memory_free(harvest[i].proper);
    }
    memory_free(harvest);
    if (linear->needed) *count = drop_repeats(*out, *count);
    qsort(*out, *count, sizeof **out, by_value);
    return count_subsets(linear->n - linear->needed, most - linear->needed) - (linear->needed ? 0 : 1);
}
