/* The torches' directions from the pictures themselves. Over some blocks of the field, again and again:
 *
 *     1  A, p, q of each pixel by the directions as they stand (stereo_solve: gloss and shadow dropped)
 *     2  each torch's m by a weighted line v / A = c - m.(p, q) over all pixels
 *     3  the map M of (p, q) that has the least curl, d(M p)_x/dy = d(M p)_y/dx: the smallest eigenvector of
 * the 4 x 4 matrix of the slopes' derivatives; m goes by the inverse transposed 4  the common scale by the
 * told directions
 *
 * Steps 2 and 3 take out what each direction is off against the others. What they are off in common is
 * averaged by step 4, sd / sqrt(2 n) in elevation, 4.3 % of Sa for a degree of it at 27 degrees; then a coat
 * of one colour says its part (surface/stereo_coat.h). */
#include "base/memory.h"
#include "surface/stereo.h"
#include "surface/stereo_coat.h"
#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
enum { BLOCK = 96, BLOCKS = 5, AT_LEAST = 5, ROUNDS = 3, APART = 3, SMOOTH = 2, EDGE = APART + 2 * SMOOTH };
static const double least_slope = .01; /* flatter fields tell noise */

/* What a block adds. */
struct sums {
    double normal[STEREO_MOST][3][4];
    double curl[4][4];
    double squares, pixels;
};

struct aiming {
    struct stereo_task *task;
    int side, across, down; /* of a block; how many blocks */
    double mid_x, mid_y;    /* the pixel that the torches stand around */
    struct sums of[BLOCKS * BLOCKS], all;
};

static int corner(int i, int n, int side, int whole) {
    return n > 1 ? (int)((double)(whole - side) * i / (n - 1)) : (whole - side) / 2;
}

/* ---- 2: one line for each torch ---- */

static void add_pixel(const struct aiming *job, struct sums *sums, int x, int y, double a, double p,
                      double q) {
    const struct stereo_task *task = job->task;
    for (int i = 0; i < task->lights; i++) {
        const struct stereo_lean *lean = &task->lean[i];
        const double v = (double)task->shade[i][(size_t)y * (size_t)task->width + (size_t)x];
        if (!(v < 1e9) || task->light[i].elevation_deg >= 90) continue;
        const double m[2] = {stereo_lean_x(lean, x), stereo_lean_y(lean, y)};
        const double near[2] = {lean->a_pixel * (x - job->mid_x), lean->a_pixel * (y - job->mid_y)};
        const double off = v / a - 1 + m[0] * p + m[1] * q, r = off / (off > 0 ? .02 : .04);
        if (v < .2 || off > .1) continue;
        const double weight = 1 / (1 + r * r), row[4] = {1, -p, -q, v / a - near[0] * p - near[1] * q};
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 4; k++) sums->normal[i][j][k] += weight * row[j] * row[k];
    }
    sums->squares += p * p + q * q, sums->pixels++;
}

/* ---- 3: the curl ---- */

/* Means of 2 SMOOTH + 1 values along lines, twice; a line's ends keep what they have. */
static void smooth(float *plane, int n, int step, int stride) {
    float sum[BLOCK];
    for (int turn = 0; turn < 2; turn++)
        for (int line = 0; line < n; line++) {
            float *v = plane + line * stride;
            for (int i = SMOOTH; i < n - SMOOTH; i++) {
                sum[i] = 0;
                for (int k = -SMOOTH; k <= SMOOTH; k++) sum[i] += v[(i + k) * step] / (2 * SMOOTH + 1);
            }
            for (int i = SMOOTH; i < n - SMOOTH; i++) v[i * step] = sum[i];
        }
}

/* The difference over 2 APART steps, of means (Simpson) over as many steps crosswise. Of a slope across that
 * mean is a difference of heights, so that d/dy p and d/dx q are of the same four heights. */
static double around(const float *v, int step, int crosswise) {
    static const double part[] = {1, 4, 2, 4, 2, 4, 1};
    double sum = 0;
    for (int k = -APART; k <= APART; k++)
        sum += part[k + APART] * (double)(v[k * crosswise + APART * step] - v[k * crosswise - APART * step]);
    return sum / 18;
}

static void add_curl(int n, float *p_of, float *q_of, struct sums *sums) {
    for (int i = 0; i < 2; i++) {
        smooth(i ? q_of : p_of, n, 1, n);
        smooth(i ? q_of : p_of, n, n, 1);
    }
    for (int y = EDGE; y < n - EDGE; y++)
        for (int x = EDGE; x < n - EDGE; x++) {
            const float *p = p_of + y * n + x, *q = q_of + y * n + x;
            /* for M = a b / c d: a py + b qy - c px - d qx */
            const double d[4] = {around(p, n, 1), around(q, n, 1), -around(p, 1, n), -around(q, 1, n)};
            for (int j = 0; j < 4; j++)
                for (int k = 0; k < 4; k++) sums->curl[j][k] += d[j] * d[k];
        }
}

