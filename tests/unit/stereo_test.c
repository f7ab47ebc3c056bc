/* The whole way from pictures to grain on our own renderer (tests/grain_scene.h): random fields, and the
 * height map of a leather scan (Poly Haven, CC0, tests/data/grain). Every picture goes through 8 bits of sRGB
 * and a JPEG of quality
 * 90. The truth is the same surface through the same F, S and L. */
#include "grain_scene.h"
#include "random_field.h"
#include "surface/grain.h"
#include "surface/stereo.h"
#include <jpeglib.h>
#include <png.h>

enum { N = 420, LIGHTS = 8, RUNS_MOST = 64 };
static const double step = .08;

struct shot {
    float *plane[STEREO_MOST];
    struct stereo_task task;
};

static struct stereo_light placed(int i, int lights, double elevation) {
    return (struct stereo_light){360. * i / lights + 10, elevation, 400};
}

static double encoded(double v) {
    return v <= .0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - .055;
}

static double decoded(double v) {
    return v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
}

static unsigned char *jpeg_of(const unsigned char *grey, int n, unsigned long *bytes) {
    struct jpeg_compress_struct out;
    struct jpeg_error_mgr errors;
    unsigned char *jpeg = NULL;
    out.err = jpeg_std_error(&errors);
    jpeg_create_compress(&out);
    jpeg_mem_dest(&out, &jpeg, bytes);
    out.image_width = out.image_height = (JDIMENSION)n, out.input_components = 1;
    out.in_color_space = JCS_GRAYSCALE;
    jpeg_set_defaults(&out), jpeg_set_quality(&out, 90, TRUE);
    jpeg_start_compress(&out, TRUE);
    for (int y = 0; y < n; y++) {
        unsigned char row[1024];
        JSAMPROW line = memcpy(row, grey + (size_t)y * (size_t)n, (size_t)n);
        (void)jpeg_write_scanlines(&out, &line, 1);
    }
    jpeg_finish_compress(&out), jpeg_destroy_compress(&out);
    return jpeg;
}

static void read_jpeg(const unsigned char *jpeg, unsigned long bytes, int n, unsigned char *grey) {
    struct jpeg_decompress_struct in;
    struct jpeg_error_mgr errors;
    in.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&in);
    jpeg_mem_src(&in, jpeg, bytes);
    (void)jpeg_read_header(&in, TRUE);
    (void)jpeg_start_decompress(&in);
    for (int y = 0; y < n; y++) {
        JSAMPROW line = grey + (size_t)y * (size_t)n;
        (void)jpeg_read_scanlines(&in, &line, 1);
    }
    (void)jpeg_finish_decompress(&in), jpeg_destroy_decompress(&in);
}

static void through_jpeg(float *plane, int n) {
    const int cells = n * n;
    unsigned char *grey = malloc((size_t)cells);
    double table[256];
    unsigned long bytes = 0;
    for (int i = 0; i < 256; i++) table[i] = decoded(i / 255.);
    for (int i = 0; i < cells; i++)
        grey[i] = (unsigned char)(255 * encoded(isinf(plane[i]) ? 1 : (double)plane[i]) + .5);
    unsigned char *jpeg = jpeg_of(grey, n, &bytes);
    read_jpeg(jpeg, bytes, n, grey);
    for (int i = 0; i < cells; i++) plane[i] = grey[i] >= 254 ? (float)INFINITY : (float)table[grey[i]];
    free(grey), free(jpeg);
}

