#include "surface/loss_edge.h"
#include "base/memory.h"
#include <math.h>

enum { ROWS = 32 };
static const float half_squared = .25F;

struct edging {
    float *const *rgb;
    float sound[3];
    int width, height, reach;
    uint8_t *mask;
    float *off, *across; /* squared difference where the mask is; its largest along the row */
};

/* to[i] = max(to[i], from[i]); compilers make vectors of it. */
static void raise(float *restrict to, const float *restrict from, int n) {
    for (int i = 0; i < n; i++) to[i] = to[i] > from[i] ? to[i] : from[i];
}

static void differ_rows(void *context, size_t chunk) {
    const struct edging *job = context;
    const size_t w = (size_t)job->width;
    for (int y = (int)chunk * ROWS; y < job->height && y < ((int)chunk + 1) * ROWS; y++) {
        float *off = job->off + (size_t)y * w, *across = job->across + (size_t)y * w;
        for (size_t x = 0; x < w; x++) {
            float sum = 0;
            for (int c = 0; c < 3; c++) {
                const float d = job->rgb[c][(size_t)y * w + x] - job->sound[c];
                sum += d * d;
            }
            across[x] = off[x] = job->mask[(size_t)y * w + x] ? sum : 0;
        }
        for (int i = 1; i <= job->reach && i < job->width; i++)
            raise(across, off + i, job->width - i), raise(across + i, off, job->width - i);
    }
}

static void keep_rows(void *context, size_t chunk) {
    const struct edging *job = context;
    const size_t w = (size_t)job->width;
    float *most = memory_need(w, sizeof *most);
    for (int y = (int)chunk * ROWS; y < job->height && y < ((int)chunk + 1) * ROWS; y++) {
        for (size_t x = 0; x < w; x++) most[x] = 0;
        for (int v = y - job->reach; v <= y + job->reach; v++)
            if (v >= 0 && v < job->height) raise(most, job->across + (size_t)v * w, job->width);
        for (size_t x = 0; x < w; x++)
            if (job->off[(size_t)y * w + x] < half_squared * most[x]) job->mask[(size_t)y * w + x] = 0;
    }
    memory_free(most);
}

void loss_edge(float *const rgb[3], const double sound[3], int width, int height, int reach,
               struct work *work, uint8_t *mask) {
    const size_t cells = (size_t)width * (size_t)height, chunks = ((size_t)height + ROWS - 1) / ROWS;
    struct edging job = {rgb, {0}, width, height, reach, mask, NULL, NULL};
    for (int c = 0; c < 3; c++) job.sound[c] = (float)sound[c];
    job.off = memory_need(cells, sizeof *job.off), job.across = memory_need(cells, sizeof *job.across);
    work_run(work, chunks, differ_rows, &job);
    work_run(work, chunks, keep_rows, &job);
    memory_free(job.off), memory_free(job.across);
}
