#include "surface/cracks.h"
#include "surface/blob.h"
#include "surface/crack_line.h"
#include "surface/path.h"
#include "surface/ridge.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double over_sound = 3, sound_quantile = .99, low_share = .5, rise_over = 2;
static const double path_quantile = .95, path_usual = .9, path_over = 3.4;
static const double least_high = 4; /* a patch without any texture must not turn noise into cracks */
static const double widest = 1.8;
static const float end_share = .5F;
static const double long_dark = 3, long_light = 5; /* a line is so often as long as wide; a worn speck not */
enum { LEAST_LENGTH = 14, PATH_GAP = 2, CHUNK = 1 << 16, TWIG = 9, MOST_OF = 4, END_REACH = 12 };

struct search {
    const struct crack_task *task;
    size_t cells;
    int width, height;
    struct ridge_planes ridge;
    float *dark, *light;          /* z over its threshold */
    struct crack_valley usual[2]; /* what the sound patch's own texture does, dark and light: medians */
    size_t *pick, picked;         /* cells of which order statistics are taken */
};

/* ---- order statistics of a plane over a mask ---- */

static int float_order(const void *a, const void *b) {
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Every so-many-th cell of the sound patch, or of the panel without one: 60000 or so. */
static void pick_cells(struct search *search) {
    const uint8_t *where = search->task->sound ? search->task->sound : search->task->inside;
    size_t all = 0, seen = 0;
    for (size_t i = 0; i < search->cells; i++) all += where[i] != 0;
    const size_t step = all / 60000 + 1;
    search->pick = memory_need(all / step + 2, sizeof *search->pick);
    for (size_t i = 0; i < search->cells; i++)
        if (where[i] && seen++ % step == 0) search->pick[search->picked++] = i;
}

static float *sorted_sample(const struct search *search, const float *v) {
    float *some = memory_need(search->picked + 1, sizeof *some);
    for (size_t i = 0; i < search->picked; i++) some[i] = v[search->pick[i]];
    qsort(some, search->picked, sizeof *some, float_order);
    return some;
}

static double quantile(const float *sorted, size_t n, double q) {
    return n ? (double)sorted[(size_t)floor(q * (double)(n - 1))] : 0;
}

/* ---- z ---- */

/* What makes z of a response: less the median, times scale; and 1 / threshold. */
struct measure {
    double median, scale;
    float over;
};

struct weighing {
    const struct search *search;
    float *const *plane[2]; /* dark and light, of all scales; the first of them takes the result */
    struct measure measure[2 * RIDGE_SCALES];
};

static float z_of(const struct measure *measure, float response) {
    return (float)(((double)response - measure->median) * measure->scale);
}

/* With a sound patch, what it reaches at a scale times over_sound: over it begins a crack. */
static void measure_one(void *context, size_t chunk) {
    struct weighing *job = context;
    struct measure *out = &job->measure[chunk];
    const size_t n = job->search->picked;
    const float *plane = job->plane[chunk / RIDGE_SCALES][chunk % RIDGE_SCALES];
    float *some = sorted_sample(job->search, plane), *off = memory_need(n + 1, sizeof *off);
    out->median = quantile(some, n, .5);
    for (size_t i = 0; i < n; i++) off[i] = (float)fabs((double)some[i] - out->median);
    qsort(off, n, sizeof *off, float_order);
    out->scale = 1 / fmax(1e-9, 1.4826 * quantile(off, n, .5));
    for (size_t i = 0; i < n; i++) some[i] = z_of(out, some[i]); /* stays in order */
    out->over = job->search->task->sound
                    ? (float)(1 / fmax(least_high, over_sound * quantile(some, n, sound_quantile)))
                    : 1;
    memory_free(some), memory_free(off);
}

/* z of all scales in one plane: with a sound patch over its threshold (1 and more is a crack). */
static void weigh_chunk(void *context, size_t chunk) {
    const struct weighing *job = context;
    const size_t end = (chunk + 1) * CHUNK < job->search->cells ? (chunk + 1) * CHUNK : job->search->cells;
    for (int light = 0; light < 2; light++)
        for (size_t i = chunk * CHUNK; i < end; i++) {
            const struct measure *m = job->measure + light * RIDGE_SCALES;
            float z = job->search->task->inside[i] ? m[0].over * z_of(&m[0], job->plane[light][0][i]) : 0;
            for (int s = 1; s < RIDGE_SCALES && job->search->task->inside[i]; s++) {
                const float other = m[s].over * z_of(&m[s], job->plane[light][s][i]);
                z = other > z ? other : z;
            }
            job->plane[light][0][i] = z;
        }
}

static void weigh(struct search *search) {
    struct weighing job = {search, {search->ridge.dark, search->ridge.light}, {{0, 0, 0}}};
    work_run(search->task->work, (size_t)2 * RIDGE_SCALES, measure_one, &job);
    work_run(search->task->work, (search->cells + CHUNK - 1) / CHUNK, weigh_chunk, &job);
}

static void respond(struct search *search) {
    for (int i = 0; i < RIDGE_SCALES; i++) {
        search->ridge.dark[i] = memory_need(search->cells, sizeof(float));
        search->ridge.light[i] = memory_need(search->cells, sizeof(float));
    }
    search->ridge.along_dark = memory_need(search->cells, 1);
    search->ridge.along_light = memory_need(search->cells, 1);
    search->ridge.mean = !search->task->sound;
    ridge_filter(search->task->flat, search->width, search->height, search->task->work, &search->ridge);
    pick_cells(search);
    weigh(search);
    search->dark = search->ridge.dark[0], search->light = search->ridge.light[0];
    for (int i = 1; i < RIDGE_SCALES; i++)
        memory_free(search->ridge.dark[i]), memory_free(search->ridge.light[i]);
}

static void forget(struct search *search) {
    memory_free(search->dark), memory_free(search->light), memory_free(search->pick);
    memory_free(search->ridge.along_dark), memory_free(search->ridge.along_light);
}

/* ---- which places are lines ---- */

/* Without a sound patch the texture of the panel itself is the measure: of the darkest twentieth of the
 * cells, those on ways far longer than those of nine in ten of their connected parts. Texture breaks up into
 * specks; a crack goes on. */
static void long_paths(const struct search *search, const float *z, uint8_t *mask, int32_t *label) {
    float *some = sorted_sample(search, z);
    const float least = (float)quantile(some, search->picked, path_quantile);
    memory_free(some);
    for (size_t i = 0; i < search->cells; i++) mask[i] = search->task->inside[i] && z[i] > least;
    float *length = memory_need(search->cells, sizeof *length);
    path_lengths(mask, search->width, search->height, PATH_GAP, search->task->work, length);
    struct blob *blob;
    const size_t parts = blob_label(mask, search->width, search->height, label, &blob);
    float *longest = memory_need(parts + 1, sizeof *longest);
    for (size_t i = 0; i < search->cells; i++)
        if (label[i]) longest[label[i] - 1] = fmaxf(longest[label[i] - 1], length[i]);
    qsort(longest, parts, sizeof *longest, float_order);
    const float enough = (float)fmax(LEAST_LENGTH, path_over * quantile(longest, parts, path_usual));
    for (size_t i = 0; i < search->cells; i++) mask[i] = length[i] >= enough;
    memory_free(longest), memory_free(blob), memory_free(length);
}

/* 1 where z is over the low threshold, in parts that reach the high one and carry evidence. */
static void hysteresis(const struct search *search, const float *z, uint8_t *mask, int32_t *label) {
    struct blob *blob;
    for (size_t i = 0; i < search->cells; i++) mask[i] = z[i] > (float)low_share;
    const size_t n = blob_label(mask, search->width, search->height, label, &blob);
    float *peak = memory_need(n + 1, sizeof *peak);
    double *evidence = memory_need(n + 1, sizeof *evidence);
    for (size_t i = 0; i < search->cells; i++) {
        const int32_t l = label[i];
        peak[l] = fmaxf(peak[l], z[i]);
        if (l) evidence[l] += (double)z[i] - low_share;
    }
    for (size_t i = 0; i < search->cells; i++)
        mask[i] = label[i] && peak[label[i]] >= 1 && evidence[label[i]] >= low_share * LEAST_LENGTH;
    memory_free(peak), memory_free(evidence), memory_free(blob);
}

/* ---- putting together ---- */

static int double_order(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void paint(const struct search *search, int x, int y, double width, uint8_t *mask) {
    const double r = fmax(.5, width / 2), reach = ceil(r);
    for (int j = -(int)reach; j <= (int)reach; j++)
        for (int i = -(int)reach; i <= (int)reach; i++) {
            const int u = x + i, v = y + j;
            if (u < 0 || v < 0 || u >= search->width || v >= search->height || hypot(i, j) > r) continue;
            const size_t at = (size_t)v * (size_t)search->width + (size_t)u;
            if (search->task->inside[at]) mask[at] = 1;
        }
}

struct widths {
    double *of; /* per thin cell of all cracks, in cells */
    size_t n, room;
};

static void widths_add(struct widths *widths, double width) {
    if (widths->n == widths->room) {
        widths->room = widths->room ? 2 * widths->room : 256;
        widths->of = memory_grow(widths->of, widths->room, sizeof *widths->of);
    }
    widths->of[widths->n++] = width;
}

struct line {
    double length, x, y;
    size_t steps;       /* of its cells lie at the edge of something, not in a line */
    size_t first, last; /* of its widths */
};

static void line_walk(const struct search *search, const uint8_t *thin, const int32_t *label,
                      struct line *line, size_t lines, const struct crack_ground *ground,
                      struct widths *widths) {
    /* Widths are gathered per line: count, then fill by a second walk in the same order. */
    size_t *count = memory_need(lines + 1, sizeof *count), total = widths->n;
    for (size_t i = 0; i < search->cells; i++)
        if (thin[i]) count[label[i] - 1]++;
    for (size_t l = 0; l < lines; l++) line[l].first = line[l].last = total, total += count[l];
    while (widths->n < total) widths_add(widths, NAN);
    for (size_t i = 0; i < search->cells; i++) {
        if (!thin[i]) continue;
        const int x = (int)(i % (size_t)search->width), y = (int)(i / (size_t)search->width);
        struct line *of = &line[label[i] - 1];
        const double step = crack_steps(thin, search->width, search->height, x, y);
        of->length += step, of->x += x, of->y += y;
        bool edge;
        double profile[CRACK_PROFILE];
        crack_profile(ground, x, y, crack_way(label, search->width, search->height, x, y), profile);
        widths->of[of->last++] = crack_profile_width(profile, CRACK_PROFILE, &edge);
        of->steps += edge;
    }
    memory_free(count);
}

/* NAN widths (the line runs into another, or fades) take the line's median, and none is far over it (a dark
 * stone beside the line); returns the median. */
static double width_settle(double *of, size_t n) {
    double *known = memory_need(n + 1, sizeof *known), median = 2;
    size_t k = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(of[i])) known[k++] = of[i];
    qsort(known, k, sizeof *known, double_order);
    if (k) median = known[k / 2];
    for (size_t i = 0; i < n; i++)
        if (isnan(of[i]))
            of[i] = median;
        else
            of[i] = fmin(of[i], widest * median);
    memory_free(known);
    return median;
}

static double median_of(double *v, size_t n) {
    qsort(v, n, sizeof *v, double_order);
    return n ? v[n / 2] : 0;
}

/* Of the lines of the sound patch's own texture, the strongest twentieth of its cells. */
static struct crack_valley usual_valley(const struct search *search, const float *z, bool light) {
    const uint8_t *along = light ? search->ridge.along_light : search->ridge.along_dark;
    const struct crack_ground ground = {search->task->light, NULL, search->width, search->height, light};
    float *some = sorted_sample(search, z);
    const float least = (float)quantile(some, search->picked, path_quantile);
    double *of[3];
    size_t n = 0;
    for (int k = 0; k < 3; k++) of[k] = memory_need(search->picked + 1, sizeof **of);
    for (size_t i = 0; i < search->picked; i++) {
        const size_t at = search->pick[i];
        double profile[CRACK_PROFILE];
        if (z[at] <= least) continue;
        crack_profile(&ground, (double)(at % (size_t)search->width), (double)(at / (size_t)search->width),
                      M_PI / RIDGE_DIRECTIONS * along[at], profile);
        const struct crack_valley valley = crack_valley_of(profile);
        if (valley.rise == 0) continue; /* at the border of the picture */
        of[0][n] = valley.rise, of[1][n] = valley.middle, of[2][n++] = valley.flank;
    }
    const struct crack_valley usual = {median_of(of[0], n), median_of(of[1], n), median_of(of[2], n)};
    for (int k = 0; k < 3; k++) memory_free(of[k]);
    memory_free(some);
    return usual;
}

/* Twice the texture's own rise; and what looks as the sound ground itself, between two worn places, must
 * lie as deep under the sound ground. */
static bool is_valley(const struct crack_valley *valley, const struct crack_valley *usual) {
    const double need = rise_over * usual->rise, under = need * fabs(usual->flank);
    if (!(valley->rise >= need)) return false;
    return fabs(valley->middle - usual->middle) > under || valley->middle < usual->flank - under;
}

/* About a thin cell, of the same part: how many cells there are, how many are good, the largest rise. */
struct about {
    int all, good;
    float most;
};

static struct about look_about(const struct search *search, const int32_t *label, const float *rise,
                               const uint8_t *good, size_t at, int reach) {
    const int x = (int)(at % (size_t)search->width), y = (int)(at / (size_t)search->width);
    struct about about = {0};
    for (int v = y - reach < 0 ? 0 : y - reach; v <= y + reach && v < search->height; v++)
        for (int u = x - reach < 0 ? 0 : x - reach; u <= x + reach && u < search->width; u++) {
            const size_t other = (size_t)v * (size_t)search->width + (size_t)u;
            if (label[other] != label[at]) continue;
            about.all++, about.good += good[other], about.most = fmaxf(about.most, rise[other]);
        }
    return about;
}

/* Filters that are long along a line carry it past its end: a last cell goes that rises less than half as
 * much as the line does nearby, and then the next. */
static void peel_ends(const struct search *search, const int32_t *label, const float *rise,
                      const uint8_t *good, uint8_t *thin) {
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < search->cells; i++) {
            if (!thin[i] || blob_neighbours(thin, search->width, search->height, (int)i) > 1) continue;
            if (good[i] && rise[i] >= end_share * look_about(search, label, rise, good, i, END_REACH).most)
                continue;
            thin[i] = 0, more = true;
        }
    }
}

