#include "surface/transform.h"
#include "base/memory.h"
#include <assert.h>
#include <string.h>

enum { ROWS = 16, COLUMNS = 16 }; /* of a chunk; a cache line holds 16 reals or 8 complex numbers */

struct passing {
    float *real;
    fftwf_complex *complex_;
    const float *source;
    int width, height;
    fftwf_plan plan;
};

static size_t parts(int n, int of) {
    return (size_t)(n + of - 1) / (size_t)of;
}

static int end_of(size_t chunk, int size, int most) {
    const int end = (int)(chunk + 1) * size;
    return end < most ? end : most;
}

/* ---- real to real ---- */

static void real_rows(void *context, size_t chunk) {
    const struct passing *job = context;
    for (int y = (int)chunk * ROWS; y < end_of(chunk, ROWS, job->height); y++) {
        float *row = job->real + (size_t)y * (size_t)job->width;
        fftwf_execute_r2r(job->plan, row, row);
    }
}

static void real_columns(void *context, size_t chunk) {
    const struct passing *job = context;
    const size_t w = (size_t)job->width, h = (size_t)job->height;
    const int from = (int)chunk * COLUMNS, n = end_of(chunk, COLUMNS, job->width) - from;
    float *lines = memory_need(COLUMNS * h, sizeof *lines);
    for (size_t y = 0; y < h; y++)
        for (int k = 0; k < n; k++) lines[(size_t)k * h + y] = job->real[y * w + (size_t)(from + k)];
    for (int k = 0; k < n; k++) fftwf_execute_r2r(job->plan, lines + (size_t)k * h, lines + (size_t)k * h);
    for (size_t y = 0; y < h; y++)
        for (int k = 0; k < n; k++) job->real[y * w + (size_t)(from + k)] = lines[(size_t)k * h + y];
    memory_free(lines);
}

static fftwf_plan real_plan(int n, fftwf_r2r_kind kind) {
    float *line = memory_need((size_t)n, sizeof *line);
    fftwf_plan plan = fftwf_plan_r2r_1d(n, line, line, kind, FFTW_ESTIMATE | FFTW_UNALIGNED);
    assert(plan);
    memory_free(line);
    return plan;
}

void transform_real(float *plane, int width, int height, fftwf_r2r_kind down, fftwf_r2r_kind across,
                    struct work *work) {
    struct passing job = {.real = plane, .width = width, .height = height};
    job.plan = real_plan(width, across);
    work_run(work, parts(height, ROWS), real_rows, &job);
    fftwf_destroy_plan(job.plan);
    job.plan = real_plan(height, down);
    work_run(work, parts(width, COLUMNS), real_columns, &job);
    fftwf_destroy_plan(job.plan);
}

/* ---- real to complex and back ---- */

static void complex_columns(void *context, size_t chunk) {
    const struct passing *job = context;
    const size_t w = (size_t)job->width / 2 + 1, h = (size_t)job->height;
    const int from = (int)chunk * COLUMNS, n = end_of(chunk, COLUMNS, (int)w) - from;
    fftwf_complex *lines = memory_need(COLUMNS * h, sizeof *lines);
    for (size_t y = 0; y < h; y++)
        for (int k = 0; k < n; k++) lines[(size_t)k * h + y] = job->complex_[y * w + (size_t)(from + k)];
    for (int k = 0; k < n; k++) fftwf_execute_dft(job->plan, lines + (size_t)k * h, lines + (size_t)k * h);
    for (size_t y = 0; y < h; y++)
        for (int k = 0; k < n; k++) job->complex_[y * w + (size_t)(from + k)] = lines[(size_t)k * h + y];
    memory_free(lines);
}

static void pass_columns(struct passing *job, int sign, struct work *work) {
    fftwf_complex *line = memory_need((size_t)job->height, sizeof *line);
    job->plan = fftwf_plan_dft_1d(job->height, line, line, sign, FFTW_ESTIMATE | FFTW_UNALIGNED);
    assert(job->plan);
    memory_free(line);
    work_run(work, parts(job->width / 2 + 1, COLUMNS), complex_columns, job);
    fftwf_destroy_plan(job->plan);
}

static void forward_rows(void *context, size_t chunk) {
    const struct passing *job = context;
    const size_t w = (size_t)job->width, half = w / 2 + 1;
    float *row = memory_need(w, sizeof *row);
    for (int y = (int)chunk * ROWS; y < end_of(chunk, ROWS, job->height); y++) {
        memcpy(row, job->source + (size_t)y * w, w * sizeof *row);
        fftwf_execute_dft_r2c(job->plan, row, job->complex_ + (size_t)y * half);
    }
    memory_free(row);
}

void transform_forward(const float *from, int width, int height, fftwf_complex *to, struct work *work) {
    struct passing job = {.source = from, .complex_ = to, .width = width, .height = height};
    float *row = memory_need((size_t)width, sizeof *row);
    fftwf_complex *line = memory_need((size_t)width / 2 + 1, sizeof *line);
    job.plan = fftwf_plan_dft_r2c_1d(width, row, line, FFTW_ESTIMATE | FFTW_UNALIGNED);
    assert(job.plan);
    memory_free(row), memory_free(line);
    work_run(work, parts(height, ROWS), forward_rows, &job);
    fftwf_destroy_plan(job.plan);
    pass_columns(&job, FFTW_FORWARD, work);
}

static void back_rows(void *context, size_t chunk) {
    const struct passing *job = context;
    const size_t w = (size_t)job->width, half = w / 2 + 1;
    for (int y = (int)chunk * ROWS; y < end_of(chunk, ROWS, job->height); y++)
        fftwf_execute_dft_c2r(job->plan, job->complex_ + (size_t)y * half, job->real + (size_t)y * w);
}

void transform_back(fftwf_complex *from, int width, int height, float *to, struct work *work) {
    struct passing job = {.real = to, .complex_ = from, .width = width, .height = height};
    pass_columns(&job, FFTW_BACKWARD, work);
    float *row = memory_need((size_t)width, sizeof *row);
    fftwf_complex *line = memory_need((size_t)width / 2 + 1, sizeof *line);
    job.plan = fftwf_plan_dft_c2r_1d(width, line, row, FFTW_ESTIMATE | FFTW_UNALIGNED);
    assert(job.plan);
    memory_free(row), memory_free(line);
    work_run(work, parts(height, ROWS), back_rows, &job);
    fftwf_destroy_plan(job.plan);
}
