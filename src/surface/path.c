/* Four sweeps there and four back; each knows of a cell the best path that ends in it and how many cells in a
 * row that path has missed. Most of a picture is empty: eight cells are passed over at once where none is set
 * and no path comes in. Rows are padded, so that no path looks outside; the way along x runs on the mask
 * turned over its diagonal, where it is the way along y. */
#include "surface/path.h"
#include "base/memory.h"
#include <math.h>
#include <string.h>

enum { WAYS = 4, BEFORE = 3, PAD = 8, DEAD = 255 };

struct way {
    int dx[BEFORE], dy[BEFORE]; /* from a cell to those that a path may come from */
    float far[BEFORE];          /* progress along the direction */
    int across;                 /* the way that cells of a row follow each other; 0: they do not matter */
};
static const struct way straight = {{-1, 0, 1}, {-1, -1, -1}, {1, 1, 1}, 0};
static const struct way falling = {{-1, -1, 0}, {-1, 0, -1}, {1.4142F, .7071F, .7071F}, 1};
static const struct way rising = {{1, 1, 0}, {-1, 0, -1}, {1.4142F, .7071F, .7071F}, -1};
static const struct way *const way[WAYS] = {&straight, &straight, &falling, &rising};

struct frame {
    uint8_t *mask;
    int width, height;
    size_t stride, cells;
};

struct sweep {
    struct frame upright, turned;
    int gap;
    float *far[2 * WAYS];      /* of the path that ends here, from its first cell */
    uint8_t *missed[2 * WAYS]; /* cells in a row, up to here; DEAD: no path */
};

static const struct frame *frame_of(const struct sweep *job, size_t i) {
    return i == 0 ? &job->turned : &job->upright;
}

static void frame_make(int width, int height, struct frame *out) {
    *out = (struct frame){.width = width, .height = height, .stride = (size_t)width + 2 * PAD};
    out->cells = out->stride * ((size_t)height + 2);
    out->mask = memory_need(out->cells, 1);
}

static size_t frame_at(const struct frame *frame, int x, int y) {
    return (size_t)(y + 1) * frame->stride + (size_t)(x + PAD);
}

struct walk {
    const struct way *way;
    const uint8_t *mask;
    float *far;
    uint8_t *missed;
    ptrdiff_t from[BEFORE];
    int gap;
};

static void step(const struct walk *walk, size_t at) {
    const bool is_set = walk->mask[at];
    float best = is_set ? 1.F : 0.F;
    int missed = 0;
    for (int k = 0; k < BEFORE; k++) {
        const size_t from = at + (size_t)walk->from[k];
        if (walk->missed[from] == DEAD) continue;
        const int gone = is_set ? 0 : walk->missed[from] + 1;
        const float reach = walk->far[from] + walk->way->far[k];
        if (gone <= walk->gap && reach > best) best = reach, missed = gone;
    }
    if (best > 0) walk->far[at] = best, walk->missed[at] = (uint8_t)missed;
}

static uint64_t eight(const uint8_t *at) {
    uint64_t v;
    memcpy(&v, at, sizeof v);
    return v;
}

/* No cell set among eight, and no path from the row before or from beside. */
static bool is_empty(const struct walk *walk, size_t at, size_t before) {
    const uint64_t dead = ~(uint64_t)0;
    return eight(walk->mask + at) == 0 && eight(walk->missed + before - 1) == dead &&
           eight(walk->missed + before + 1) == dead && walk->missed[at - 1] == DEAD &&
           walk->missed[at + 8] == DEAD;
}

/* Chunk 2 i: way i from its beginning; 2 i + 1: from its end. */
static void sweep_one(void *context, size_t chunk) {
    const struct sweep *job = context;
    const struct frame *frame = frame_of(job, chunk / 2);
    const int sign = chunk % 2 ? -1 : 1, w = frame->width;
    struct walk walk = {way[chunk / 2], frame->mask, job->far[chunk], job->missed[chunk], {0}, job->gap};
    for (int k = 0; k < BEFORE; k++)
        walk.from[k] = sign * (walk.way->dx[k] + walk.way->dy[k] * (ptrdiff_t)frame->stride);
    const bool leftwards = sign * walk.way->across < 0;
    for (int i = 0; i < frame->height; i++) {
        const int y = sign > 0 ? i : frame->height - 1 - i;
        for (int j = 0; j < w; j += 8) {
            const int n = w - j < 8 ? w - j : 8, first = leftwards ? w - j - n : j;
            const size_t at = frame_at(frame, first, y);
            if (n == 8 && is_empty(&walk, at, frame_at(frame, first, y - sign))) continue;
            for (int k = 0; k < n; k++) step(&walk, at + (size_t)(leftwards ? n - 1 - k : k));
        }
    }
}

/* length := what is longer, of the paths of one way. */
static void take_way(const struct sweep *job, size_t i, float *length) {
    const struct frame *frame = frame_of(job, i);
    const uint8_t *there = job->missed[2 * i], *back = job->missed[2 * i + 1];
    for (int y = 0; y < frame->height; y++)
        for (int x = 0; x < frame->width; x++) {
            const size_t at = frame_at(frame, x, y);
            if (there[at] == DEAD || back[at] == DEAD) continue;
            const size_t to = i == 0 ? (size_t)x * (size_t)frame->height + (size_t)y
                                     : (size_t)y * (size_t)frame->width + (size_t)x;
            length[to] = fmaxf(length[to], job->far[2 * i][at] + job->far[2 * i + 1][at] - 1);
        }
}

void path_lengths(const uint8_t *mask, int width, int height, int gap, struct work *work, float *length) {
    const size_t cells = (size_t)width * (size_t)height;
    struct sweep job = {.gap = gap};
    frame_make(width, height, &job.upright), frame_make(height, width, &job.turned);
    for (size_t i = 0; i < cells; i++)
        if (mask[i]) {
            const int x = (int)(i % (size_t)width), y = (int)(i / (size_t)width);
            job.upright.mask[frame_at(&job.upright, x, y)] = 1;
            job.turned.mask[frame_at(&job.turned, y, x)] = 1;
        }
    for (size_t i = 0; i < (size_t)2 * WAYS; i++) {
        const size_t n = frame_of(&job, i / 2)->cells;
        job.far[i] = memory_need(n, sizeof(float)), job.missed[i] = memory_need(n, 1);
        memset(job.missed[i], DEAD, n);
    }
    work_run(work, (size_t)2 * WAYS, sweep_one, &job);
    memset(length, 0, cells * sizeof *length);
    for (size_t i = 0; i < WAYS; i++) take_way(&job, i, length);
    for (int i = 0; i < 2 * WAYS; i++) memory_free(job.far[i]), memory_free(job.missed[i]);
    memory_free(job.upright.mask), memory_free(job.turned.mask);
}
