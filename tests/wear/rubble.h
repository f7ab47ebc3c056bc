/* Broken ground for crack tests (invented): stones of many greys in a darker binder, pits, sensor noise,
 * light that falls off; a crack wanders through, narrow or wide, jagged, partly filled with stones. One lamp,
 * no sound patch. */
#ifndef RUSSET_TESTS_RUBBLE_H
#define RUSSET_TESTS_RUBBLE_H

#include "check.h"
#include "surface/picture.h"

struct rubble {
    int width, height;
    float *light;   /* linear */
    uint8_t *truth; /* 255 on the crack */
    unsigned long long state;
};

static double rubble_random(struct rubble *r) {
    return check_random(&r->state);
}

static double rubble_normal(struct rubble *r) {
    return sqrt(-2 * log(1 - rubble_random(r))) * cos(2 * M_PI * rubble_random(r));
}

/* The nearest of jittered points wins a pixel; the gap to the second is binder. */
static void rubble_stones(struct rubble *r, double pitch, double contrast, double binder) {
    const int nx = (int)(r->width / pitch) + 3, ny = (int)(r->height / pitch) + 3;
    double *p = calloc((size_t)(nx * ny), 3 * sizeof *p);
    for (int i = 0; i < nx * ny; i++) {
        p[3 * i] = (i % nx - 1 + rubble_random(r)) * pitch,
              p[3 * i + 1] = (i / nx - 1 + rubble_random(r)) * pitch;
        p[3 * i + 2] = exp(contrast * rubble_normal(r));
    }
    for (int y = 0; y < r->height; y++)
        for (int x = 0; x < r->width; x++) {
            double first = 1e30, second = 1e30, tone = 1;
            const int cx = (int)(x / pitch) + 1, cy = (int)(y / pitch) + 1;
            for (int j = cy - 1; j <= cy + 1; j++)
                for (int i = cx - 1; i <= cx + 1; i++) {
                    if (i < 0 || j < 0 || i >= nx || j >= ny) continue;
                    const double *q = p + 3 * (j * nx + i), d = hypot(x - q[0], y - q[1]);
                    if (d < first)
                        second = first, first = d, tone = q[2];
                    else if (d < second)
                        second = d;
                }
            const double gap = exp(-pow((second - first) / (.25 * pitch), 2));
            r->light[y * r->width + x] *= (float)(tone * (1 - binder * gap));
        }
    free(p);
}

static void rubble_stamp(struct rubble *r, double x, double y, double half, double tone) {
    const int reach = (int)half + 2;
    for (int j = -reach; j <= reach; j++)
        for (int i = -reach; i <= reach; i++) {
            const int u = (int)floor(x) + i, v = (int)floor(y) + j;
            if (u < 0 || v < 0 || u >= r->width || v >= r->height || hypot(u + .5 - x, v + .5 - y) > half)
                continue;
            r->light[v * r->width + u] *= (float)tone;
        }
}

/* Fine relief lit from one side: light and dark specks of every length. */
static void rubble_relief(struct rubble *r, double deep, double wave) {
    const size_t n = (size_t)(r->width * r->height);
    float *a = malloc(n * sizeof *a), *b = malloc(n * sizeof *b);
    for (size_t i = 0; i < n; i++) a[i] = (float)rubble_normal(r);
    const int reach = (int)(2.5 * wave) + 1;
    for (int turn = 0; turn < 2; turn++) {
        const int step = turn ? r->width : 1, most = turn ? r->height : r->width;
        for (size_t i = 0; i < n; i++) {
            const int at = turn ? (int)i / r->width : (int)i % r->width;
            double sum = 0;
            for (int k = -reach; k <= reach; k++)
                if (at + k >= 0 && at + k < most)
                    sum += exp(-k * k / (2 * wave * wave)) * (double)(turn ? b : a)[(long)i + k * step];
            (turn ? a : b)[i] = (float)sum;
        }
    }
    double squares = 0;
    for (size_t i = 1; i < n; i++) squares += pow((double)(a[i] - a[i - 1]), 2);
    const double scale = deep / sqrt(squares / (double)n);
    for (size_t i = 1; i < n; i++) {
        const double slope = scale * (double)(a[i] - a[i - 1]);
        r->light[i] *= (float)fmax(.35, 1 + slope - (slope < -1.2 * deep ? .5 * deep : 0));
    }
    free(a), free(b);
}

