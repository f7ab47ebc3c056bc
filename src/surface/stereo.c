#include "surface/stereo.h"
#include "base/memory.h"
#include <assert.h>
#include <fftw3.h>
#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
static const double trim_share = .4, shadow_share = .2, steepest = 4;
enum { ROWS_A_CHUNK = 16, TERMS = 6 };

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

/* One fit over the pixels that are at most twice what the last fit said. */
static bool fit_once(const float *shade, int w, int h, const double *last, double c[TERMS]) {
    double a[TERMS][TERMS + 1] = {{0}}, t[TERMS];
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
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

bool stereo_normalise(float *shade, int width, int height) {
    double first[TERMS], c[TERMS];
    if (!fit_once(shade, width, height, NULL, first) || !fit_once(shade, width, height, first, c))
        return false;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const double level = fit_value(c, x, y, width, height);
            if (!(level > 0)) return false;
            float *v = &shade[(size_t)y * (size_t)width + (size_t)x];
            *v = (float)((double)*v / level);
        }
    return true;
}

/* ---- one pixel ---- */

void stereo_direction(const struct stereo_task *task, int which, int x, int y, double out[3]) {
    const struct stereo_light *light = &task->light[which];
    const double a = light->azimuth_deg * pi / 180, e = light->elevation_deg * pi / 180;
    out[0] = cos(a) * cos(e), out[1] = -sin(a) * cos(e), out[2] = sin(e);
    if (!(light->distance_mm > 0)) return;
    out[0] -= (x + .5 - task->width / 2. + task->off_x) * task->step_mm / light->distance_mm;
    out[1] -= (y + .5 - task->height / 2. + task->off_y) * task->step_mm / light->distance_mm;
    const double length = sqrt(out[0] * out[0] + out[1] * out[1] + out[2] * out[2]);
    for (int k = 0; k < 3; k++) out[k] /= length;
}

struct sample {
    double l[3], v, weight;
};

/* The values of a pixel that can be used, the darkest first. */
static int gather(const struct stereo_task *task, int x, int y, int leave_out,
                  struct sample sample[STEREO_MOST]) {
    int n = 0;
    for (int i = 0; i < task->lights; i++) {
        const double v = (double)task->shade[i][(size_t)y * (size_t)task->width + (size_t)x];
        if (i == leave_out || isinf(v)) continue;
        struct sample s = {.v = v, .weight = 1};
        stereo_direction(task, i, x, y, s.l);
        s.v *= s.l[2];
        int at = n++;
        for (; at > 0 && sample[at - 1].v > s.v; at--) sample[at] = sample[at - 1];
        sample[at] = s;
    }
    return n;
}

/* a n by weighted least squares; false when the lights do not span space. */
static bool fit_normal(const struct sample *s, int n, double an[3]) {
    double a[6] = {0}, b[3] = {0};
    for (int i = 0; i < n; i++) {
        const double *l = s[i].l, w = s[i].weight;
        a[0] += w * l[0] * l[0], a[1] += w * l[0] * l[1], a[2] += w * l[0] * l[2];
        a[3] += w * l[1] * l[1], a[4] += w * l[1] * l[2], a[5] += w * l[2] * l[2];
        for (int k = 0; k < 3; k++) b[k] += w * l[k] * s[i].v;
    }
    const double c0 = a[3] * a[5] - a[4] * a[4], c1 = a[2] * a[4] - a[1] * a[5],
                 c2 = a[1] * a[4] - a[2] * a[3];
    const double det = a[0] * c0 + a[1] * c1 + a[2] * c2;
    if (!(det > 1e-4)) return false;
    an[0] = (c0 * b[0] + c1 * b[1] + c2 * b[2]) / det;
    an[1] = (c1 * b[0] + (a[0] * a[5] - a[2] * a[2]) * b[1] + (a[1] * a[2] - a[0] * a[4]) * b[2]) / det;
    an[2] = (c2 * b[0] + (a[1] * a[2] - a[0] * a[4]) * b[1] + (a[0] * a[3] - a[1] * a[1]) * b[2]) / det;
    return an[2] > 0;
}

/* Weights by how far each lies off, as Cauchy has it; returns the sum of squares. */
static double weigh(struct sample *s, int n, const double an[3]) {
    static const double bright = .02, dark = .04; /* gloss only ever adds */
    double squares = 0;
    for (int i = 0; i < n; i++) {
        const double d = s[i].v - an[0] * s[i].l[0] - an[1] * s[i].l[1] - an[2] * s[i].l[2];
        const double r = d / ((d > 0 ? bright : dark) * an[2]);
        s[i].weight = 1 / (1 + r * r);
        squares += d * d / (an[2] * an[2]);
    }
    return squares / n;
}

