#include "surface/loss.h"
#include "base/wide.h"
#include "colour/difference.h"
#include "surface/blob.h"
#include "surface/camera_fit.h"
#include "surface/loss_edge.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double smooth_mm = .1, least_de = 2.5, speck_mm2 = .5, thin_mm = 3, trail_least = 2.5,
                    rim_share = .15, edge_mm = .3;
enum { ROWS = 32, RADIUS_MOST = 24, PARTS = 4 };

struct losing {
    const struct loss_task *task;
    int width, height;
    size_t cells;
    float *other; /* scratch */
    float *de, *dl;
    int radius;
    float kernel[RADIUS_MOST + 1];
    const float *from;
    float *to;
    bool down;
    double to_xyz[3][3];
    const struct weights *weights;
    struct lab sound;
    double threshold;
    bool wide;
    uint8_t *mask;
};

static void rows_run(struct losing *job, work_task *task) {
    work_run(job->task->work, ((size_t)job->height + ROWS - 1) / ROWS, task, job);
}

/* ---- smoothing ---- */

/* to[i] += weight * (a[i] + b[i]); four at a time, which compilers turn into vectors. */
INLINE void add_pair(float *restrict to, const float *a, const float *b, float weight, int n) {
    enum { LANES = 4 };
    int i = 0;
    for (; i + LANES <= n; i += LANES)
        for (int k = 0; k < LANES; k++) to[i + k] += weight * (a[i + k] + b[i + k]);
    for (; i < n; i++) to[i] += weight * (a[i] + b[i]);
}

/* A row with its border going on; then sums of pairs that weigh the same. */
static void smooth_across(const struct losing *job, int y, float *padded) {
    const float *row = job->from + (size_t)y * (size_t)job->width;
    float *to = job->to + (size_t)y * (size_t)job->width;
    for (int x = -job->radius; x < job->width + job->radius; x++)
        padded[x + job->radius] = row[x < 0 ? 0 : x >= job->width ? job->width - 1 : x];
    const float *at = padded + job->radius;
    for (int x = 0; x < job->width; x++) to[x] = job->kernel[0] * at[x];
    for (int i = 1; i <= job->radius; i++) add_pair(to, at + i, at - i, job->kernel[i], job->width);
}

static void smooth_down(const struct losing *job, int y) {
    const size_t w = (size_t)job->width;
    float *to = job->to + (size_t)y * w;
    for (int x = 0; x < job->width; x++) to[x] = job->kernel[0] * job->from[(size_t)y * w + (size_t)x];
    for (int i = 1; i <= job->radius; i++) {
        const int over = y - i < 0 ? 0 : y - i, under = y + i >= job->height ? job->height - 1 : y + i;
        add_pair(to, job->from + (size_t)over * w, job->from + (size_t)under * w, job->kernel[i], job->width);
    }
}

static void smooth_rows(void *context, size_t chunk) {
    const struct losing *job = context;
    float *padded = memory_need((size_t)(job->width + 2 * job->radius), sizeof *padded);
    for (int y = (int)chunk * ROWS; y < job->height && y < ((int)chunk + 1) * ROWS; y++)
        if (job->down)
            smooth_down(job, y);
        else
            smooth_across(job, y, padded);
    memory_free(padded);
}

static void smooth(struct losing *job) {
    const double sigma = smooth_mm / job->task->grid->cell_mm;
    job->radius = (int)fmin(RADIUS_MOST, ceil(2.5 * sigma));
    double total = 0;
    for (int i = -job->radius; i <= job->radius; i++) total += exp(-i * i / (2 * sigma * sigma));
    for (int i = 0; i <= job->radius; i++)
        job->kernel[i] = (float)(exp(-i * i / (2 * sigma * sigma)) / total);
    for (int c = 0; c < 3; c++) {
        job->from = job->task->rgb[c], job->to = job->other, job->down = false;
        rows_run(job, smooth_rows);
        job->from = job->other, job->to = job->task->rgb[c], job->down = true;
        rows_run(job, smooth_rows);
    }
}

/* ---- colour ---- */

