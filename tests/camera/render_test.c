/* The photo room before anything is tried in it. */
#include "camera/cards.h"
#include "camera/plate.h"
#include "check.h"
#include "colour/difference.h"
#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>

static const struct weights *in_daylight(void) {
    return weights_of((struct view){LIGHT_D65, OBSERVER_10});
}

/* Red, green, blue relative to each peak at 420..680 nm by 20: a measured single-lens camera, Darrodi et al.
 * 2015, J. Opt. Soc. Am. A 32:381. */
static void a_measured_camera_is_among_them(void) {
    static const double seen[14][3] = {
        {.050, .065, .362}, {.061, .169, .875}, {.040, .254, 1.000}, {.053, .460, .905}, {.050, .616, .567},
        {.100, .939, .250}, {.076, .962, .110}, {.043, .776, .034},  {.565, .493, .014}, {.963, .212, .006},
        {.704, .070, .004}, {.438, .035, .006}, {.238, .020, .006},  {.021, .003, .001}};
    struct sensitivities camera;
    double sum = 0;
    sensitivities_make(&camera, 0);
    for (int i = 0; i < 14; i++)
        for (int c = 0; c < 3; c++) {
            const double d = camera.channel[c][420 + 20 * i - CAMERA_FIRST_NM] - seen[i][c];
            CHECK_NEAR(d, 0, .09);
            sum += d * d;
        }
    printf("  figure: camera 0 against a measured one, rms %.3f of the peak\n", sqrt(sum / 42));
}

/* How far a camera is from an eye: dE00 of the leathers after the best matrix, without any other error. */
static double from_an_eye(const struct spectrum leather[LEATHERS], int number, enum lamp lamp) {
    struct response response;
    double a[3][3] = {{0}}, y[3][3] = {{0}}, sum = 0;
    struct {
        double rgb[3];
        struct xyz xyz;
    } seen[LEATHERS];
    response_make(&response, number, lamp);
    for (int i = 0; i < LEATHERS; i++) {
        response_of(&response, &leather[i], seen[i].rgb);
        seen[i].xyz = xyz_of(&leather[i], in_daylight());
        const double *v = seen[i].rgb, w = 1 / seen[i].xyz.y;
        const double t[3] = {seen[i].xyz.x, seen[i].xyz.y, seen[i].xyz.z};
        for (int r = 0; r < 3; r++)
            for (int c = 0; c < 3; c++) a[r][c] += w * v[r] * v[c], y[r][c] += w * v[r] * t[c];
    }
    double m[3][3];
    const double det = a[0][0] * (a[1][1] * a[2][2] - a[1][2] * a[2][1]) -
                       a[0][1] * (a[1][0] * a[2][2] - a[1][2] * a[2][0]) +
                       a[0][2] * (a[1][0] * a[2][1] - a[1][1] * a[2][0]);
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) {
            m[r][c] = 0;
            for (int k = 0; k < 3; k++) {
                const int p = (r + 1) % 3, q = (r + 2) % 3, s = (k + 1) % 3, t = (k + 2) % 3;
                m[r][c] += (a[s][p] * a[t][q] - a[s][q] * a[t][p]) / det * y[k][c];
            }
        }
    for (int i = 0; i < LEATHERS; i++) {
        double v[3] = {0};
        for (int c = 0; c < 3; c++)
            for (int r = 0; r < 3; r++) v[c] += seen[i].rgb[r] * m[r][c];
        sum += difference_de00(lab_of(seen[i].xyz, in_daylight()),
                               lab_of((struct xyz){v[0], v[1], v[2]}, in_daylight()));
    }
    return sum / LEATHERS;
}

static void no_camera_is_an_eye_and_none_is_blind(void) {
    struct room *room = room_new(1);
    struct spectrum leather[LEATHERS];
    double least = 9, most = 0, sum = 0;
    for (int i = 0; i < LEATHERS; i++) leather_colour(room, i, &leather[i]);
    for (int c = 0; c < CAMERAS; c++)
        for (enum lamp l = LAMP_D65; l < LAMPS; l++) {
            const double d = from_an_eye(leather, c, l);
            least = fmin(least, d), most = fmax(most, d), sum += d;
        }
    printf("  figure: leathers through the best matrix, mean dE00 of a camera and lamp %.2f, from %.2f to "
           "%.2f\n",
           sum / (CAMERAS * LAMPS), least, most);
    CHECK(least > .1);
    CHECK_AT_MOST(most, 5);
    room_free(room);
}

