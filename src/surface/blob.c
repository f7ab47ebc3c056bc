#include "surface/blob.h"
#include "base/memory.h"
#include <math.h>
#include <string.h>

struct growing {
    const uint8_t *mask;
    int width, height;
    int32_t *label;
    int *stack;
    size_t held, room;
};

static void visit(struct growing *job, int x, int y, int32_t label) {
    if (x < 0 || y < 0 || x >= job->width || y >= job->height) return;
    const int at = y * job->width + x;
    if (!job->mask[at] || job->label[at]) return;
    if (job->held == job->room) {
        job->room = job->room ? 2 * job->room : 1024;
        job->stack = memory_grow(job->stack, job->room, sizeof *job->stack);
    }
    job->label[at] = label;
    job->stack[job->held++] = at;
}

struct moments {
    double n, x, y, xx, xy, yy;
};

static void blob_finish(const struct moments *m, struct blob *out) {
    out->x = m->x / m->n, out->y = m->y / m->n;
    const double a = m->xx / m->n - out->x * out->x + 1. / 12, c = m->yy / m->n - out->y * out->y + 1. / 12,
                 b = m->xy / m->n - out->x * out->y, root = sqrt((a - c) * (a - c) / 4 + b * b);
    out->long_sd = sqrt(fmax(0, (a + c) / 2 + root)), out->short_sd = sqrt(fmax(0, (a + c) / 2 - root));
}

static struct blob grow(struct growing *job, int seed, int32_t label) {
    struct blob blob = {.seed = seed};
    struct moments m = {0};
    visit(job, seed % job->width, seed / job->width, label);
    while (job->held) {
        const int at = job->stack[--job->held], x = at % job->width, y = at / job->width;
        m.n++, m.x += x, m.y += y, m.xx += (double)x * x, m.xy += (double)x * y, m.yy += (double)y * y;
        for (int k = 0; k < 9; k++) visit(job, x + k % 3 - 1, y + k / 3 - 1, label);
    }
    blob.cells = (size_t)m.n;
    blob_finish(&m, &blob);
    return blob;
}

size_t blob_label(const uint8_t *mask, int width, int height, int32_t *label, struct blob **out) {
    const int cells = width * height;
    struct growing job = {.mask = mask, .width = width, .height = height, .label = label};
    size_t n = 0, room = 64;
    struct blob *blob = memory_need(room, sizeof *blob);
    memset(label, 0, (size_t)cells * sizeof *label);
    for (int i = 0; i < cells; i++) {
        if (!mask[i] || label[i]) continue;
        if (n == room) blob = memory_grow(blob, room *= 2, sizeof *blob);
        blob[n] = grow(&job, i, (int32_t)n + 1);
        n++;
    }
    memory_free(job.stack);
    *out = blob;
    return n;
}

/* ---- thinning ---- */

static bool on(const uint8_t *mask, int width, int height, int x, int y) {
    return x >= 0 && y >= 0 && x < width && y < height && mask[y * width + x];
}

/* The eight neighbours from north, clockwise: P2..P9 of the paper. */
static void neighbours(const uint8_t *mask, int width, int height, int at, bool p[8]) {
    static const int dx[8] = {0, 1, 1, 1, 0, -1, -1, -1}, dy[8] = {-1, -1, 0, 1, 1, 1, 0, -1};
    for (int k = 0; k < 8; k++) p[k] = on(mask, width, height, at % width + dx[k], at / width + dy[k]);
}

int blob_neighbours(const uint8_t *mask, int width, int height, int at) {
    bool p[8];
    int n = 0;
    neighbours(mask, width, height, at, p);
    for (int k = 0; k < 8; k++) n += p[k];
    return n;
}

static bool may_go(const uint8_t *mask, int width, int height, int at, bool second) {
    bool p[8];
    int count = 0, turns = 0;
    neighbours(mask, width, height, at, p);
    for (int k = 0; k < 8; k++) count += p[k], turns += !p[k] && p[(k + 1) % 8];
    if (count < 2 || count > 6 || turns != 1) return false;
    if (second) return !(p[0] && p[2] && p[6]) && !(p[0] && p[4] && p[6]);
    return !(p[0] && p[2] && p[4]) && !(p[2] && p[4] && p[6]);
}

void blob_thin(uint8_t *mask, int width, int height) {
    const int cells = width * height;
    size_t n = 0;
    for (int i = 0; i < cells; i++) n += mask[i] != 0;
    int *left = memory_need(n + 1, sizeof *left), *gone = memory_need(n + 1, sizeof *gone);
    n = 0;
    for (int i = 0; i < cells; i++)
        if (mask[i]) left[n++] = i;
    for (bool any = true; any;) {
        any = false;
        for (int pass = 0; pass < 2; pass++) {
            size_t goes = 0, stays = 0;
            for (size_t i = 0; i < n; i++)
                if (may_go(mask, width, height, left[i], pass == 1))
                    gone[goes++] = left[i];
                else
                    left[stays++] = left[i];
            for (size_t i = 0; i < goes; i++) mask[gone[i]] = 0;
            n = stays;
            any |= goes > 0;
        }
    }
    memory_free(left), memory_free(gone);
}

/* The way from an end to where lines meet, at most `most` cells: twig[0..]; 0 when it is longer or ends free.
 */
static int walk_twig(const uint8_t *thin, int width, int height, int from, int most, int *twig) {
    int n = 0, before = -1;
    for (int at = from; n < most;) {
        bool p[8];
        int ways = 0, next = -1;
        neighbours(thin, width, height, at, p);
        for (int k = 0; k < 8; k++) ways += p[k] && !p[(k + 7) % 8]; /* two that touch are one way */
        if (n && ways > 2) return n;
        twig[n++] = at;
        static const int dx[8] = {0, 1, 1, 1, 0, -1, -1, -1}, dy[8] = {-1, -1, 0, 1, 1, 1, 0, -1};
        for (int k = 0; k < 8; k++) { /* straight ways first, so that no corner is cut */
            const int order = k < 4 ? 2 * k : 2 * k - 7, cell = at + dx[order] + dy[order] * width;
            bool seen = !p[order] || cell == before;
            for (int i = 0; i < n && !seen; i++) seen = twig[i] == cell;
            if (!seen && next < 0) next = cell;
        }
        if (next < 0) return 0;
        before = at, at = next;
    }
    return 0;
}

void blob_prune(uint8_t *thin, int width, int height, int most) {
    const int cells = width * height;
    int *twig = memory_need((size_t)most + 1, sizeof *twig);
    for (int i = 0; i < cells; i++) {
        bool p[8];
        int ways = 0, count = 0;
        if (!thin[i]) continue;
        neighbours(thin, width, height, i, p);
        for (int k = 0; k < 8; k++) ways += p[k] && !p[(k + 7) % 8], count += p[k];
        if (ways != 1 || count > 2) continue;
        const int n = walk_twig(thin, width, height, i, most, twig);
        for (int k = 0; k < n; k++) thin[twig[k]] = 0;
    }
    memory_free(twig);
}
