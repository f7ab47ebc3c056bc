/* From slopes to a relief, and through its filters on the way: one transform there for each slope, one back.
 *
 *     z_kl = -(u p_kl + v q_kl) / (u^2 + v^2) * gain,   u = pi k / width, v = pi l / height
 *
 * A sine transform keeps its k-th term at k - 1. The surface of second order (F) has slopes that are linear
 * in x and y; they are taken out by least squares. */
#include "base/memory.h"
#include "surface/stereo.h"
#include "surface/transform.h"
#include <math.h>

static const double pi = 3.14159265358979323846;
enum { ROWS = 32 };

struct lifting {
    float *p, *q;
    double s_mm, l_mm;
    struct relief *out;
    double form[5];    /* p = f0 + f2 x + f3 y, q = f1 + f3 x + f4 y; x and y run -1..1 over the field */
    double (*sums)[6]; /* of each chunk: p, q, p x, p y, q x, q y */
};

static double place(int i, int n) {
    return (2 * i + 1.) / n - 1;
}

static int last_row(const struct lifting *job, size_t chunk) {
    const int end = (int)(chunk + 1) * ROWS;
    return end < job->out->height ? end : job->out->height;
}

static void sum_rows(void *context, size_t chunk) {
    const struct lifting *job = context;
    const int w = job->out->width;
    double *sum = job->sums[chunk];
    for (int y = (int)chunk * ROWS; y < last_row(job, chunk); y++) {
        const double v = place(y, job->out->height);
        double p = 0, q = 0, px = 0, qx = 0;
        for (int x = 0; x < w; x++) {
            const size_t at = (size_t)y * (size_t)w + (size_t)x;
            const double u = place(x, w), here_p = (double)job->p[at], here_q = (double)job->q[at];
            p += here_p, q += here_q, px += here_p * u, qx += here_q * u;
        }
        sum[0] += p, sum[1] += q, sum[2] += px, sum[3] += p * v, sum[4] += qx, sum[5] += q * v;
    }
}

/* Over a full grid x, y and 1 are orthogonal; mean of x^2: (1 - 1 / n^2) / 3. y of the form is in units of x:
 * the cross term of a surface is one number in mm, so it is weighed by both sides' lengths. */
static void find_form(struct lifting *job, size_t chunks) {
    const double w = job->out->width, h = job->out->height, n = w * h;
    double s[6] = {0};
    for (size_t i = 0; i < chunks; i++)
        for (int k = 0; k < 6; k++) s[k] += job->sums[i][k] / n;
    const double xx = (1 - 1 / (w * w)) / 3, yy = (1 - 1 / (h * h)) / 3;
    const double cross = (s[3] * h + s[4] * w) / (h * h * yy + w * w * xx); /* a pixel's worth, times two */
    job->form[0] = s[0], job->form[1] = s[1], job->form[2] = s[2] / xx, job->form[4] = s[5] / yy;
    job->form[3] = cross;
}

static void flatten_rows(void *context, size_t chunk) {
    const struct lifting *job = context;
    const int w = job->out->width, h = job->out->height;
    const double *f = job->form;
    for (int y = (int)chunk * ROWS; y < last_row(job, chunk); y++) {
        const double v = place(y, h);
        for (int x = 0; x < w; x++) {
            const size_t at = (size_t)y * (size_t)w + (size_t)x;
            const double u = place(x, w);
            job->p[at] -= (float)(f[0] + f[2] * u + f[3] * h * v);
            job->q[at] -= (float)(f[1] + f[3] * w * u + f[4] * v);
        }
    }
}

static double gain_at(const struct lifting *job, double frequency) {
    const double s = job->s_mm > 0 ? areal_transmission(1 / (frequency * job->s_mm)) : 1;
    return job->l_mm > 0 ? s * (1 - areal_transmission(1 / (frequency * job->l_mm))) : s;
}

/* Writes the terms of z over those of p that are done with: term (k, l) needs p at k - 1 and k, so a row goes
 * from its end. */
static void join_rows(void *context, size_t chunk) {
    const struct lifting *job = context;
    const int w = job->out->width, h = job->out->height;
    const double step = job->out->step_mm, scale = 1 / (4. * w * h);
    for (int l = (int)chunk * ROWS; l < last_row(job, chunk); l++)
        for (int k = w - 1; k >= 0; k--) {
            const size_t at = (size_t)l * (size_t)w + (size_t)k;
            const double u = pi * k / (w * step), v = pi * l / (h * step), both = u * u + v * v;
            const double across = k > 0 ? (double)job->p[at - 1] : 0;
            const double down = l > 0 ? (double)job->q[at - (size_t)w] : 0;
            const double z = both > 0 ? -(u * across + v * down) / both : 0;
            job->p[at] = (float)(both > 0 ? z * scale * gain_at(job, sqrt(both) / (2 * pi)) : 0);
        }
}

static void widen_rows(void *context, size_t chunk) {
    const struct lifting *job = context;
    const size_t w = (size_t)job->out->width;
    for (size_t i = chunk * ROWS * w; i < (size_t)last_row(job, chunk) * w; i++)
        job->out->z_mm[i] = (double)job->p[i];
}

void stereo_integrate(float *p, float *q, double s_mm, double l_mm, struct work *work, struct relief *out) {
    const int w = out->width, h = out->height;
    const size_t chunks = ((size_t)h + ROWS - 1) / ROWS;
    struct lifting job = {.p = p, .q = q, .s_mm = s_mm, .l_mm = l_mm, .out = out};
    job.sums = memory_need(chunks, sizeof *job.sums);
    work_run(work, chunks, sum_rows, &job);
    find_form(&job, chunks);
    memory_free(job.sums);
    work_run(work, chunks, flatten_rows, &job);
    transform_real(p, w, h, FFTW_REDFT10, FFTW_RODFT10, work);
    transform_real(q, w, h, FFTW_RODFT10, FFTW_REDFT10, work);
    work_run(work, chunks, join_rows, &job);
    transform_real(p, w, h, FFTW_REDFT01, FFTW_REDFT01, work);
    work_run(work, chunks, widen_rows, &job);
}
