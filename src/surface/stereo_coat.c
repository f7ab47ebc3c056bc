/* How steep a coat of one colour is: what all torches are off in common, told by the coat itself.
 *
 *     v_i = A (1 - p m_ix - q m_iy) + gloss,   A = a / sqrt(1 + s^2 (p^2 + q^2))
 *
 * Shading alone fixes slopes up to a common scale s (the bas-relief ambiguity). But a steep place of a matt
 * coat of one albedo a is darker than a flat one under all torches together, by its n_z, and that knows no
 * scale: the regression of ln A on (p^2 + q^2) / 2 has the slope -s^2. (An albedo that is one over the
 * surface is what breaks the ambiguity: Belhumeur, Kriegman and Yuille 1999, section 4; Alldrin, Mallick and
 * Kriegman 2007.) A, p, q of each pixel come from all torches, less a lobe of gloss
 *
 *     g n_z^k (1 - p t_ix - q t_iy)^k,   t_i towards the torch, tan of half its zenith angle
 *
 * whose g and k are those that leave least over all pixels (Blinn 1977): gloss goes with the second and third
 * harmonic of the azimuth, where matt light has nothing. Mottled colour has no part in (p^2 + q^2) / 2 but
 * for chance; the spread over 25 parts of the field tells how much chance there is, and the scale counts no
 * more than that leaves it. */
#include "surface/stereo_coat.h"
#include "base/memory.h"
#include <math.h>
#include <string.h>

enum { PARTS = 5, PIXELS = 30000, ROUNDS = 2, LOBES = 6, LIGHTS_LEAST = 6, ASIDE = 2 };
static const double lobe[LOBES] = {16, 22, 30, 42, 58, 80};
static const float darkest = .25F, brightest = 3;
static const double temper = 20; /* pixels are not each by itself, and no lobe is quite right */
static const double least_sd = .02, lobe_doubt = .03; /* of what gloss makes of the slope */

struct pixel {
    float v[STEREO_MOST];
    double a, p, q, x, bend; /* x: (p^2 + q^2) / 2; bend: of the surface, a valley's is positive */
    int at_x, at_y, part;
};

struct coat {
    const struct stereo_task *task;
    struct pixel *pixel;
    size_t n;
    double power, share; /* k and g of the lobe */
    double gain[STEREO_MOST];
};

/* ---- the pixels ---- */

static bool take(const struct stereo_task *task, int x, int y, struct pixel *out) {
    for (int i = 0; i < task->lights; i++) {
        out->v[i] = task->shade[i][(size_t)y * (size_t)task->width + (size_t)x];
        if (!(out->v[i] > darkest && out->v[i] < brightest)) return false;
    }
    out->at_x = x, out->at_y = y;
    out->part = y * PARTS / task->height * PARTS + x * PARTS / task->width;
    out->a = 1, out->p = out->q = 0;
    return true;
}

static void gather(struct coat *coat) {
    const struct stereo_task *task = coat->task;
    const int stride = 1 + (int)sqrt((double)task->width * task->height / PIXELS);
    for (int y = stride / 2; y < task->height; y += stride)
        for (int x = stride / 2; x < task->width; x += stride)
            coat->n += take(task, x, y, &coat->pixel[coat->n]);
}

/* ---- one pixel ---- */

static void lean_at(const struct coat *coat, const struct pixel *pixel, int i, double m[2]) {
    m[0] = stereo_lean_x(&coat->task->lean[i], pixel->at_x);
    m[1] = stereo_lean_y(&coat->task->lean[i], pixel->at_y);
}

/* Against what the torch gives to level ground, as v is: over sin of its elevation. */
static double gloss(const struct coat *coat, const struct pixel *pixel, const double m[2]) {
    const double square = m[0] * m[0] + m[1] * m[1], far = sqrt(1 + square);
    const double half = 1 / (1 + far); /* tan(a / 2) / tan(a), a from the zenith */
    const double facing = 1 - half * (pixel->p * m[0] + pixel->q * m[1]);
    if (!(facing > 0)) return 0;
    return far * pow(facing * facing / ((1 + 2 * pixel->x) * (1 + half * half * square)), coat->power / 2);
}

/* A, A p, A q by least squares of v less gloss; out: what is left, and the lobe less its own such fit (so
 * that over all pixels the lobe's share follows). */
