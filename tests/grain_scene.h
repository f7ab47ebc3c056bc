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

/* One picture, about .45 bright; light: where the torch really stands. */
static inline void scene_shoot(struct grain_scene *s, const struct stereo_light *light, float *out) {
    struct stereo_task task = {s->n, s->n, 1, s->step, 0, 0, {out}, {*light}};
    const double power = .9 * (.8 + .4 * check_random(&s->seed));
    double top = -1e9;
    for (int i = 0; i < s->n * s->n; i++) top = fmax(top, s->z[i]);
    for (int y = 0; y < s->n; y++)
        for (int x = 0; x < s->n; x++) {
            double l[3];
            stereo_direction(&task, 0, x, y, l);
            const double p = scene_slope(s, x, y, 1, 0), q = scene_slope(s, x, y, 0, 1);
            const double nz = 1 / sqrt(1 + p * p + q * q);
            const double lambert = fmax(0, nz * (l[2] - p * l[0] - q * l[1]));
            const double hl = sqrt(l[0] * l[0] + l[1] * l[1] + (l[2] + 1) * (l[2] + 1));
            const double nh = fmax(0, nz * (l[2] + 1 - p * l[0] - q * l[1]) / hl);
            double v = lambert + (lambert > 0 ? s->ks * (s->shininess + 2) / 8 * pow(nh, s->shininess) : 0);
            if (lambert > 0 && scene_shaded(s, x, y, l, top)) v = 0;
            if (light->distance_mm > 0) {
                const double dx = (x + .5 - s->n / 2.) * s->step / light->distance_mm -
                                  cos(light->azimuth_deg * .017453292519943295) *
                                      cos(light->elevation_deg * .017453292519943295);
                const double dy = (y + .5 - s->n / 2.) * s->step / light->distance_mm +
                                  sin(light->azimuth_deg * .017453292519943295) *
                                      cos(light->elevation_deg * .017453292519943295);
                const double dz = sin(light->elevation_deg * .017453292519943295);
                v /= dx * dx + dy * dy + dz * dz;
            }
            v = power * (v + .003) + s->noise * scene_gauss(&s->seed);
            out[(size_t)y * (size_t)s->n + (size_t)x] = (float)(v < 0 ? 0 : v >= 1 ? (double)INFINITY : v);
        }
}

#endif