/* tone: of the shaded bottom; fill: how much of it lies full of the ground's own stones, 0..1. */
static void rubble_crack(struct rubble *r, double half, double tone, double fill) {
    const bool down = rubble_random(r) < .5;
    const int span = down ? r->height : r->width, wide = down ? r->width : r->height;
    double across = (.25 + .5 * rubble_random(r)) * wide, way = .3 * rubble_normal(r), jag = 0, jump = 0,
           full = 0;
    for (double s = 0; s < span; s += .5) {
        way = .985 * way + .05 * rubble_normal(r), jag = .9 * jag + .3 * rubble_normal(r);
        if (rubble_random(r) < .02) jump = 2 * rubble_normal(r);
        if (rubble_random(r) < .05) full = rubble_random(r) < fill ? .4 + .6 * rubble_random(r) : 0;
        jump *= .97;
        across = fmax(12, fmin(wide - 12, across + .5 * way + .1 * jump));
        const double here = fmax(.6, half * (.75 + .3 * sin(s / 37) + .2 * jag)), at = across + .4 * jag;
        for (double u = -here; u <= here; u += .5) { /* the rims stay dark when it is full */
            const double rim = fabs(u) > here - 1.1 ? 1 : 1 - full;
            const double here_tone = 1 - (1 - tone) * rim;
            const int x = (int)floor(down ? at + u : s), y = (int)floor(down ? s : at + u);
            if (x < 0 || y < 0 || x >= r->width || y >= r->height) continue;
            const int i = y * r->width + x;
            if (!r->truth[i]) r->light[i] *= (float)here_tone;
            r->truth[i] = 255;
        }
    }
}

/* Every sort of it, by the seed. */
static struct rubble rubble_new(unsigned long long seed, int width, int height) {
    struct rubble r = {width, height, malloc((size_t)(width * height) * sizeof(float)),
                       calloc((size_t)(width * height), 1), 1000003 * seed + 17};
    for (int i = 0; i < width * height; i++) r.light[i] = .3F;
    for (int i = 0; i < 8; i++) (void)rubble_random(&r);
    rubble_stones(&r, 4 + 4 * rubble_random(&r), .06 + .1 * rubble_random(&r), .1 + .15 * rubble_random(&r));
    rubble_stones(&r, 9 + 10 * rubble_random(&r), .04 + .1 * rubble_random(&r), .25 * rubble_random(&r));
    for (int i = 0, n = (int)(60 * rubble_random(&r)); i < n; i++) /* pits, short and dark */
        rubble_stamp(&r, rubble_random(&r) * width, rubble_random(&r) * height, 1 + 2.5 * rubble_random(&r),
                     .4 + .3 * rubble_random(&r));
    const double half = .8 + 4.2 * pow(rubble_random(&r), 1.5);
    rubble_relief(&r, .08 + .2 * rubble_random(&r), .8 + 1.5 * rubble_random(&r));
    rubble_crack(&r, half, .3 + .35 * rubble_random(&r), .2 + .7 * rubble_random(&r));
    const double fx = .4 * rubble_normal(&r) / width, fy = .4 * rubble_normal(&r) / height;
    for (int i = 0; i < width * height; i++)
        r.light[i] *= (float)(exp(fx * (i % width - width / 2) + fy * (i / width - height / 2)) *
                              (1 + .06 * rubble_normal(&r)));
    return r;
}

static struct picture rubble_picture(const struct rubble *r) {
    struct picture picture = {.width = r->width, .height = r->height, .clip = 65000, .reduced = 1};
    picture.rgb = calloc(3 * (size_t)(r->width * r->height), sizeof *picture.rgb);
    for (int i = 0; i < 3 * r->width * r->height; i++)
        picture.rgb[i] = (uint16_t)lround(65535 * fmin(1, fmax(0, (double)r->light[i / 3])));
    return picture;
}

static void rubble_free(struct rubble *r) {
    free(r->light), free(r->truth);
}

#endif