static struct lab lab_at(const struct losing *job, size_t i) {
    double v[3];
    for (int k = 0; k < 3; k++) {
        v[k] = 0;
        for (int c = 0; c < 3; c++) v[k] += job->to_xyz[k][c] * fmax(0, (double)job->task->rgb[c][i]);
    }
    return lab_of((struct xyz){fmax(0, v[0]), fmax(0, v[1]), fmax(0, v[2])}, job->weights);
}

static int double_order(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double quantile_of(double *v, size_t n, double q) {
    if (!n) return 0;
    qsort(v, n, sizeof *v, double_order);
    return v[(size_t)floor(q * (double)(n - 1))];
}

static const uint8_t *reference(const struct losing *job) {
    return job->task->sound ? job->task->sound : job->task->inside;
}

/* Median Lab of the reference, each axis by itself. */
static struct lab median_lab(const struct losing *job) {
    const uint8_t *where = reference(job);
    size_t all = 0, n = 0, seen = 0;
    for (size_t i = 0; i < job->cells; i++) all += where[i] != 0;
    const size_t step = all / 40000 + 1;
    double *v[3];
    for (int k = 0; k < 3; k++) v[k] = memory_need(all / step + 2, sizeof **v);
    for (size_t i = 0; i < job->cells; i++)
        if (where[i] && seen++ % step == 0) {
            const struct lab lab = lab_at(job, i);
            v[0][n] = lab.l, v[1][n] = lab.a, v[2][n++] = lab.b;
        }
    struct lab out = {.view = job->weights->view};
    out.l = quantile_of(v[0], n, .5), out.a = quantile_of(v[1], n, .5), out.b = quantile_of(v[2], n, .5);
    for (int k = 0; k < 3; k++) memory_free(v[k]);
    return out;
}

static void differ_rows(void *context, size_t chunk) {
    const struct losing *job = context;
    const size_t from = chunk * ROWS * (size_t)job->width;
    for (size_t i = from; i < job->cells && i < from + ROWS * (size_t)job->width; i++) {
        if (!job->mask[i]) continue;
        const struct lab lab = lab_at(job, i);
        job->de[i] = (float)difference_de00(job->sound, lab);
        job->dl[i] = (float)(lab.l - job->sound.l);
    }
}

/* ---- which cells differ ---- */

/* Most cells are sound, and that can be told without CIEDE2000: its three weights are at least 1, a' is at
 * most 1.5 a, dC'^2 + dH'^2 = da'^2 + db^2, and |RT| <= sqrt 3, so dE00^2 <= dL^2 + (1 + sqrt(3) / 2) (2.25
 * da^2 + db^2). The bound is reckoned eight cells at a time with roots good to a thousandth of a unit of Lab,
 * and held against the threshold less slack; only what is over it is reckoned in full. */
enum { EIGHT = 8 };
static const double slack_de = .02;

struct quick {
    float to[3][3]; /* X/Xn, Y/Yn, Z/Zn of linear light */
    float l, a, b, most;
};

static struct quick quick_of(const struct losing *job, double threshold) {
    const struct xyz *white = &job->weights->white;
    const double over[3] = {1 / white->x, 1 / white->y, 1 / white->z};
    struct quick quick = {.l = (float)job->sound.l, .a = (float)job->sound.a, .b = (float)job->sound.b};
    for (int k = 0; k < 9; k++) quick.to[k / 3][k % 3] = (float)(job->to_xyz[k / 3][k % 3] * over[k / 3]);
    quick.most = (float)((threshold - slack_de) * (threshold - slack_de));
    return quick;
}

/* Newton from a third of the exponent; the straight part below (24/116)^3. */
INLINE void lab_roots(const float t[EIGHT], float f[EIGHT]) {
    for (int k = 0; k < EIGHT; k++) {
        const float x = t[k] > 1e-3F ? t[k] : 1e-3F;
        int32_t bits;
        memcpy(&bits, &x, sizeof bits);
        bits = (int32_t)((float)bits * (1 / 3.F)) + 0x2a5137a0;
        float y;
        memcpy(&y, &bits, sizeof y);
        y = (2 * y + x / (y * y)) * (1 / 3.F);
        y = (2 * y + x / (y * y)) * (1 / 3.F);
        y = (2 * y + x / (y * y)) * (1 / 3.F);
        f[k] = t[k] > .00885645F ? y : 7.787037F * t[k] + .13793103F;
    }
}

/* 1 where the bound does not say that the cell is sound. */
INLINE void doubt_eight(const struct quick *q, const float *const rgb[3], uint8_t doubt[EIGHT]) {
    float t[3][EIGHT], f[3][EIGHT];
    for (int j = 0; j < 3; j++) {
        for (int k = 0; k < EIGHT; k++) {
            const float r = rgb[0][k] > 0 ? rgb[0][k] : 0, g = rgb[1][k] > 0 ? rgb[1][k] : 0,
                        b = rgb[2][k] > 0 ? rgb[2][k] : 0,
                        sum = q->to[j][0] * r + q->to[j][1] * g + q->to[j][2] * b;
            t[j][k] = sum > 0 ? sum : 0;
        }
        lab_roots(t[j], f[j]);
    }
    for (int k = 0; k < EIGHT; k++) {
        const float dl = 116 * f[1][k] - 16 - q->l, da = 500 * (f[0][k] - f[1][k]) - q->a,
                    db = 200 * (f[1][k] - f[2][k]) - q->b;
        doubt[k] = !(dl * dl + 1.8661F * (2.25F * da * da + db * db) < q->most);
    }
}

static void doubt_plain(const struct quick *q, const float *const rgb[3], uint8_t doubt[EIGHT]) {
    doubt_eight(q, rgb, doubt);
}

WIDE static void doubt_wide(const struct quick *q, const float *const rgb[3], uint8_t doubt[EIGHT]) {
    doubt_eight(q, rgb, doubt);
}

/* mask: 1 where dE is over the threshold. */
static void mark_rows(void *context, size_t chunk) {
    const struct losing *job = context;
    const struct quick quick = quick_of(job, job->threshold);
    const size_t from = chunk * ROWS * (size_t)job->width, rows = from + ROWS * (size_t)job->width,
                 end = rows < job->cells ? rows : job->cells;
    for (size_t i = from; i < end; i += EIGHT) {
        float part[3][EIGHT] = {{0}};
        const float *rgb[3];
        uint8_t doubt[EIGHT];
        const size_t n = end - i < EIGHT ? end - i : EIGHT;
        for (int c = 0; c < 3; c++) {
            rgb[c] = job->task->rgb[c] + i;
            if (n < EIGHT) rgb[c] = memcpy(part[c], rgb[c], n * sizeof(float));
        }
        (job->wide ? doubt_wide : doubt_plain)(&quick, rgb, doubt);
        for (size_t k = 0; k < n; k++)
            job->mask[i + k] =
                doubt[k] && job->task->inside[i + k] &&
                (double)(float)difference_de00(job->sound, lab_at(job, i + k)) > job->threshold;
    }
}

/* dE of the cells of a mask, sorted, every so-many-th. */
static double *sorted_de(const struct losing *job, const uint8_t *where, size_t *n) {
    size_t all = 0, seen = 0;
    for (size_t i = 0; i < job->cells; i++) all += where[i] != 0;
    const size_t step = all / 60000 + 1;
    double *v = memory_need(all / step + 2, sizeof *v);
    *n = 0;
    for (size_t i = 0; i < job->cells; i++)
        if (where[i] && seen++ % step == 0)
            v[(*n)++] = (double)(float)difference_de00(job->sound, lab_at(job, i));
    qsort(v, *n, sizeof *v, double_order);
    return v;
}

static void set_threshold(const struct losing *job, struct loss_result *out) {
    size_t n;
    double *v = sorted_de(job, reference(job), &n);
    const double median = quantile_of(v, n, .5), p99 = quantile_of(v, n, .99);
    if (job->task->sound)
        out->sound_de00_p99 = p99, out->threshold_de00 = fmax(least_de, p99);
    else {
        for (size_t i = 0; i < n; i++) v[i] = fabs(v[i] - median);
        out->threshold_de00 = fmax(least_de, median + 4 * 1.4826 * quantile_of(v, n, .5));
    }
    memory_free(v);
}

/* The sound patch cut into 4 x 4: how far the worst part's mean is off the patch's median. */
static double worst_part(const struct losing *job) {
    int low_x = job->width, low_y = job->height, high_x = 0, high_y = 0;
    for (int y = 0; y < job->height; y++)
        for (int x = 0; x < job->width; x++)
            if (job->task->sound[(size_t)y * (size_t)job->width + (size_t)x]) {
                low_x = x < low_x ? x : low_x, high_x = x > high_x ? x : high_x;
                low_y = y < low_y ? y : low_y, high_y = y > high_y ? y : high_y;
            }
    struct lab sum[PARTS * PARTS] = {0};
    size_t n[PARTS * PARTS] = {0}, all = 0;
    for (int y = low_y; y <= high_y; y++)
        for (int x = low_x; x <= high_x; x++) {
            const size_t at = (size_t)y * (size_t)job->width + (size_t)x;
            if (!job->task->sound[at]) continue;
            const int part = (y - low_y) * PARTS / (high_y - low_y + 1) * PARTS +
                             (x - low_x) * PARTS / (high_x - low_x + 1);
            const struct lab lab = lab_at(job, at);
            sum[part].l += lab.l, sum[part].a += lab.a, sum[part].b += lab.b, n[part]++, all++;
        }
    double worst = 0;
    for (int i = 0; i < PARTS * PARTS; i++) {
        if (n[i] * 4 * PARTS * PARTS < all || !n[i]) continue; /* a corner of it that the polygon cuts */
        const double count = (double)n[i];
        const struct lab mean = {sum[i].l / count, sum[i].a / count, sum[i].b / count, job->sound.view};
        worst = fmax(worst, difference_de00(job->sound, mean));
    }
    return worst;
}

/* ---- light that falls off ---- */

enum { TERMS = 6, BLOCKS = 24 };

struct place {
    double x, y, ln, r, b, weight; /* -1..1; ln of light; shares of red and blue */
};

static void terms_at(double x, double y, double t[TERMS]) {
    t[0] = 1, t[1] = x, t[2] = y, t[3] = x * x, t[4] = x * y, t[5] = y * y;
}

static double luminance(const struct losing *job, size_t i) {
    return .2126 * (double)job->task->rgb[0][i] + .7152 * (double)job->task->rgb[1][i] +
           .0722 * (double)job->task->rgb[2][i];
}

/* Means of BLOCKS x BLOCKS parts of the panel. */
static size_t places_of(const struct losing *job, const uint8_t *where, struct place place[]) {
    size_t found = 0;
    for (int by = 0; by < BLOCKS; by++)
        for (int bx = 0; bx < BLOCKS; bx++) {
            double n = 0, y_sum = 0, r = 0, b = 0, area = 0;
            const int x1 = (bx + 1) * job->width / BLOCKS, y1 = (by + 1) * job->height / BLOCKS;
            for (int y = by * job->height / BLOCKS; y < y1; y++)
                for (int x = bx * job->width / BLOCKS; x < x1; x++) {
                    const size_t i = (size_t)y * (size_t)job->width + (size_t)x;
                    area++;
                    if (!where[i]) continue;
                    n++, y_sum += luminance(job, i);
                    r += (double)job->task->rgb[0][i], b += (double)job->task->rgb[2][i];
                }
            if (n < .2 * area || !(y_sum > 0) || area == 0) continue;
            place[found++] = (struct place){(bx + .5) * 2 / BLOCKS - 1,
                                            (by + .5) * 2 / BLOCKS - 1,
                                            log(y_sum / n),
                                            r / y_sum,
                                            b / y_sum,
                                            1};
        }
    return found;
}

static bool fit_terms(const struct place place[], size_t n, double out[TERMS]) {
    double a[TERMS][TERMS + 1] = {{0}};
    for (size_t i = 0; i < n; i++) {
        double t[TERMS];
        terms_at(place[i].x, place[i].y, t);
        for (int j = 0; j < TERMS; j++) {
            for (int k = 0; k < TERMS; k++) a[j][k] += place[i].weight * t[j] * t[k];
            a[j][TERMS] += place[i].weight * t[j] * place[i].ln;
        }
    }
    for (int j = 0; j < TERMS; j++) a[j][j] += 1e-3; /* a patch of little extent fixes no bend */
    for (int j = 0; j < TERMS; j++)
        for (int i = j + 1; i < TERMS; i++) {
            const double f = a[i][j] / a[j][j];
            for (int k = j; k <= TERMS; k++) a[i][k] -= f * a[j][k];
        }
    for (int j = TERMS - 1; j >= 0; j--) {
        out[j] = a[j][TERMS];
        for (int k = j + 1; k < TERMS; k++) out[j] -= a[j][k] * out[k];
        out[j] /= a[j][j];
        if (!isfinite(out[j])) return false;
    }
    return true;
}

static double surface_at(const double term[TERMS], double x, double y) {
    double t[TERMS], sum = 0;
    terms_at(x, y, t);
    for (int i = 0; i < TERMS; i++) sum += term[i] * t[i];
    return sum;
}

/* Robust: a place off the fit by more than some .15 of ln Y does not count, nor one of another chromaticity.
 */
static bool fit_light(struct place place[], size_t n, double r, double b, double term[TERMS]) {
    size_t alike = 0;
    for (size_t i = 0; i < n; i++)
        if (hypot(place[i].r / r - 1, place[i].b / b - 1) < .08) place[alike++] = place[i];
    if (alike < 24 || alike * 3 < n) return false;
    double residual[BLOCKS * BLOCKS];
    for (int round = 0; round < 12; round++) {
        if (!fit_terms(place, alike, term)) return false;
        for (size_t i = 0; i < alike; i++)
            residual[i] = fabs(place[i].ln - surface_at(term, place[i].x, place[i].y));
        const double cut = 4.685 * fmax(.004, 1.4826 * quantile_of(residual, alike, .5));
        for (size_t i = 0; i < alike; i++) {
            const double u = (place[i].ln - surface_at(term, place[i].x, place[i].y)) / cut;
            place[i].weight = fabs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;
        }
    }
    return true;
}

struct levelling {
    struct losing *job;
    const double *term;
    double anchor, *range; /* least and most of each row */
};

static void level_rows(void *context, size_t chunk) {
    const struct levelling *level = context;
    const struct losing *job = level->job;
    for (int v = (int)chunk * ROWS; v < job->height && v < ((int)chunk + 1) * ROWS; v++) {
        double low = HUGE_VAL, high = -HUGE_VAL;
        for (int u = 0; u < job->width; u++) {
            const size_t i = (size_t)v * (size_t)job->width + (size_t)u;
            if (!job->task->inside[i]) continue;
            const double ln =
                surface_at(level->term, (u + .5) * 2 / job->width - 1, (v + .5) * 2 / job->height - 1) -
                level->anchor;
            const float gain = (float)exp(-fmin(1, fmax(-1, ln)));
            low = fmin(low, ln), high = fmax(high, ln);
            for (int c = 0; c < 3; c++) job->task->rgb[c][i] *= gain;
        }
        level->range[2 * v] = low, level->range[2 * v + 1] = high;
    }
}

/* Divides the three planes by the light found, 1 at the middle of the reference. Returns its gradient. */
static double level_light(struct losing *job) {
    struct place place[BLOCKS * BLOCKS], sound[BLOCKS * BLOCKS];
    const size_t n = places_of(job, job->task->inside, place), m = places_of(job, reference(job), sound);
    double r = 0, b = 0, x = 0, y = 0, term[TERMS], low = HUGE_VAL, high = -HUGE_VAL;
    for (size_t i = 0; i < m; i++) r += sound[i].r, b += sound[i].b, x += sound[i].x, y += sound[i].y;
    if (!m || !job->task->sound) return 0;
    const double count = (double)m;
    if (!fit_light(place, n, r / count, b / count, term)) return 0;
    struct levelling level = {job, term, surface_at(term, x / count, y / count),
                              memory_need(2 * (size_t)job->height, sizeof(double))};
    work_run(job->task->work, ((size_t)job->height + ROWS - 1) / ROWS, level_rows, &level);
    for (int v = 0; v < 2 * job->height; v += 2)
        low = fmin(low, level.range[v]), high = fmax(high, level.range[v + 1]);
    memory_free(level.range);
    return high > low ? exp(high - low) - 1 : 0;
}

/* The mean light of the cells of `where` that are (or are not) in `still`; their number. */
static double mean_light(const struct losing *job, const uint8_t *where, const uint8_t *still, bool stays,
                         double rgb[3]) {
    double n = 0;
    rgb[0] = rgb[1] = rgb[2] = 0;
    for (size_t i = 0; i < job->cells; i++)
        if (where[i] && (!still || (still[i] != 0) == stays)) {
            n++;
            for (int c = 0; c < 3; c++) rgb[c] += ((double)job->task->rgb[c][i] - rgb[c]) / n;
        }
    return n;
}

/* ---- the mask ---- */

/* Of 5 x 5 cells inside, most; counts run down the columns first. */
struct voting {
    const struct losing *job;
    const uint8_t *from;
    uint8_t *to;
};

static void vote_rows(void *context, size_t chunk) {
    const struct voting *vote = context;
    const struct losing *job = vote->job;
    const int w = job->width, h = job->height;
    uint8_t *yes = memory_need(2 * ((size_t)w + 4), 1), *all = yes + w + 4;
    for (int y = (int)chunk * ROWS; y < h && y < ((int)chunk + 1) * ROWS; y++) {
        memset(yes, 0, 2 * ((size_t)w + 4));
        for (int v = y < 2 ? 0 : y - 2; v <= y + 2 && v < h; v++) {
            const uint8_t *from = vote->from + (size_t)v * (size_t)w,
                          *inside = job->task->inside + (size_t)v * (size_t)w;
            for (int x = 0; x < w; x++)
                yes[x + 2] = (uint8_t)(yes[x + 2] + (from[x] & (inside[x] != 0))),
                        all[x + 2] = (uint8_t)(all[x + 2] + (inside[x] != 0));
        }
        for (int x = 0; x < w; x++) {
            const size_t at = (size_t)y * (size_t)w + (size_t)x;
            const int for_it = yes[x] + yes[x + 1] + yes[x + 2] + yes[x + 3] + yes[x + 4];
            const int of = all[x] + all[x + 1] + all[x + 2] + all[x + 3] + all[x + 4];
            vote->to[at] = job->task->inside[at] && 2 * for_it > of;
        }
    }
    memory_free(yes);
}

static void majority(struct losing *job, const uint8_t *from, uint8_t *to) {
    struct voting vote = {job, from, to};
    work_run(job->task->work, ((size_t)job->height + ROWS - 1) / ROWS, vote_rows, &vote);
}

static void end_at_edges(const struct losing *job, uint8_t *mask) {
    double sound[3];
    (void)mean_light(job, reference(job), NULL, false, sound);
    const int reach = (int)ceil(edge_mm / job->task->grid->cell_mm);
    loss_edge(job->task->rgb, sound, job->width, job->height, reach, job->task->work, mask);
}

/* Clears the parts of a mask that are smaller than a speck. */
static void drop_specks(const struct losing *job, uint8_t *mask, int32_t *label) {
    const double mm2 = job->task->grid->cell_mm * job->task->grid->cell_mm;
    struct blob *blob;
    (void)blob_label(mask, job->width, job->height, label, &blob);
    for (size_t i = 0; i < job->cells; i++)
        if (mask[i] && (double)blob[label[i] - 1].cells * mm2 < speck_mm2) mask[i] = 0;
    memory_free(blob);
}

static void fill_pinholes(const struct losing *job, uint8_t *mask, int32_t *label) {
    for (size_t i = 0; i < job->cells; i++) mask[i] = !mask[i];
    drop_specks(job, mask, label);
    for (size_t i = 0; i < job->cells; i++) mask[i] = !mask[i] && job->task->inside[i];
}

/* By shape: a gouge is long and narrow, a hole dark and compact, a worn place large, else a scuff. */
static enum loss_kind kind_of(const struct loss *loss) {
    if (loss->length_mm > 4 * loss->width_mm && loss->width_mm < 4) return LOSS_GOUGE;
    if (loss->dl < -20 && loss->area_mm2 > 3) return LOSS_HOLE;
    return loss->area_mm2 > 400 ? LOSS_WORN : LOSS_SCUFF;
}

struct tally {
    double de, dl, on_crack;
};

static void measure_losses(const struct losing *job, int32_t *label, struct arena *arena,
                           struct loss_result *out) {
    struct blob *blob;
    const size_t n = blob_label(out->mask, job->width, job->height, label, &blob);
    struct tally *tally = memory_need(n + 1, sizeof *tally);
    for (size_t i = 0; i < job->cells; i++)
        if (label[i]) {
            struct tally *of = &tally[label[i] - 1];
            of->de += (double)job->de[i], of->dl += (double)job->dl[i];
            of->on_crack += job->task->crack && job->task->crack[i];
        }
    out->loss = arena_need(arena, n + 1, sizeof *out->loss);
    const double mm = job->task->grid->cell_mm;
    for (size_t i = 0; i < n; i++) {
        const double cells = (double)blob[i].cells;
        if (tally[i].on_crack > .4 * cells && sqrt(12) * blob[i].short_sd * mm < thin_mm) {
            tally[i].de = -1;
            continue;
        }
        struct loss *loss = &out->loss[out->losses++];
        *loss = (struct loss){.area_mm2 = cells * mm * mm,
                              .length_mm = sqrt(12) * blob[i].long_sd * mm,
                              .width_mm = sqrt(12) * blob[i].short_sd * mm,
                              .de00 = tally[i].de / cells,
                              .dl = tally[i].dl / cells,
                              .x = blob[i].x,
                              .y = blob[i].y};
        loss->kind = kind_of(loss);
        out->area_mm2 += loss->area_mm2;
    }
    for (size_t i = 0; i < job->cells; i++)
        if (label[i] && tally[label[i] - 1].de < 0) out->mask[i] = 0;
    memory_free(tally), memory_free(blob);
}

static void begin(const struct loss_task *task, struct losing *job) {
    *job = (struct losing){.task = task, .width = task->grid->width, .height = task->grid->height};
    job->cells = (size_t)job->width * (size_t)job->height;
    job->weights = weights_of((struct view){LIGHT_D65, OBSERVER_10});
    map_display(job->to_xyz);
#if defined(__x86_64__)
    job->wide = __builtin_cpu_supports("avx2");
#endif
}

/* What is in out->mask, part by part. */
static void tell_losses(struct losing *job, int32_t *label, struct arena *arena, struct loss_result *out) {
    job->de = memory_need(job->cells, sizeof *job->de), job->dl = memory_need(job->cells, sizeof *job->dl);
    job->mask = out->mask;
    rows_run(job, differ_rows);
    measure_losses(job, label, arena, out);
    memory_free(job->de), memory_free(job->dl);
}

double loss_level(const struct loss_task *task) {
    struct losing job;
    begin(task, &job);
    return level_light(&job);
}

void loss_find(const struct loss_task *task, struct arena *arena, struct loss_result *out) {
    struct losing job;
    begin(task, &job);
    *out = (struct loss_result){.mask = arena_need(arena, job.cells, 1)};
    job.other = memory_need(job.cells, sizeof *job.other);
    smooth(&job);
    memory_free(job.other);
    out->sound = job.sound = median_lab(&job);
    set_threshold(&job, out);
    if (task->sound) out->sound_patches_de00 = worst_part(&job);
    uint8_t *raw = memory_need(job.cells, 1);
    int32_t *label = memory_need(job.cells, sizeof *label);
    job.threshold = out->threshold_de00, job.mask = raw;
    rows_run(&job, mark_rows);
    majority(&job, raw, out->mask);
    if (task->sound) end_at_edges(&job, out->mask);
    drop_specks(&job, out->mask, label);
    fill_pinholes(&job, out->mask, label);
    tell_losses(&job, label, arena, out);
    memory_free(raw), memory_free(label);
}

/* ---- dirt ---- */

/* Colours of a layer over the sound colour, from none of it to twice as much as where it was measured: one
 * that covers (a mixture of lights) and one that dims (a product). reach: how far off it, in Lab, still
 * belongs. */
enum { STEPS = 9, LAWS = 2 };
struct trail {
    double rgb[3], reach, cells;
    struct lab at[LAWS][STEPS];
};

static struct lab lab_of_light(const struct losing *job, const double rgb[3]) {
    double v[3] = {0};
    for (int k = 0; k < 9; k++) v[k / 3] += job->to_xyz[k / 3][k % 3] * fmax(0, rgb[k % 3]);
    return lab_of((struct xyz){fmax(0, v[0]), fmax(0, v[1]), fmax(0, v[2])}, job->weights);
}

static double off_segment(struct lab at, struct lab a, struct lab b) {
    const double v[3] = {at.l - a.l, at.a - a.a, at.b - a.b}, d[3] = {b.l - a.l, b.a - a.a, b.b - a.b};
    const double length = fmax(1e-9, d[0] * d[0] + d[1] * d[1] + d[2] * d[2]),
                 t = fmax(0, fmin(1, (v[0] * d[0] + v[1] * d[1] + v[2] * d[2]) / length));
    return hypot(hypot(v[0] - t * d[0], v[1] - t * d[1]), v[2] - t * d[2]);
}

static double off_trail(const struct trail *trail, struct lab at) {
    double least = HUGE_VAL;
    for (int law = 0; law < LAWS; law++)
        for (int i = 0; i + 1 < STEPS; i++)
            least = fmin(least, off_segment(at, trail->at[law][i], trail->at[law][i + 1]));
    return least;
}

static struct trail trail_of(const struct losing *job, const uint8_t *where, const uint8_t *still,
                             bool stays) {
    struct trail trail = {.reach = trail_least};
    double sound[3];
    trail.cells = mean_light(job, where, still, stays, trail.rgb);
    if (!(trail.cells > 0)) return trail;
    (void)mean_light(job, reference(job), NULL, false, sound);
    for (int i = 0; i < STEPS; i++) {
        const double t = 2. * i / (STEPS - 1);
        double covers[3], dims[3];
        for (int c = 0; c < 3; c++) {
            const double s = fmax(1e-5, sound[c]);
            covers[c] = s + t * (trail.rgb[c] - s), dims[c] = s * pow(fmax(1e-5, trail.rgb[c]) / s, t);
        }
        trail.at[0][i] = lab_of_light(job, covers), trail.at[1][i] = lab_of_light(job, dims);
    }
    double *off = memory_need((size_t)trail.cells, sizeof *off);
    size_t n = 0;
    for (size_t i = 0; i < job->cells; i++)
        if (where[i] && (still[i] != 0) == stays) off[n++] = off_trail(&trail, lab_at(job, i));
    trail.reach = fmax(trail_least, quantile_of(off, n, .95));
    memory_free(off);
    return trail;
}

static double mm2_of(const struct losing *job, const uint8_t *mask) {
    size_t n = 0;
    for (size_t i = 0; i < job->cells; i++) n += mask[i] != 0;
    return (double)n * job->task->grid->cell_mm * job->task->grid->cell_mm;
}

static void mark_dirt(const struct losing *job, const uint8_t *square, const uint8_t *still_lost,
                      const struct trail *dirt, const struct trail *worn, struct loss_result *found) {
    for (size_t i = 0; i < job->cells; i++) {
        if (!found->mask[i]) continue;
        const struct lab lab = lab_at(job, i);
        const double far = off_trail(dirt, lab);
        found->dirt[i] = square[i] ? !still_lost[i]
                                   : far <= dirt->reach && (!(worn->cells > 0) || far < off_trail(worn, lab));
        if (found->dirt[i]) found->mask[i] = 0;
    }
}

void loss_take_dirt(const struct loss_task *task, const uint8_t *square, const uint8_t *still_lost,
                    struct arena *arena, struct loss_result *found, struct loss_dirt *out) {
    struct losing job;
    begin(task, &job);
    job.sound = found->sound;
    const double cell_mm2 = task->grid->cell_mm * task->grid->cell_mm;
    uint8_t *where = memory_need(job.cells, 1);
    for (size_t i = 0; i < job.cells; i++) where[i] = square[i] && found->mask[i];
    const struct trail dirt = trail_of(&job, where, still_lost, false);
    struct trail worn = trail_of(&job, where, still_lost, true);
    if (worn.cells < rim_share * (worn.cells + dirt.cells)) worn.cells = 0; /* the square's own edge */
    *out = (struct loss_dirt){mm2_of(&job, square), mm2_of(&job, where), dirt.cells * cell_mm2, 0};
    memory_free(where);
    found->dirt = arena_need(arena, job.cells, 1);
    if (out->off_mm2 < speck_mm2) return;
    mark_dirt(&job, square, still_lost, &dirt, &worn, found);
    out->dirt_mm2 = mm2_of(&job, found->dirt);
    int32_t *label = memory_need(job.cells, sizeof *label);
    drop_specks(&job, found->mask, label);
    found->losses = 0, found->area_mm2 = 0;
    tell_losses(&job, label, arena, found);
    memory_free(label);
}