int stereo_pixel(const struct stereo_task *task, int x, int y, int leave_out, double an[3],
                 double *residual) {
    struct sample s[STEREO_MOST];
    const int n = gather(task, x, y, leave_out, s);
    int first = 0, end = n >= STEREO_TRIM_FROM ? n - (int)(trim_share * n) : n;
    while (first < end - STEREO_LEAST && s[first].v < shadow_share * s[first].l[2]) first++;
    *residual = 0;
    bool fits = fit_normal(s + first, end - first, an);
    if (!fits) first = 0, end = n, fits = fit_normal(s, n, an);
    if (!fits) return an[0] = an[1] = 0, an[2] = 1, 0;
    double before[3];
    for (int turn = 0; turn < 3 && end - first > STEREO_LEAST && fits; turn++) {
        *residual = weigh(s + first, end - first, an);
        memcpy(before, an, sizeof before);
        fits = fit_normal(s + first, end - first, an);
        if (!fits) memcpy(an, before, sizeof before);
    }
    return end - first;
}

/* ---- all pixels ---- */

struct slopes_job {
    const struct stereo_task *task;
    double *p, *q;
    double *residual, *kept; /* of each chunk */
};

static double bounded(double slope) {
    return fmax(-steepest, fmin(steepest, slope));
}

static void slopes_chunk(void *context, size_t chunk) {
    const struct slopes_job *job = context;
    const struct stereo_task *task = job->task;
    const int from = (int)chunk * ROWS_A_CHUNK;
    const int to = from + ROWS_A_CHUNK < task->height ? from + ROWS_A_CHUNK : task->height;
    for (int y = from; y < to; y++)
        for (int x = 0; x < task->width; x++) {
            const size_t at = (size_t)y * (size_t)task->width + (size_t)x;
            double an[3], residual;
            job->kept[chunk] += stereo_pixel(task, x, y, -1, an, &residual);
            job->residual[chunk] += residual;
            job->p[at] = bounded(-an[0] / an[2]);
            job->q[at] = bounded(-an[1] / an[2]);
        }
}

void stereo_slopes(const struct stereo_task *task, struct work *work, double *p, double *q,
                   struct stereo_quality *quality) {
    const size_t chunks = (size_t)(task->height + ROWS_A_CHUNK - 1) / ROWS_A_CHUNK;
    double *sums = memory_need(2 * chunks, sizeof *sums);
    struct slopes_job job = {task, p, q, sums, sums + chunks};
    double residual = 0, kept = 0;
    if (work)
        work_run(work, chunks, slopes_chunk, &job);
    else
        for (size_t i = 0; i < chunks; i++) slopes_chunk(&job, i);
    for (size_t i = 0; i < chunks; i++) residual += sums[i], kept += sums[chunks + i];
    memory_free(sums);
    const int n = task->lights, standing = n >= STEREO_TRIM_FROM ? (int)(trim_share * n) : 0;
    const double pixels = (double)task->width * task->height;
    quality->dropped = 1 - kept / (pixels * (n - standing));
    quality->residual = sqrt(residual / pixels);
}

/* ---- the relief ---- */

static void transform(double *a, const struct relief *size, fftw_r2r_kind down, fftw_r2r_kind across) {
    fftw_plan plan = fftw_plan_r2r_2d(size->height, size->width, a, a, down, across, FFTW_ESTIMATE);
    assert(plan);
    fftw_execute(plan);
    fftw_destroy_plan(plan);
}

/* z_kl = -(u p_kl + v q_kl) / (u^2 + v^2): a sine transform keeps its k-th term at k - 1. */
void stereo_integrate(double *p, double *q, struct relief *out) {
    const int w = out->width, h = out->height;
    transform(p, out, FFTW_REDFT10, FFTW_RODFT10);
    transform(q, out, FFTW_RODFT10, FFTW_REDFT10);
    for (int l = 0; l < h; l++)
        for (int k = 0; k < w; k++) {
            const double u = pi * k / (w * out->step_mm), v = pi * l / (h * out->step_mm);
            const double across = k > 0 ? p[(size_t)l * (size_t)w + (size_t)k - 1] : 0;
            const double down = l > 0 ? q[(size_t)(l - 1) * (size_t)w + (size_t)k] : 0;
            const double z = k + l > 0 ? -(u * across + v * down) / (u * u + v * v) : 0;
            out->z_mm[(size_t)l * (size_t)w + (size_t)k] = z / (4. * w * h);
        }
    transform(out->z_mm, out, FFTW_REDFT01, FFTW_REDFT01);
}
