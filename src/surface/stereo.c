#include "surface/stereo.h"
#include "base/memory.h"
#include "base/wide.h"
#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double trim_share = .4;
static const float shadow = .2F, steepest = 4, bright = .02F, dark = .04F; /* gloss only ever adds */
enum { ROWS_A_CHUNK = 16, TERMS = 6, TURNS = 3, LANES = STEREO_LANES };

/* ---- evenness ---- */

static void terms_at(double t[TERMS], double x, double y) {
    t[0] = 1, t[1] = x, t[2] = y, t[3] = x * x, t[4] = x * y, t[5] = y * y;
}

static double fit_value(const double c[TERMS], int x, int y, int w, int h) {
    double t[TERMS], sum = 0;
    terms_at(t, (2 * x + 1.) / w - 1, (2 * y + 1.) / h - 1);
    for (int i = 0; i < TERMS; i++) sum += c[i] * t[i];
    return sum;
}

/* Gauss and Jordan; false when a pivot vanishes (no pixel was left). */
static bool solve(double a[TERMS][TERMS + 1], double c[TERMS]) {
    for (int k = 0; k < TERMS; k++) {
        if (!(fabs(a[k][k]) > 1e-12)) return false;
        for (int i = 0; i < TERMS; i++) {
            const double f = a[i][k] / a[k][k];
            if (i != k)
                for (int j = k; j <= TERMS; j++) a[i][j] -= f * a[k][j];
        }
    }
    for (int i = 0; i < TERMS; i++) c[i] = a[i][TERMS] / a[i][i];
    return true;
}

/* One fit over the pixels that are at most twice what the last fit said; of large pictures every so-many-th.
 */
static bool fit_once(const float *shade, int w, int h, const double *last, double c[TERMS]) {
    double a[TERMS][TERMS + 1] = {{0}}, t[TERMS];
    const int stride = 1 + (int)sqrt((double)w * h / 600000);
    for (int y = stride / 2; y < h; y += stride)
        for (int x = (y / stride) % stride; x < w; x += stride) {
            const double v = (double)shade[(size_t)y * (size_t)w + (size_t)x];
            if (isinf(v) || (last && v > 2 * fit_value(last, x, y, w, h))) continue;
            terms_at(t, (2 * x + 1.) / w - 1, (2 * y + 1.) / h - 1);
            for (int i = 0; i < TERMS; i++) {
                for (int j = 0; j < TERMS; j++) a[i][j] += t[i] * t[j];
                a[i][TERMS] += t[i] * v;
            }
        }
    return solve(a, c);
}

struct evening {
    float *shade;
    int width, height;
    const double *c;
};

static void even_rows(void *context, size_t chunk) {
    const struct evening *job = context;
    const double *c = job->c;
    for (int y = (int)chunk * ROWS_A_CHUNK; y < (int)(chunk + 1) * ROWS_A_CHUNK && y < job->height; y++) {
        const double v = (2 * y + 1.) / job->height - 1;
        const float c0 = (float)(c[0] + c[2] * v + c[5] * v * v), c1 = (float)(c[1] + c[4] * v),
                    c2 = (float)c[3];
        float *row = job->shade + (size_t)y * (size_t)job->width;
        const float per = 2 / (float)job->width, first = 1 / (float)job->width - 1;
        for (int x = 0; x < job->width; x++) {
            const float u = per * (float)x + first;
            row[x] /= c0 + u * (c1 + u * c2);
        }
    }
}

/* The corners and the middle; a fit of second order that is over 0 there may still dip between, where the
 * picture is black anyway. */
static bool is_lit(const double c[TERMS], int w, int h) {
    for (int i = 0; i < 9; i++)
        if (!(fit_value(c, i % 3 * (w - 1) / 2, i / 3 * (h - 1) / 2, w, h) > 0)) return false;
    return true;
}

bool stereo_normalise(float *shade, int width, int height, struct work *work) {
    double first[TERMS], c[TERMS];
    if (!fit_once(shade, width, height, NULL, first) || !fit_once(shade, width, height, first, c) ||
        !is_lit(c, width, height))
        return false;
    struct evening job = {shade, width, height, c};
    work_run(work, (size_t)(height + ROWS_A_CHUNK - 1) / ROWS_A_CHUNK, even_rows, &job);
    return true;
}

/* ---- eight pixels ---- */

/* Compiled twice, plainly and for AVX2; neither fuses nor reorders anything, so both give the same numbers.
 */