static bool fit(const struct coat *coat, struct pixel *pixel, double *left, double *lobe_left) {
    const int n = coat->task->lights;
    double a[3][5] = {{0}}, shine[STEREO_MOST], v[STEREO_MOST], m[STEREO_MOST][2];
    for (int i = 0; i < n; i++) {
        lean_at(coat, pixel, i, m[i]);
        shine[i] = coat->power > 0 ? gloss(coat, pixel, m[i]) : 0;
        v[i] = (double)pixel->v[i] * coat->gain[i];
        const double row[3] = {1, -m[i][0], -m[i][1]};
        for (int j = 0; j < 3; j++) {
            for (int k = 0; k < 3; k++) a[j][k] += row[j] * row[k];
            a[j][3] += row[j] * v[i], a[j][4] += row[j] * shine[i];
        }
    }
    for (int k = 0; k < 3; k++) {
        if (!(fabs(a[k][k]) > 1e-9)) return false;
        for (int i = 0; i < 3; i++) {
            const double f = i == k ? 0 : a[i][k] / a[k][k];
            for (int j = k; j < 5 && i != k; j++) a[i][j] -= f * a[k][j];
        }
    }
    double matt[3], of_lobe[3];
    for (int k = 0; k < 3; k++) matt[k] = a[k][3] / a[k][k], of_lobe[k] = a[k][4] / a[k][k];
    for (int i = 0; i < n; i++) {
        left[i] = v[i] - matt[0] + m[i][0] * matt[1] + m[i][1] * matt[2];
        lobe_left[i] = shine[i] - of_lobe[0] + m[i][0] * of_lobe[1] + m[i][1] * of_lobe[2];
    }
    for (int k = 0; k < 3; k++) matt[k] -= coat->share * of_lobe[k];
    if (!(matt[0] > .1)) return false;
    pixel->a = matt[0], pixel->p = matt[1] / matt[0], pixel->q = matt[2] / matt[0];
    pixel->x = (pixel->p * pixel->p + pixel->q * pixel->q) / 2;
    return true;
}

/* ---- the lobe ---- */

/* One turn over all pixels; the share of the lobe that leaves least, and what it leaves. */
static double turn(struct coat *coat) {
    double up = 0, down = 0, squares = 0, left[STEREO_MOST], lobe_left[STEREO_MOST];
    for (size_t k = 0; k < coat->n; k++) {
        if (!fit(coat, &coat->pixel[k], left, lobe_left)) continue;
        for (int i = 0; i < coat->task->lights; i++)
            up += left[i] * lobe_left[i], down += lobe_left[i] * lobe_left[i], squares += left[i] * left[i];
    }
    coat->share = down > 0 && up > 0 ? up / down : 0;
    return squares - 2 * coat->share * up + coat->share * coat->share * down;
}

/* Each picture was divided by its own mean, gloss and all: what the model's own means are gives the gain. */
static void set_gains(struct coat *coat) {
    for (int i = 0; i < coat->task->lights; i++) {
        double model = 0, seen = 0;
        for (size_t k = 0; k < coat->n; k++) {
            const struct pixel *pixel = &coat->pixel[k];
            double m[2];
            lean_at(coat, pixel, i, m);
            model += pixel->a * (1 - pixel->p * m[0] - pixel->q * m[1]) + coat->share * gloss(coat, pixel, m);
            seen += (double)pixel->v[i];
        }
        coat->gain[i] = model / seen;
    }
}

static double settle(struct coat *coat, double power) {
    double left = 0;
    coat->power = power;
    for (int round = 0; round < ROUNDS; round++) left = turn(coat);
    return left;
}

/* ---- the scale ---- */

/* Dirt and shade sit in the valleys, beside the steep places: the bend takes them out of the regression. */
static void set_bends(struct coat *coat) {
    const struct stereo_task *task = coat->task;
    for (size_t k = 0; k < coat->n; k++) {
        struct pixel *pixel = &coat->pixel[k], near;
        double left[STEREO_MOST], lobe_left[STEREO_MOST];
        for (int i = 0; i < 4; i++) {
            const int sign = i % 2 ? -ASIDE : ASIDE, x = pixel->at_x + (i < 2 ? sign : 0),
                      y = pixel->at_y + (i < 2 ? 0 : sign);
            if (x < 0 || y < 0 || x >= task->width || y >= task->height || !take(task, x, y, &near) ||
                !fit(coat, &near, left, lobe_left))
                continue; /* one side less: as if it were level there */
            pixel->bend += (i < 2 ? near.p : near.q) / sign;
        }
    }
}

/* Sums within one part, about its means: of x, bend and ln A. */
struct moments {
    double n, mean[3], of[3][3];
};

static void add_moments(struct moments *to, const struct moments *from, double sign) {
    for (int j = 0; j < 9; j++) to->of[j / 3][j % 3] += sign * from->of[j / 3][j % 3];
}

static double slope_of(const struct moments *m) {
    const double det = m->of[0][0] * m->of[1][1] - m->of[0][1] * m->of[0][1];
    return (m->of[0][2] * m->of[1][1] - m->of[1][2] * m->of[0][1]) / det;
}