/* The eigenvector of the smallest eigenvalue by inverse iteration with a small shift; ratio: of the smallest
 * eigenvalue to the trace's mean. False when nothing can be told. */
static bool least_vector(double c[4][4], double out[4], double *ratio) {
    const double trace = c[0][0] + c[1][1] + c[2][2] + c[3][3];
    if (!(trace > 0)) return false;
    const double start[4] = {1, 0, 0, 1};
    memcpy(out, start, sizeof start);
    for (int turn = 0; turn < 50; turn++) {
        double a[4][5];
        for (int i = 0; i < 4; i++) {
            memcpy(a[i], c[i], sizeof c[i]);
            a[i][i] += 1e-9 * trace, a[i][4] = out[i];
        }
        for (int k = 0; k < 4; k++)
            for (int i = 0; i < 4; i++) {
                const double f = i == k ? 0 : a[i][k] / a[k][k];
                for (int j = k; j < 5 && i != k; j++) a[i][j] -= f * a[k][j];
            }
        double length = 0;
        for (int i = 0; i < 4; i++) out[i] = a[i][4] / a[i][i], length += out[i] * out[i];
        for (int i = 0; i < 4; i++) out[i] /= sqrt(length);
        *ratio = 1 / sqrt(length) / (trace / 4);
    }
    return isfinite(*ratio);
}

/* ---- one round ---- */

static void look_at_block(void *context, size_t chunk) {
    struct aiming *job = context;
    struct sums *sums = &job->of[chunk];
    const int side = job->side;
    const int left = corner((int)chunk % job->across, job->across, side, job->task->width),
              top = corner((int)chunk / job->across, job->down, side, job->task->height);
    struct stereo_lanes got;
    float *p = memory_need(2 * (size_t)(side * side), sizeof *p), *q = p + side * side;
    for (int y = 0; y < side; y++)
        for (int x = 0; x < side; x += STEREO_LANES) {
            stereo_solve(job->task, left + x, top + y, -1, &got);
            for (int k = 0; k < STEREO_LANES && x + k < side; k++) {
                p[y * side + x + k] = got.p[k], q[y * side + x + k] = got.q[k];
                if (got.kept[k] > 3 && fabsf(got.p[k]) < 1 && fabsf(got.q[k]) < 1)
                    add_pixel(job, sums, left + x + k, top + y, (double)got.a[k], (double)got.p[k],
                              (double)got.q[k]);
            }
        }
    add_curl(side, p, q, sums);
    memory_free(p);
}

static void look(struct aiming *job, struct work *work) {
    const size_t blocks = (size_t)job->across * (size_t)job->down;
    memset(job->of, 0, sizeof job->of), memset(&job->all, 0, sizeof job->all);
    work_run(work, blocks, look_at_block, job);
    for (size_t i = 0; i < blocks; i++) {
        const struct sums *from = &job->of[i];
        struct sums *to = &job->all;
        for (int k = 0; k < STEREO_MOST * 12; k++)
            to->normal[k / 12][k / 4 % 3][k % 4] += from->normal[k / 12][k / 4 % 3][k % 4];
        for (int k = 0; k < 16; k++) to->curl[k / 4][k % 4] += from->curl[k / 4][k % 4];
        to->squares += from->squares, to->pixels += from->pixels;
    }
}

static bool solve3(double a[3][4], double out[3]) {
    for (int k = 0; k < 3; k++) {
        if (!(fabs(a[k][k]) > 1e-12)) return false;
        for (int i = 0; i < 3; i++) {
            const double f = i == k ? 0 : a[i][k] / a[k][k];
            for (int j = k; j < 4 && i != k; j++) a[i][j] -= f * a[k][j];
        }
    }
    for (int i = 0; i < 3; i++) out[i] = a[i][3] / a[i][i];
    return true;
}

static void lean_of(const struct stereo_light *light, double m[2]) {
    const double a = light->azimuth_deg * pi / 180, e = light->elevation_deg * pi / 180;
    m[0] = cos(a) / tan(e), m[1] = -sin(a) / tan(e);
}

/* m of each torch after steps 2 and 3, their scale as it comes out. */
static bool refine(struct aiming *job, double m[STEREO_MOST][2]) {
    double map[4], ratio;
    if (!least_vector(job->all.curl, map, &ratio) || ratio > .3) return false;
    const double det = map[0] * map[3] - map[1] * map[2];
    if (!(fabs(det) > .1)) return false;
    const double size = (map[0] + map[3]) / 2; /* M near a multiple of one: that multiple is no matter */
    for (int i = 0; i < job->task->lights; i++) {
        double line[3];
        if (job->task->light[i].elevation_deg >= 90) continue;
        if (!solve3(job->all.normal[i], line)) return false;
        const double x = line[1] / line[0], y = line[2] / line[0];
        m[i][0] = size * (map[3] * x - map[2] * y) / det, m[i][1] = size * (map[0] * y - map[1] * x) / det;
    }
    return true;
}