/* Cells of thin lines stay where most of those about them have two flanks that rise. */
static void keep_valleys(const struct search *search, const struct crack_ground *ground,
                         const struct crack_valley *usual, uint8_t *thin, int32_t *label) {
    struct blob *blob;
    (void)blob_label(thin, search->width, search->height, label, &blob);
    memory_free(blob);
    uint8_t *good = memory_need(search->cells, 1);
    float *rise = memory_need(search->cells, sizeof *rise);
    for (size_t i = 0; i < search->cells; i++) {
        double profile[CRACK_PROFILE];
        if (!thin[i]) continue;
        const int x = (int)(i % (size_t)search->width), y = (int)(i / (size_t)search->width);
        crack_profile(ground, x, y, crack_way(label, search->width, search->height, x, y), profile);
        const struct crack_valley valley = crack_valley_of(profile);
        good[i] = is_valley(&valley, usual), rise[i] = (float)valley.rise;
    }
    for (size_t i = 0; i < search->cells; i++) {
        if (!label[i]) continue;
        const struct about about = look_about(search, label, rise, good, i, MOST_OF);
        thin[i] = 2 * about.good > about.all;
    }
    peel_ends(search, label, rise, good, thin);
    memory_free(good), memory_free(rise);
}

static void take_lines(const struct search *search, const float *z, bool light, struct arena *arena,
                       struct widths *widths, struct crack_result *out) {
    uint8_t *thin = memory_need(search->cells, 1);
    int32_t *label = memory_need(search->cells, sizeof *label);
    struct blob *blob;
    if (search->task->sound)
        hysteresis(search, z, thin, label);
    else
        long_paths(search, z, thin, label);
    blob_thin(thin, search->width, search->height);
    const struct crack_ground ground = {search->task->light, light ? out->mask : NULL, search->width,
                                        search->height, light};
    if (search->task->sound) keep_valleys(search, &ground, &search->usual[light], thin, label);
    blob_prune(thin, search->width, search->height, TWIG);
    const size_t n = blob_label(thin, search->width, search->height, label, &blob);
    struct line *line = memory_need(n + 1, sizeof *line);
    line_walk(search, thin, label, line, n, &ground, widths);
    struct crack *crack = arena_need(arena, out->cracks + n + 1, sizeof *crack);
    if (out->cracks) memcpy(crack, out->crack, out->cracks * sizeof *crack);
    const double mm = search->task->grid->cell_mm;
    for (size_t l = 0; l < n; l++) {
        const size_t cells = line[l].last - line[l].first;
        const double width = width_settle(widths->of + line[l].first, cells);
        if (line[l].length < fmax(LEAST_LENGTH, (light ? long_light : long_dark) * width) ||
            (!search->task->sound && 2 * line[l].steps > cells))
            continue;
        crack[out->cracks++] = (struct crack){line[l].length * mm, width * mm, line[l].x / (double)cells,
                                              line[l].y / (double)cells, light};
        out->length_mm += line[l].length * mm;
        line[l].x = -1; /* kept: painted below */
    }
    size_t *next = memory_need(n + 1, sizeof *next);
    for (size_t l = 0; l < n; l++) next[l] = line[l].first;
    for (size_t i = 0; i < search->cells; i++)
        if (thin[i]) {
            const size_t l = (size_t)label[i] - 1;
            const double width = widths->of[next[l]++];
            if (line[l].x < 0)
                paint(search, (int)(i % (size_t)search->width), (int)(i / (size_t)search->width), width,
                      out->mask);
            else
                widths->of[next[l] - 1] = NAN;
        }
    out->crack = crack;
    memory_free(next), memory_free(line), memory_free(blob), memory_free(label), memory_free(thin);
}