void stereo_stand(struct stereo_task *task) {
    for (int i = 0; i < task->lights; i++) {
        const struct stereo_light *light = &task->light[i];
        const double a = light->azimuth_deg * pi / 180, e = light->elevation_deg * pi / 180;
        const double flat = light->elevation_deg < 90 ? 1 / tan(e) : 0;
        const double a_pixel = light->distance_mm > 0 ? task->step_mm / (light->distance_mm * sin(e)) : 0;
        task->lean[i] =
            (struct stereo_lean){cos(a) * flat - a_pixel * (.5 - task->width / 2. + task->off_x),
                                 -sin(a) * flat - a_pixel * (.5 - task->height / 2. + task->off_y), a_pixel};
    }
}

struct eight {
    int n;
    float v[STEREO_MOST][LANES], mx[STEREO_MOST][LANES], my[STEREO_MOST][LANES], weight[STEREO_MOST][LANES];
};

INLINE void gather(const struct stereo_task *task, int x, int y, int leave_out, struct eight *s) {
    const int lanes = task->width - x < LANES ? task->width - x : LANES;
    s->n = 0;
    for (int i = 0; i < task->lights; i++) {
        if (i == leave_out) continue;
        const float *row = task->shade[i] + (size_t)y * (size_t)task->width + (size_t)x;
        const struct stereo_lean *lean = &task->lean[i];
        const float m0 = (float)stereo_lean_x(lean, x), m1 = (float)stereo_lean_y(lean, y),
                    d0 = -(float)lean->a_pixel;
        for (int k = 0; k < LANES; k++) {
            s->v[s->n][k] = row[k < lanes ? k : lanes - 1];
            s->mx[s->n][k] = m0 + d0 * (float)k, s->my[s->n][k] = m1;
        }
        s->n++;
    }
}

/* Weight 1 for the values that can be used: not among the brightest, not burnt out, and not dark when three
 * others are left. */
INLINE void choose(struct eight *s) {
    const int n = s->n, keep = n >= STEREO_TRIM_FROM ? n - (int)(trim_share * n) : n;
    float lit[LANES] = {0};
    for (int i = 0; i < n; i++) {
        float rank[LANES] = {0};
        for (int j = 0; j < n; j++)
            for (int k = 0; k < LANES; k++)
                rank[k] += s->v[j][k] < s->v[i][k] || (j < i && !(s->v[j][k] > s->v[i][k])) ? 1.F : 0.F;
        for (int k = 0; k < LANES; k++) {
            s->weight[i][k] = rank[k] < (float)keep && s->v[i][k] < 1e9F ? 1.F : 0.F;
            lit[k] += s->v[i][k] >= shadow ? s->weight[i][k] : 0.F;
        }
    }
    for (int i = 0; i < n; i++)
        for (int k = 0; k < LANES; k++) {
            if (lit[k] >= STEREO_LEAST && s->v[i][k] < shadow) s->weight[i][k] = 0;
            if (!(s->v[i][k] < 1e9F)) s->v[i][k] = 0; /* no infinity may meet a weight of 0 */
        }
}

/* A, B = A p, C = A q by weighted least squares; where the lights do not span a surface: as before. */
INLINE void fit(const struct eight *s, float a[LANES], float b[LANES], float c[LANES]) {
    float w0[LANES] = {0}, wx[LANES] = {0}, wy[LANES] = {0}, xx[LANES] = {0}, xy[LANES] = {0},
          yy[LANES] = {0}, v0[LANES] = {0}, vx[LANES] = {0}, vy[LANES] = {0};
    for (int i = 0; i < s->n; i++)
        for (int k = 0; k < LANES; k++) {
            const float w = s->weight[i][k], x = s->mx[i][k], y = s->my[i][k], v = s->v[i][k];
            w0[k] += w, wx[k] += w * x, wy[k] += w * y;
            xx[k] += w * x * x, xy[k] += w * x * y, yy[k] += w * y * y;
            v0[k] += w * v, vx[k] += w * x * v, vy[k] += w * y * v;
        }
    for (int k = 0; k < LANES; k++) {
        const float c0 = xx[k] * yy[k] - xy[k] * xy[k], c1 = xy[k] * wy[k] - wx[k] * yy[k],
                    c2 = wx[k] * xy[k] - xx[k] * wy[k];
        const float det = w0[k] * c0 + wx[k] * c1 + wy[k] * c2, over = 1 / (det > 1e-3F ? det : 1e-3F);
        const float na = over * (c0 * v0[k] + c1 * vx[k] + c2 * vy[k]);
        const float nb = -over * (c1 * v0[k] + (w0[k] * yy[k] - wy[k] * wy[k]) * vx[k] +
                                  (wx[k] * wy[k] - w0[k] * xy[k]) * vy[k]);
        const float nc = -over * (c2 * v0[k] + (wx[k] * wy[k] - w0[k] * xy[k]) * vx[k] +
                                  (w0[k] * xx[k] - wx[k] * wx[k]) * vy[k]);
        const bool fits = det > 1e-3F && na > 0;
        a[k] = fits ? na : a[k], b[k] = fits ? nb : b[k], c[k] = fits ? nc : c[k];
    }
}