/* The scale of all m whose elevations lie nearest to those told, in squares of degrees. */
static double common_scale(const struct stereo_light *told, int lights, double m[STEREO_MOST][2]) {
    double ln = 0;
    for (int turn = 0; turn < 8; turn++) {
        double up = 0, down = 0;
        for (int i = 0; i < lights; i++) {
            if (told[i].elevation_deg >= 90) continue;
            const double e = atan(1 / (exp(ln) * hypot(m[i][0], m[i][1]))), turned = sin(e) * cos(e);
            up += turned * (e - told[i].elevation_deg * pi / 180), down += turned * turned;
        }
        ln += up / down;
    }
    return exp(ln);
}

static double angle_between(const struct stereo_light *a, const struct stereo_light *b) {
    double m[2], n[2];
    lean_of(a, m), lean_of(b, n);
    const double dot = (m[0] * n[0] + m[1] * n[1] + 1) /
                       sqrt((m[0] * m[0] + m[1] * m[1] + 1) * (n[0] * n[0] + n[1] * n[1] + 1));
    return acos(fmin(1, dot)) * 180 / pi;
}

static bool one_round(struct aiming *job, const struct stereo_light *told, struct work *work) {
    struct stereo_task *task = job->task;
    double m[STEREO_MOST][2];
    look(job, work);
    if (!(job->all.pixels > 2000) || sqrt(job->all.squares / job->all.pixels) < least_slope ||
        !refine(job, m))
        return false;
    const double scale = common_scale(told, task->lights, m);
    for (int i = 0; i < task->lights; i++) {
        struct stereo_light *light = &task->light[i];
        if (light->elevation_deg >= 90) continue;
        light->azimuth_deg = atan2(-m[i][1], m[i][0]) * 180 / pi;
        light->elevation_deg = atan(1 / (scale * hypot(m[i][0], m[i][1]))) * 180 / pi;
        if (!(light->elevation_deg > 3 && light->elevation_deg < 89)) return false;
    }
    stereo_stand(task);
    return true;
}

static bool set_up(struct aiming *job, struct stereo_task *task) {
    const int least = task->width < task->height ? task->width : task->height;
    *job = (struct aiming){.task = task, .side = least < BLOCK ? least : BLOCK};
    job->mid_x = task->width / 2. - .5 - task->off_x, job->mid_y = task->height / 2. - .5 - task->off_y;
    job->side -= job->side % STEREO_LANES;
    job->across = task->width / job->side < BLOCKS ? task->width / job->side : BLOCKS;
    job->down = task->height / job->side < BLOCKS ? task->height / job->side : BLOCKS;
    int moved = 0;
    for (int i = 0; i < task->lights; i++) moved += task->light[i].elevation_deg < 90;
    return moved >= AT_LEAST && job->side >= 32;
}

/* ---- 4: the common scale, by what was told and by the coat ---- */

/* 4.3 % of Sa for a degree at 27 degrees. */
static double common_sd(const struct stereo_task *task, double sd_deg) {
    int moved = 0;
    for (int i = 0; i < task->lights; i++) moved += task->light[i].elevation_deg < 90;
    return .043 * sd_deg / sqrt(2.) / sqrt(moved > 0 ? moved : 1);
}

/* Both weighed by their certainty; a coat that says something quite else is not of one colour. */
static void take_coat(struct stereo_task *task, struct work *work, double *common) {
    double ln, sd;
    if (!stereo_coat_scale(task, work, &ln, &sd) || fabs(ln) > 3 * hypot(sd, *common)) return;
    const double of_coat = *common * *common / (*common * *common + sd * sd), scale = exp(of_coat * ln);
    for (int i = 0; i < task->lights; i++)
        if (task->light[i].elevation_deg < 90)
            task->light[i].elevation_deg =
                atan(scale * tan(task->light[i].elevation_deg * pi / 180)) * 180 / pi;
    stereo_stand(task);
    *common *= sqrt(1 - of_coat);
}

double stereo_aim(struct stereo_task *task, double sd_deg, struct work *work, double *common) {
    struct stereo_light told[STEREO_MOST];
    *common = common_sd(task, sd_deg);
    struct aiming *job = memory_need(1, sizeof *job);
    const bool fits = set_up(job, task);
    bool holds = fits;
    memcpy(told, task->light, sizeof told);
    for (int round = 0; round < ROUNDS && holds; round++) holds = one_round(job, told, work);
    memory_free(job);
    if (!fits) return -1;
    double squares = 0;
    for (int i = 0; i < task->lights; i++) squares += pow(angle_between(&told[i], &task->light[i]), 2);
    const double change = sqrt(squares / task->lights);
    if (holds && change <= 3 * fmax(sd_deg, .5)) {
        take_coat(task, work, common);
        return change;
    }
    memcpy(task->light, told, sizeof told);
    stereo_stand(task);
    return -1;
}