/* Published Lab of the chart for D50/2 (before 2014, rounded), as sRGB users know them: the spectra are right
 * when they give these. From memory. */
static void the_chart_has_its_published_colours(void) {
    static const double lab[24][3] = {
        {37.99, 13.56, 14.06},  {65.71, 18.13, 17.81},   {49.93, -4.88, -21.93}, {43.14, -13.10, 21.91},
        {55.11, 8.84, -25.40},  {70.72, -33.40, -.20},   {62.66, 36.07, 57.10},  {40.02, 10.41, -45.96},
        {51.12, 48.24, 16.25},  {30.33, 22.98, -21.59},  {72.53, -23.71, 57.26}, {71.94, 19.36, 67.86},
        {28.78, 14.18, -50.30}, {55.26, -38.34, 31.37},  {42.10, 53.38, 28.19},  {81.73, 4.04, 79.82},
        {51.94, 49.99, -14.57}, {51.04, -28.63, -28.64}, {96.54, -.43, 1.19},    {81.26, -.64, -.34},
        {66.77, -.73, -.50},    {50.87, -.15, -.27},     {35.66, -.42, -1.23},   {20.46, -.08, -.97}};
    const struct view view = {LIGHT_D50, OBSERVER_2};
    double sum = 0, worst = 0;
    for (int i = 0; i < 24; i++) {
        const struct lab published = {lab[i][0], lab[i][1], lab[i][2], view};
        const double d = difference_de00(published, lab_of_spectrum(&chart_seen[i], weights_of(view)));
        sum += d, worst = fmax(worst, d);
        if (d > 1.5) printf("  patch %d: %.2f\n", i + 1, d);
    }
    printf("  figure: chart, measured mean against published colours: mean %.2f, worst %.2f dE00\n", sum / 24,
           worst);
    CHECK_AT_MOST(sum / 24, 1);
    CHECK_AT_MOST(worst, 2.5);
}

static struct photo_card card;
static struct spectrum truth[CARD_PATCHES_MOST];

static void plain(struct scene *scene, int tilt) {
    scene_preset(scene, &card, 0, LAMP_D65, tilt);
    for (int i = 0; i < card.patches; i++) scene->patch[i] = truth[i];
}

static void a_pose_goes_there_and_back(void) {
    for (int tilt = 0; tilt < TILTS; tilt++) {
        struct scene scene;
        struct pose pose;
        plain(&scene, tilt);
        scene.distortion = -.01;
        pose_make(&pose, &scene);
        for (int k = 0; k < 9; k++) {
            const double mm[2] = {60. * (k % 3), 45. * (k / 3)};
            double px[2], back[2];
            pose_picture(&pose, mm, px);
            pose_card(&pose, px[0], px[1], back);
            CHECK_NEAR(back[0], mm[0], 1e-9);
            CHECK_NEAR(back[1], mm[1], 1e-9);
            CHECK(px[0] > 0 && px[1] > 0 && px[0] < scene.width && px[1] < scene.height);
        }
    }
}

/* Mean over the middle of a patch. */
static void mean_at(const struct plate *plate, const struct picture *p, const struct photo_patch *patch,
                    double out[3]) {
    double px[2], n = 0;
    plate_place(plate, patch->center_mm, px);
    out[0] = out[1] = out[2] = 0;
    for (int y = (int)px[1] - 25; y < (int)px[1] + 25; y++)
        for (int x = (int)px[0] - 25; x < (int)px[0] + 25; x++, n++)
            for (int c = 0; c < 3; c++) out[c] += p->rgb[3 * (y * p->width + x) + c] / 65535.;
    for (int c = 0; c < 3; c++) out[c] /= n;
}

static void a_raw_picture_without_faults_is_the_reflectance(void) {
    struct scene scene;
    struct arena *arena = arena_new();
    plain(&scene, 1);
    scene.vignetting = scene.fall_x = scene.fall_y = scene.glare = scene.patch_shine = 0;
    scene.sensor =
        (struct sensor){.exposure = .9, .full_well = 20000, .read_noise = 3, .balance = {1, 1, 1}, .seed = 7};
    struct plate *plate = plate_expose(&scene);
    const struct picture picture = plate_develop(plate, &scene.sensor, arena);
    for (int i = 0; i < card.patches; i++) {
        double want[3], got[3];
        response_of(&plate->look.response, &truth[i], want);
        mean_at(plate, &picture, &card.patch[i], got);
        for (int c = 0; c < 3; c++) CHECK_NEAR(got[c], .9 * want[c], .0006);
    }
    plate_free(plate);
    arena_free(arena);
}