/* The slope of ln A on x within the parts, and its standard error by leaving out one after the other. */
static bool regress(const struct coat *coat, double *slope, double *sd) {
    struct moments part[PARTS * PARTS] = {{0}}, all = {0};
    for (int pass = 0; pass < 2; pass++)
        for (size_t k = 0; k < coat->n; k++) {
            const struct pixel *pixel = &coat->pixel[k];
            struct moments *m = &part[pixel->part];
            const double v[3] = {fmin(pixel->x, .5), pixel->bend, log(pixel->a)};
            if (pass == 0) m->n++;
            for (int j = 0; j < 3; j++) {
                if (pass == 0) m->mean[j] += (v[j] - m->mean[j]) / m->n;
                for (int i = 0; i < 3 && pass; i++) m->of[j][i] += (v[j] - m->mean[j]) * (v[i] - m->mean[i]);
            }
        }
    for (int i = 0; i < PARTS * PARTS; i++) {
        if (part[i].n < 50) return false;
        add_moments(&all, &part[i], 1);
    }
    double squares = 0;
    *slope = slope_of(&all);
    for (int i = 0; i < PARTS * PARTS; i++) {
        struct moments rest = all;
        add_moments(&rest, &part[i], -1);
        squares += pow(slope_of(&rest) - *slope, 2);
    }
    *sd = sqrt(squares * (PARTS * PARTS - 1) / (PARTS * PARTS));
    return isfinite(*slope) && isfinite(*sd);
}

/* What one lobe makes of it; all begin where a coat without gloss stands. */
struct trial {
    double left, slope, sd;
    bool holds;
};

struct trials {
    const struct coat *matt;
    struct trial of[LOBES];
};

static void try_lobe(void *context, size_t chunk) {
    struct trials *trials = context;
    struct trial *trial = &trials->of[chunk];
    struct coat coat = *trials->matt;
    coat.pixel = memory_need(coat.n, sizeof *coat.pixel);
    memcpy(coat.pixel, trials->matt->pixel, coat.n * sizeof *coat.pixel);
    (void)settle(&coat, lobe[chunk]);
    set_gains(&coat);
    trial->left = settle(&coat, lobe[chunk]);
    trial->holds = regress(&coat, &trial->slope, &trial->sd);
    memory_free(coat.pixel);
}

static bool set_up(struct coat *coat, double *slope) {
    double left[STEREO_MOST], lobe_left[STEREO_MOST], sd;
    gather(coat);
    for (int i = 0; i < coat->task->lights; i++) coat->gain[i] = 1;
    set_bends(coat);
    for (size_t k = 0; k < coat->n; k++) (void)fit(coat, &coat->pixel[k], left, lobe_left);
    return regress(coat, slope, &sd);
}

/* Lobes weighed by what they leave. */
static bool sum_up(const struct trials *trials, double matt, double *ln_scale, double *sd) {
    const struct coat *coat = trials->matt;
    double best = trials->of[0].left, w = 0, sum = 0, squares = 0, own = 0;
    for (int i = 0; i < LOBES; i++) {
        if (!trials->of[i].holds) return false;
        best = fmin(best, trials->of[i].left);
    }
    const double unit = 2 * temper * best / ((double)coat->n * (coat->task->lights - 3));
    for (int i = 0; i < LOBES; i++) {
        const struct trial *trial = &trials->of[i];
        const double weight = exp((best - trial->left) / unit);
        w += weight, sum += weight * trial->slope, squares += weight * trial->slope * trial->slope;
        own += weight * trial->sd * trial->sd;
    }
    const double slope = sum / w, spread = sqrt(fmax(0, squares / w - slope * slope)),
                 of_lobe = lobe_doubt * (slope - matt);
    if (!(slope < 0)) return false;
    *ln_scale = .5 * log(-slope);
    *sd = hypot(.5 / -slope * sqrt(own / w + spread * spread + of_lobe * of_lobe), least_sd);
    return *sd < .5;
}

bool stereo_coat_scale(const struct stereo_task *task, struct work *work, double *ln_scale, double *sd) {
    struct coat coat = {.task = task};
    struct trials trials = {.matt = &coat};
    double matt;
    if (task->lights < LIGHTS_LEAST) return false;
    coat.pixel = memory_need(2 * (size_t)PIXELS, sizeof *coat.pixel);
    bool holds = set_up(&coat, &matt);
    if (holds) {
        work_run(work, LOBES, try_lobe, &trials);
        holds = sum_up(&trials, matt, ln_scale, sd);
    }
    memory_free(coat.pixel);
    return holds;
}
