/* The whole way from pictures to grain on our own renderer (tests/grain_scene.h). The truth is the same
 * surface through the same F, S and L. */
#include "grain_scene.h"
#include "random_field.h"
#include "surface/stereo.h"

enum { N = 480, LIGHTS = 8 };
static const double step = .07;

struct shot {
    float *plane[STEREO_MOST];
    struct stereo_task task;
};

static struct stereo_light placed(int i, int lights, double elevation) {
    return (struct stereo_light){360. * i / lights + 10, elevation, 400};
}

/* The pictures of a surface, told with directions that are off by sd degrees. */
static struct shot take(struct grain_scene *scene, int lights, double sd) {
    struct shot s = {.task = {scene->n, scene->n, lights, scene->step, 0, 0, {0}, {{0, 0, 0}}}};
    for (int i = 0; i < lights; i++) {
        struct stereo_light light = placed(i, lights, 27.5);
        s.plane[i] = calloc((size_t)scene->n * (size_t)scene->n, sizeof(float));
        scene_shoot(scene, &light, s.plane[i]);
        CHECK(stereo_normalise(s.plane[i], scene->n, scene->n));
        /* sd: root mean square of the angle between the true and the told direction */
        light.azimuth_deg += sd / sqrt(2) / cos(27.5 * .017453292519943295) * scene_gauss(&scene->seed);
        light.elevation_deg += sd / sqrt(2) * scene_gauss(&scene->seed);
        s.task.light[i] = light, s.task.shade[i] = s.plane[i];
    }
    return s;
}

static void end(struct shot *s) {
    for (int i = 0; i < STEREO_MOST; i++) free(s->plane[i]);
}

static void read(const struct stereo_task *task, struct areal *out, struct stereo_quality *quality) {
    const size_t n = (size_t)task->width * (size_t)task->height;
    double *p = calloc(n, sizeof *p), *q = calloc(n, sizeof *q);
    struct relief r = {task->width, task->height, task->step_mm, calloc(n, sizeof(double))};
    stereo_slopes(task, NULL, p, q, quality);
    stereo_integrate(p, q, &r);
    areal_level(&r), areal_filter(&r, .25, 5), areal_measure(&r, out);
    free(p), free(q), free(r.z_mm);
}

static void truth_of(const struct grain_scene *s, struct areal *out) {
    const size_t bytes = (size_t)s->n * (size_t)s->n * sizeof(double);
    struct relief r = {s->n, s->n, s->step, malloc(bytes)};
    memcpy(r.z_mm, s->z, bytes);
    areal_level(&r), areal_filter(&r, .25, 5), areal_measure(&r, out);
    free(r.z_mm);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Errors of Sa, Sal (relative) and Str over some surfaces: median and 90 % point. */
static void errors(double sd, double ks, int runs, double worst[3]) {
    double e[3][64];
    for (int k = 0; k < runs; k++) {
        const double t = .4 + .1 * (k % 4);
        double *z =
            random_field(N, step, .012 + .006 * (k % 3), t, k % 2 ? t : .6 * t, 77 + (unsigned long long)k);
        struct grain_scene scene = {N, step, z, ks, 30, .004, 1234567 + (unsigned long long)k};
        struct areal want, got;
        struct stereo_quality quality;
        struct shot s = take(&scene, LIGHTS, sd);
        truth_of(&scene, &want), read(&s.task, &got, &quality);
        e[0][k] = fabs(got.value[AREAL_SA] / want.value[AREAL_SA] - 1);
        e[1][k] = fabs(got.value[AREAL_SAL] / want.value[AREAL_SAL] - 1);
        e[2][k] = fabs(got.value[AREAL_STR] - want.value[AREAL_STR]);
        end(&s), free(z);
    }
    for (int i = 0; i < 3; i++)
        qsort(e[i], (size_t)runs, sizeof(double), by_size), worst[i] = e[i][(int)ceil(.9 * runs) - 1];
    printf("  figure: 8 lights, sd %g degrees, ks %g: Sa %.2f/%.2f %%, Sal %.2f/%.2f %%, Str %.3f/%.3f "
           "(median/p90 of %d)\n",
           sd, ks, 100 * e[0][runs / 2], 100 * worst[0], 100 * e[1][runs / 2], 100 * worst[1], e[2][runs / 2],
           worst[2], runs);
}

static void eight_lights_read_a_glossy_grain(void) {
    double worst[3];
    errors(2, .05, getenv("RUSSET_LONG") ? 24 : 6, worst);
    CHECK_AT_MOST(worst[0], .06);
    CHECK_AT_MOST(worst[1], .022);
    CHECK_AT_MOST(worst[2], .05);
}

static void LONG_other_directions_and_gloss(void) {
    double worst[3];
    errors(2, 0, 24, worst);
    errors(5, .05, 24, worst);
    errors(2, .1, 24, worst);
}

int main(void) {
    RUN(eight_lights_read_a_glossy_grain);
    RUN(LONG_other_directions_and_gloss);
    return check_done();
}