static void the_same_scene_gives_the_same_file(void) {
    struct scene scene;
    size_t size[2];
    unsigned char *file[2];
    plain(&scene, 2);
    scene.width = 800, scene.height = 600;
    for (int k = 0; k < 2; k++) {
        struct plate *plate = plate_expose(&scene);
        if (k == 1) plate_refill(plate, &scene.window); /* the same leather again */
        file[k] = plate_jpeg(plate, &scene.sensor, &size[k]);
        plate_free(plate);
    }
    CHECK(size[0] == size[1] && memcmp(file[0], file[1], size[0]) == 0);
    memory_free(file[0]), memory_free(file[1]);
}

static void a_window_made_anew_is_as_in_the_whole_picture(void) {
    struct scene scene;
    struct arena *arena = arena_new();
    plain(&scene, 1);
    scene.width = 800, scene.height = 600;
    struct plate *plate = plate_expose(&scene);
    struct picture again = plate_develop(plate, &scene.sensor, arena);
    struct leather other = scene.window;
    other.colour = truth[3], other.creases = 2, other.pitch_mm = 4;
    plate_refill(plate, &other);
    plate_again(plate, &scene.sensor, &again);
    const struct picture whole = plate_develop(plate, &scene.sensor, arena);
    const size_t values = 3 * (size_t)again.width * (size_t)again.height;
    CHECK(memcmp(again.rgb, whole.rgb, values * sizeof *whole.rgb) == 0);
    plate_free(plate);
    arena_free(arena);
}

/* Corners by libapriltag on linear green (its pixel origin is the corner) against where they were put. */
static double corners_off(const struct plate *plate, const struct picture *picture, int *found) {
    apriltag_family_t *family = tag36h11_create();
    apriltag_detector_t *detector = apriltag_detector_create();
    uint8_t *level = memory_need((size_t)picture->width * (size_t)picture->height, 1);
    image_u8_t green = {picture->width, picture->height, picture->width, level};
    for (int y = 0; y < picture->height; y++)
        for (int x = 0; x < picture->width; x++)
            level[y * picture->width + x] = (uint8_t)(picture->rgb[3 * (y * picture->width + x) + 1] >> 8);
    apriltag_detector_add_family(detector, family);
    detector->quad_decimate = 2;
    zarray_t *all = apriltag_detector_detect(detector, &green);
    double sum = 0;
    *found = 0;
    for (int i = 0; i < zarray_size(all); i++) {
        apriltag_detection_t *tag;
        zarray_get(all, i, &tag);
        if (tag->id < 0 || tag->id > 3) continue;
        (*found)++;
        for (int k = 0; k < 4; k++) {
            double px[2], nearest = 99;
            plate_place(plate, card.tag[tag->id].corner_mm[k], px);
            for (int j = 0; j < 4; j++)
                nearest = fmin(nearest, hypot(tag->p[j][0] - px[0], tag->p[j][1] - px[1]));
            sum += nearest / 4;
        }
    }
    apriltag_detections_destroy(all);
    memory_free(level);
    apriltag_detector_destroy(detector);
    tag36h11_destroy(family);
    return *found ? sum / *found : 99;
}

static void tags_are_where_they_were_put(void) {
    for (int tilt = 0; tilt < TILTS; tilt++) {
        struct scene scene;
        struct arena *arena = arena_new();
        int found;
        plain(&scene, tilt);
        scene.sensor.quality = 0;
        struct plate *plate = plate_expose(&scene);
        const struct picture picture = plate_develop(plate, &scene.sensor, arena);
        const double off = corners_off(plate, &picture, &found);
        printf("  figure: tilt %d: %d tags, corners %.3f px off (raw, 3 megapixels)\n", tilt, found, off);
        CHECK(found == 4);
        CHECK_AT_MOST(off, .1);
        plate_free(plate);
        arena_free(arena);
    }
}

int main(void) {
    struct room *room = room_new(1);
    card_own(room, &card, truth);
    room_free(room);
    RUN(a_measured_camera_is_among_them);
    RUN(no_camera_is_an_eye_and_none_is_blind);
    RUN(the_chart_has_its_published_colours);
    RUN(a_pose_goes_there_and_back);
    RUN(a_raw_picture_without_faults_is_the_reflectance);
    RUN(the_same_scene_gives_the_same_file);
    RUN(a_window_made_anew_is_as_in_the_whole_picture);
    RUN(tags_are_where_they_were_put);
    return check_done();
}