/* Weights by how far each lies off, as Cauchy has it; squares: the mean over the lights that are kept. */
INLINE void weigh(struct eight *s, const float a[LANES], const float b[LANES], const float c[LANES],
                  float squares[LANES], float kept[LANES]) {
    float sum[LANES] = {0}, count[LANES] = {0}, over[LANES];
    for (int k = 0; k < LANES; k++) over[k] = 1 / a[k];
    for (int i = 0; i < s->n; i++)
        for (int k = 0; k < LANES; k++) {
            const float used = s->weight[i][k] > 0 ? 1.F : 0.F;
            const float d = (s->v[i][k] - a[k] + s->mx[i][k] * b[k] + s->my[i][k] * c[k]) * over[k];
            const float r = d * (d > 0 ? 1 / bright : 1 / dark);
            s->weight[i][k] = used / (1 + r * r);
            sum[k] += used * d * d, count[k] += used;
        }
    for (int k = 0; k < LANES; k++) squares[k] = count[k] > 0 ? sum[k] / count[k] : 0, kept[k] = count[k];
}

INLINE float bounded(float slope) {
    return slope > steepest ? steepest : slope < -steepest ? -steepest : slope;
}

INLINE void solve_lanes(const struct stereo_task *task, int x, int y, int leave_out,
                        struct stereo_lanes *out) {
    struct eight s;
    float b[LANES] = {0}, c[LANES] = {0};
    gather(task, x, y, leave_out, &s);
    choose(&s);
    for (int k = 0; k < LANES; k++) out->a[k] = 1;
    fit(&s, out->a, b, c);
    for (int turn = 0; turn < TURNS && s.n > STEREO_LEAST; turn++) {
        weigh(&s, out->a, b, c, out->squares, out->kept);
        fit(&s, out->a, b, c);
    }
    if (s.n <= STEREO_LEAST) weigh(&s, out->a, b, c, out->squares, out->kept);
    for (int k = 0; k < LANES; k++)
        out->p[k] = bounded(b[k] / out->a[k]), out->q[k] = bounded(c[k] / out->a[k]);
}

void stereo_solve_plainly(const struct stereo_task *task, int x, int y, int leave_out,
                          struct stereo_lanes *out) {
    solve_lanes(task, x, y, leave_out, out);
}

WIDE static void solve_wide(const struct stereo_task *task, int x, int y, int leave_out,
                            struct stereo_lanes *out) {
    solve_lanes(task, x, y, leave_out, out);
}

void stereo_solve(const struct stereo_task *task, int x, int y, int leave_out, struct stereo_lanes *out) {
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) {
        solve_wide(task, x, y, leave_out, out);
        return;
    }
#endif
    stereo_solve_plainly(task, x, y, leave_out, out);
}

/* ---- all pixels ---- */

struct slopes_job {
    const struct stereo_task *task;
    float *p, *q;
    double *residual, *kept; /* of each chunk */
};

static void slopes_chunk(void *context, size_t chunk) {
    const struct slopes_job *job = context;
    const struct stereo_task *task = job->task;
    struct stereo_lanes got;
    for (int y = (int)chunk * ROWS_A_CHUNK; y < (int)(chunk + 1) * ROWS_A_CHUNK && y < task->height; y++)
        for (int x = 0; x < task->width; x += LANES) {
            const int lanes = task->width - x < LANES ? task->width - x : LANES;
            const size_t at = (size_t)y * (size_t)task->width + (size_t)x;
            stereo_solve(task, x, y, -1, &got);
            memcpy(job->p + at, got.p, (size_t)lanes * sizeof *got.p);
            memcpy(job->q + at, got.q, (size_t)lanes * sizeof *got.q);
            for (int k = 0; k < lanes; k++)
                job->residual[chunk] += (double)got.squares[k], job->kept[chunk] += (double)got.kept[k];
        }
}

void stereo_slopes(const struct stereo_task *task, struct work *work, float *p, float *q,
                   struct stereo_quality *quality) {
    const size_t chunks = (size_t)(task->height + ROWS_A_CHUNK - 1) / ROWS_A_CHUNK;
    double *sums = memory_need(2 * chunks, sizeof *sums);
    struct slopes_job job = {task, p, q, sums, sums + chunks};
    double residual = 0, kept = 0;
    work_run(work, chunks, slopes_chunk, &job);
    for (size_t i = 0; i < chunks; i++) residual += sums[i], kept += sums[chunks + i];
    memory_free(sums);
    const int n = task->lights, standing = n >= STEREO_TRIM_FROM ? (int)(trim_share * n) : 0;
    const double pixels = (double)task->width * task->height;
    quality->dropped = 1 - kept / (pixels * (n - standing));
    quality->residual = sqrt(residual / pixels);
}