/* The pictures of a surface, told with directions that are off by sd degrees. */
static struct shot take(struct grain_scene *scene, int lights, double sd) {
    struct shot s = {.task = {scene->n, scene->n, lights, scene->step, 0, 0, {0}, {{0, 0, 0}}, {{0, 0, 0}}}};
    for (int i = 0; i < lights; i++) {
        struct stereo_light light = placed(i, lights, 27.5);
        s.plane[i] = calloc((size_t)scene->n * (size_t)scene->n, sizeof(float));
        scene_shoot(scene, &light, s.plane[i]);
        through_jpeg(s.plane[i], scene->n);
        CHECK(stereo_normalise(s.plane[i], scene->n, scene->n, NULL));
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

/* chance may be NULL. */
static void read_relief(struct stereo_task *task, double sd, struct areal *out,
                        struct stereo_quality *quality, struct areal *chance, double *common) {
    const size_t n = (size_t)task->width * (size_t)task->height;
    float *p = calloc(n, sizeof *p), *q = calloc(n, sizeof *q);
    struct relief r = {task->width, task->height, task->step_mm, calloc(n, sizeof(double))};
    stereo_stand(task);
    double here = 0;
    if (sd > 0) CHECK(stereo_aim(task, sd, NULL, &here) >= 0);
    if (common) *common = here;
    stereo_slopes(task, NULL, p, q, quality);
    stereo_integrate(p, q, .25, 5, NULL, &r);
    areal_measure(&r, NULL, out);
    if (chance) areal_chance(&r, out, NULL, chance);
    free(p), free(q), free(r.z_mm);
}

static void truth_of(const struct grain_scene *s, struct areal *out) {
    const size_t bytes = (size_t)s->n * (size_t)s->n * sizeof(double);
    struct relief r = {s->n, s->n, s->step, malloc(bytes)};
    memcpy(r.z_mm, s->z, bytes);
    areal_level(&r), areal_filter(&r, .25, 5), areal_measure(&r, NULL, out);
    free(r.z_mm);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Errors over some surfaces, median and 90 % point: Sa and Sal (relative), Str. */
enum { OF_SA, OF_SAL, OF_STR, ERRORS };
struct errors {
    int runs;
    double e[ERRORS][RUNS_MOST], p90[ERRORS];
};

static void add_run(struct errors *errors, struct grain_scene *scene, double sd) {
    struct areal want, got;
    struct stereo_quality quality;
    const int k = errors->runs++;
    struct shot s = take(scene, LIGHTS, sd);
    truth_of(scene, &want), read_relief(&s.task, sd, &got, &quality, NULL, NULL);
    errors->e[OF_SA][k] = fabs(got.value[AREAL_SA] / want.value[AREAL_SA] - 1);
    errors->e[OF_SAL][k] = fabs(got.value[AREAL_SAL] / want.value[AREAL_SAL] - 1);
    errors->e[OF_STR][k] = fabs(got.value[AREAL_STR] - want.value[AREAL_STR]);
    end(&s);
}

static void tell(struct errors *errors, const char *what, double sd, double ks) {
    const int runs = errors->runs, m = runs / 2;
    double(*e)[RUNS_MOST] = errors->e, *p90 = errors->p90;
    for (int i = 0; i < ERRORS; i++)
        qsort(e[i], (size_t)runs, sizeof(double), by_size), p90[i] = e[i][(int)ceil(.9 * runs) - 1];
    printf("  figure: %s, 8 lights, sd %g degrees, ks %g: Sa %.2f/%.2f %%, Sal %.2f/%.2f %%, Str %.4f/%.4f "
           "(median/p90 of %d)\n",
           what, sd, ks, 100 * e[OF_SA][m], 100 * p90[OF_SA], 100 * e[OF_SAL][m], 100 * p90[OF_SAL],
           e[OF_STR][m], p90[OF_STR], runs);
}

static void errors_of(double sd, double ks, int runs, unsigned long long seed, double p90[ERRORS]) {
    static struct errors errors;
    errors.runs = 0;
    for (int k = 0; k < runs; k++) {
        const double t = .45 + .1 * (k % 4);
        double *z =
            random_field(N, step, .012 + .006 * (k % 3), t, k % 2 ? t : .7 * t, seed + (unsigned long long)k);
        struct grain_scene scene = {N, step, z, ks, 30, .004, 1234500 + seed + (unsigned long long)k};
        add_run(&errors, &scene, sd);
        free(z);
    }
    tell(&errors, "random fields", sd, ks);
    memcpy(p90, errors.p90, sizeof errors.p90);
}

/* The leather scan in mm; its whole range of heights is deep. */
static double *leather(double deep) {
    png_image image = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&image, TEST_DATA "/grain/height16_640.png")) return NULL;
    image.format = PNG_FORMAT_LINEAR_Y;
    unsigned short *v = malloc(PNG_IMAGE_SIZE(image));
    double *z = calloc((size_t)image.width * (size_t)image.height, sizeof *z);
    png_image_finish_read(&image, NULL, v, 0, NULL);
    unsigned short low = 65535, high = 0;
    for (unsigned i = 0; i < image.width * image.height; i++)
        low = v[i] < low ? v[i] : low, high = v[i] > high ? v[i] : high;
    for (unsigned i = 0; i < image.width * image.height; i++) z[i] = deep * (v[i] - low) / (high - low);
    free(v);
    return z;
}

static void LONG_a_leather_scan(void) {
    static struct errors errors;
    double *z = leather(.12);
    CHECK(z);
    errors.runs = 0;
    for (int k = 0; z && k < 30; k++) {
        struct grain_scene scene = {640, .05, z, .05, 30, .004, 40 + (unsigned long long)k};
        add_run(&errors, &scene, 2);
    }
    tell(&errors, "leather scan", 2, .05);
    CHECK_AT_MOST(errors.p90[OF_SAL], .017);
    CHECK_AT_MOST(errors.p90[OF_STR], .05);
    free(z);
}

static void eight_lights_read_a_glossy_grain(void) {
    double p90[ERRORS];
    errors_of(2, .05, 3, 77, p90);
    CHECK_AT_MOST(p90[OF_SA], .03);
    CHECK_AT_MOST(p90[OF_SAL], .017);
    CHECK_AT_MOST(p90[OF_STR], .05);
}

/* Five, six, eight lights; burnt pixels, black ones and glints among them; a width that eight does not
 * divide. */
static void avx2_and_threads_change_no_bit(void) {
    enum { W = 101, H = 40 };
    unsigned long long seed = 9;
    struct work *work = work_new(2, NULL, NULL);
    for (int lights = 5; lights <= 8; lights++) {
        struct stereo_task task = {W, H, lights, step, 0, 0, {0}, {{0, 0, 0}}, {{0, 0, 0}}};
        float *v = calloc((size_t)lights * W * H, sizeof *v), *slope = calloc(4 * W * H, sizeof *slope);
        for (int i = 0; i < lights * W * H; i++) {
            const double u = check_random(&seed);
            v[i] = u < .02   ? (float)INFINITY
                   : u < .05 ? 0
                   : u < .1  ? 3
                             : (float)(.8 + .4 * check_random(&seed));
        }
        for (int i = 0; i < lights; i++)
            task.shade[i] = v + (size_t)i * W * H, task.light[i] = placed(i, lights, 27.5);
        stereo_stand(&task);
        for (int x = 0; x < W; x += STEREO_LANES)
            for (int y = 0; y < H; y++) {
                struct stereo_lanes a, b;
                stereo_solve(&task, x, y, -1, &a), stereo_solve_plainly(&task, x, y, -1, &b);
                CHECK(memcmp(&a, &b, sizeof a) == 0);
            }
        struct stereo_quality one, two;
        stereo_slopes(&task, NULL, slope, slope + W * H, &one);
        stereo_slopes(&task, work, slope + 2 * W * H, slope + 3 * W * H, &two);
        CHECK(memcmp(slope, slope + 2 * W * H, 2 * W * H * sizeof *slope) == 0);
        CHECK(one.dropped == two.dropped && one.residual == two.residual);
        for (int i = 0; i < 2 * W * H; i++) CHECK(isfinite(slope[i]));
        free(v), free(slope);
    }
    work_free(work);
}

static void LONG_other_directions_and_gloss(void) {
    double p90[ERRORS];
    static const double sd[] = {0, 2, 2, 5, 2, 5}, ks[] = {.05, 0, .05, .05, .1, .1};
    for (int i = 0; i < 6; i++) {
        errors_of(sd[i], ks[i], 60, 5000, p90);
        CHECK_AT_MOST(p90[OF_SAL], .017);
        CHECK_AT_MOST(p90[OF_STR], .05);
        /* Asked of Sa with ks .05; of black leather (ks .1) only Sal is asked: its Sa reads 4.2 and 5.4 % and
         * is watched. */
        CHECK_AT_MOST(p90[OF_SA], ks[i] > .05 ? .06 : sd[i] > 2 ? .05 : .03);
    }
}

/* The material itself: a field sixteen times as large, of which each set of pictures shows a piece, so that
 * what a piece shows of it by chance is in the error. Of the highest and lowest place, the mean of the
 * pieces: Sz grows with the field. */
enum { WIDE = 4 * N, PIECES = 16 };

static void cut(const double *wide, int piece, double *z) {
    for (int y = 0; y < N; y++)
        memcpy(z + (size_t)y * N, wide + (size_t)(y + piece / 4 * N) * WIDE + piece % 4 * N, N * sizeof *z);
}

static void material_of(const double *wide, struct areal *out) {
    struct relief all = {WIDE, WIDE, step, malloc((size_t)WIDE * WIDE * sizeof(double))};
    struct relief one = {N, N, step, malloc((size_t)N * N * sizeof(double))};
    double sz = 0;
    memcpy(all.z_mm, wide, (size_t)WIDE * WIDE * sizeof(double));
    areal_level(&all), areal_filter(&all, .25, 5), areal_measure(&all, NULL, out);
    for (int k = 0; k < PIECES; k++) {
        struct areal piece;
        cut(wide, k, one.z_mm);
        areal_level(&one), areal_filter(&one, .25, 5), areal_measure(&one, NULL, &piece);
        sz += piece.value[AREAL_SZ] / PIECES;
    }
    out->value[AREAL_SZ] = sz;
    free(all.z_mm), free(one.z_mm);
}

struct cover {
    int held[AREAL_COUNT], of[AREAL_COUNT];
};

/* One picture set and its told intervals; which of them hold the material's value. Std means nothing of a
 * surface without a lay. */
static void count_held(const double *wide, int piece, double sd, double ks, const struct areal *want,
                       unsigned long long seed, struct cover *cover) {
    double *z = malloc((size_t)N * N * sizeof *z), common;
    cut(wide, piece, z);
    struct grain_scene scene = {N, step, z, ks, 30, .004, seed};
    struct stereo_quality quality;
    struct areal chance;
    struct grain grain;
    struct shot s = take(&scene, LIGHTS, sd);
    read_relief(&s.task, sd, &grain.value, &quality, &chance, &common);
    grain_doubt(&grain, &chance, common, 0);
    for (int i = 0; i < AREAL_COUNT; i++) {
        const double a = grain.value.value[i], b = want->value[i];
        if (i == AREAL_STD && want->value[AREAL_STR] >= GRAIN_DIRECTED) continue;
        cover->held[i] += (i == AREAL_STD ? areal_turn(a, b) : fabs(a - b)) <= grain.u95.value[i];
        cover->of[i]++;
    }
    end(&s), free(z);
}

/* Every third material runs along a direction (Str .4). */
static void LONG_the_told_intervals_hold(void) {
    static const char *const name[AREAL_COUNT] = {"Sa",  "Sq",  "Sz",  "Ssk", "Sku",
                                                  "Sal", "Str", "Std", "Sdq", "Sdr"};
    static const double sd[] = {2, 5}, ks[] = {0, .05, .1}, across[] = {.7, 1, .4};
    const unsigned long long seed = getenv("COVER_SEED") ? strtoull(getenv("COVER_SEED"), NULL, 10) : 90000;
    struct cover cover = {{0}, {0}};
    int held = 0, of = 0;
    for (int f = 0; f < 12; f++) {
        const double t = .45 + .1 * (f % 4);
        struct areal want;
        double *wide = random_field(WIDE, step, .02, across[f % 3] * t, t, seed + (unsigned long long)f);
        material_of(wide, &want);
        for (int c = 0; c < 6; c++)
            count_held(wide, (5 * c + f) % PIECES, sd[c % 2], ks[c / 2], &want,
                       7654300 + seed + (unsigned long long)(6 * f + c), &cover);
        free(wide);
    }
    for (int i = 0; i < AREAL_COUNT; i++) {
        printf("  figure: the 95 %% interval of %s holds %.1f %% of %d\n", name[i],
               100. * cover.held[i] / cover.of[i], cover.of[i]);
        CHECK(cover.held[i] >= .875 * cover.of[i]);
        held += cover.held[i], of += cover.of[i];
    }
    printf("  figure: all together %.1f %%\n", 100. * held / of);
    CHECK(held >= .9 * of && held <= .99 * of);
}

int main(void) {
    RUN(eight_lights_read_a_glossy_grain);
    RUN(avx2_and_threads_change_no_bit);
    RUN(LONG_other_directions_and_gloss);
    RUN(LONG_a_leather_scan);
    RUN(LONG_the_told_intervals_hold);
    return check_done();
}