static void sum_up(struct widths *widths, double mm, struct crack_result *out) {
    size_t n = 0;
    for (size_t i = 0; i < widths->n; i++)
        if (!isnan(widths->of[i])) widths->of[n++] = widths->of[i];
    if (!n) return;
    qsort(widths->of, n, sizeof *widths->of, double_order);
    out->width_median_mm = widths->of[n / 2] * mm;
    out->width_p95_mm = widths->of[(size_t)(.95 * (double)(n - 1))] * mm;
}

/* How far the strongest hundredth of the patch stands over its median: texture has no such tail. */
static double patch_tail(const struct search *search) {
    float *some = sorted_sample(search, search->dark);
    const double tail = quantile(some, search->picked, .99) / fmax(1e-9, quantile(some, search->picked, .5));
    memory_free(some);
    return tail;
}

void cracks_find(const struct crack_task *task, struct arena *arena, struct crack_result *out) {
    struct search search = {.task = task, .width = task->grid->width, .height = task->grid->height};
    search.cells = (size_t)search.width * (size_t)search.height;
    *out = (struct crack_result){.mask = arena_need(arena, search.cells, 1)};
    respond(&search);
    if (task->sound) out->patch_tail = patch_tail(&search);
    if (task->sound)
        for (int light = 0; light < 2; light++)
            search.usual[light] = usual_valley(&search, light ? search.light : search.dark, light);
    struct widths widths = {0};
    take_lines(&search, search.dark, false, arena, &widths, out);
    if (task->sound) take_lines(&search, search.light, true, arena, &widths, out);
    sum_up(&widths, task->grid->cell_mm, out);
    memory_free(widths.of);
    forget(&search);
}
