/* A small renderer for tests of relief: a height map under a torch at a time. Lambert, gloss (Blinn and
 * Phong), cast shadow by marching towards the torch, fall-off of a near torch, the torch's power by chance,
 * noise of the sensor. The camera looks straight down from far. */
#ifndef RUSSET_TESTS_GRAIN_SCENE_H
#define RUSSET_TESTS_GRAIN_SCENE_H

#include "check.h"
#include "surface/stereo.h"

struct grain_scene {
    int n;
    double step;
    const double *z;
    double ks, shininess, noise;
    unsigned long long seed;
};

static inline double scene_gauss(unsigned long long *seed) {
    const double u = check_random(seed), v = check_random(seed);
    return sqrt(-2 * log(u + 1e-300)) * cos(6.283185307179586 * v);
}

static inline double scene_height(const struct grain_scene *s, int x, int y) {
    x = x < 0 ? 0 : x >= s->n ? s->n - 1 : x, y = y < 0 ? 0 : y >= s->n ? s->n - 1 : y;
    return s->z[(size_t)y * (size_t)s->n + (size_t)x];
}

/* Six heights around the pixel; exact for waves of eight pixels and more to a thousandth. */
static inline double scene_slope(const struct grain_scene *s, int x, int y, int i, int j) {
    static const double part[] = {45, -9, 1};
    double sum = 0;
    for (int k = 1; k <= 3; k++)
        sum += part[k - 1] * (scene_height(s, x + k * i, y + k * j) - scene_height(s, x - k * i, y - k * j));
    return sum / (60 * s->step);
}

/* Does something stand between the pixel and the torch? */
static inline bool scene_shaded(const struct grain_scene *s, int x, int y, const double l[3], double top) {
    const double across = hypot(l[0], l[1]), rise = l[2] / across * s->step;
    double z = scene_height(s, x, y) + 1e-6;
    for (int k = 1; k < 400; k++) {
        z += rise;
        if (z > top) return false;
        if (scene_height(s, (int)floor(x + .5 + k * l[0] / across), (int)floor(y + .5 + k * l[1] / across)) >
            z)
            return true;
    }
    return false;
}

/* What the torch in the direction of m (struct stereo_lean) gives at a pixel: Lambert, gloss, cast shadow. */
static inline double scene_light(const struct grain_scene *s, int x, int y, const double m[2], double top) {
    const double lz = 1 / sqrt(1 + m[0] * m[0] + m[1] * m[1]), l[3] = {m[0] * lz, m[1] * lz, lz};
    const double p = scene_slope(s, x, y, 1, 0), q = scene_slope(s, x, y, 0, 1);
    const double nz = 1 / sqrt(1 + p * p + q * q);
    const double lambert = nz * (l[2] - p * l[0] - q * l[1]);
    if (!(lambert > 0) || scene_shaded(s, x, y, l, top)) return 0;
    const double hl = sqrt(l[0] * l[0] + l[1] * l[1] + (l[2] + 1) * (l[2] + 1));
    const double nh = fmax(0, nz * (l[2] + 1 - p * l[0] - q * l[1]) / hl);
    return lambert + s->ks * (s->shininess + 2) / 8 * pow(nh, s->shininess);
}

/* One picture, about .45 bright; light: where the torch really stands. */
static inline void scene_shoot(struct grain_scene *s, const struct stereo_light *light, float *out) {
    struct stereo_task task = {s->n, s->n, 1, s->step, 0, 0, {out}, {*light}, {{0, 0, 0}}};
    stereo_stand(&task);
    const double usual = .9 * (.8 + .4 * check_random(&s->seed)),
                 power = light->elevation_deg < 90 ? usual
                                                   : .5 * usual; /* a flash beside the lens is exposed for */
    const double high = sin(light->elevation_deg * .017453292519943295);
    double top = -1e9;
    for (int i = 0; i < s->n * s->n; i++) top = fmax(top, s->z[i]);
    for (int y = 0; y < s->n; y++)
        for (int x = 0; x < s->n; x++) {
            const double m[2] = {stereo_lean_x(&task.lean[0], x), stereo_lean_y(&task.lean[0], y)};
            double v = scene_light(s, x, y, m, top);
            if (light->distance_mm > 0) v /= high * high * (1 + m[0] * m[0] + m[1] * m[1]);
            v = power * (v + .003) + s->noise * scene_gauss(&s->seed);
            out[(size_t)y * (size_t)s->n + (size_t)x] = (float)(v < 0 ? 0 : v >= 1 ? (double)INFINITY : v);
        }
}

#endif
