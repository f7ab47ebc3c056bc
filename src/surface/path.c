/* Four sweeps there and four back; each knows of a cell the best path that ends in it and how many cells in a
 * row that path has missed. */
#include "surface/path.h"
#include "base/memory.h"
#include <math.h>

enum { WAYS = 4, BEFORE = 3 };

struct way {
    int dx[BEFORE], dy[BEFORE]; /* from a cell to those that a path may come from */
    float far[BEFORE];          /* progress along the direction */
};
static const struct way way[WAYS] = {{{-1, -1, -1}, {-1, 0, 1}, {1, 1, 1}},
                                     {{-1, 0, 1}, {-1, -1, -1}, {1, 1, 1}},
                                     {{-1, -1, 0}, {-1, 0, -1}, {1.4142F, .7071F, .7071F}},
                                     {{1, 1, 0}, {-1, 0, -1}, {1.4142F, .7071F, .7071F}}};

struct sweep {
    const uint8_t *mask;
    int width, height, gap;
    float *there[WAYS], *back[WAYS];
    uint8_t *missed[2 * WAYS];
};

struct end {
    float far;  /* of the path that ends here, from its first cell */
    int missed; /* cells in a row, up to here */
};

static struct end end_at(const struct sweep *job, const struct way *w, int sign, const float *far,
                         const uint8_t *missed, int x, int y) {
    const bool is_set = job->mask[(size_t)y * (size_t)job->width + (size_t)x];
    struct end best = {is_set ? 1.F : 0.F, 0};
    for (int k = 0; k < BEFORE; k++) {
        const int u = x + sign * w->dx[k], v = y + sign * w->dy[k];
        if (u < 0 || v < 0 || u >= job->width || v >= job->height) continue;
        const size_t from = (size_t)v * (size_t)job->width + (size_t)u;
        if (!(far[from] > 0)) continue;
        const int gone = is_set ? 0 : missed[from] + 1;
        const float reach = far[from] + w->far[k];
        if (gone <= job->gap && reach > best.far) best = (struct end){reach, gone};
    }
    return best;
}

/* Chunk 2 i: way i from its beginning; 2 i + 1: from its end. */
static void sweep_one(void *context, size_t chunk) {
    const struct sweep *job = context;
    const struct way *w = &way[chunk / 2];
    const bool returns = chunk % 2;
    float *far = returns ? job->back[chunk / 2] : job->there[chunk / 2];
    uint8_t *missed = job->missed[chunk];
    /* Way 0 needs whole columns before the next, the others whole rows; the last goes leftwards in its rows.
     */
    const bool by_columns = chunk / 2 == 0, leftwards = chunk / 2 == 3;
    const int outer = by_columns ? job->width : job->height, inner = by_columns ? job->height : job->width;
    for (int i = 0; i < outer; i++)
        for (int j = 0; j < inner; j++) {
            const int o = returns ? outer - 1 - i : i, n = returns != leftwards ? inner - 1 - j : j;
            const int x = by_columns ? o : n, y = by_columns ? n : o;
            const struct end end = end_at(job, w, returns ? -1 : 1, far, missed, x, y);
            const size_t at = (size_t)y * (size_t)job->width + (size_t)x;
            far[at] = end.far, missed[at] = (uint8_t)end.missed;
        }
}

void path_lengths(const uint8_t *mask, int width, int height, int gap, struct work *work, float *length) {
    const size_t cells = (size_t)width * (size_t)height;
    struct sweep job = {.mask = mask, .width = width, .height = height, .gap = gap};
    for (int i = 0; i < WAYS; i++) {
        job.there[i] = memory_need(cells, sizeof(float)), job.back[i] = memory_need(cells, sizeof(float));
        job.missed[2 * i] = memory_need(cells, 1), job.missed[2 * i + 1] = memory_need(cells, 1);
    }
    work_run(work, (size_t)2 * WAYS, sweep_one, &job);
    for (size_t i = 0; i < cells; i++) {
        length[i] = 0;
        for (int k = 0; k < WAYS; k++)
            if (job.there[k][i] > 0 && job.back[k][i] > 0)
                length[i] = fmaxf(length[i], job.there[k][i] + job.back[k][i] - 1);
    }
    for (int i = 0; i < WAYS; i++) {
        memory_free(job.there[i]), memory_free(job.back[i]);
        memory_free(job.missed[2 * i]), memory_free(job.missed[2 * i + 1]);
    }
}
