#include "camera/trial.h"
#include "colour/difference.h"
#include "room/room_fit.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct trial_room *trial_open(enum trial_card kind) {
    struct trial_room *out = memory_need(1, sizeof *out);
    out->room = room_new(1);
    out->kind = kind;
    if (kind == TRIAL_OWN)
        card_own(out->room, &out->card, out->truth);
    else
        card_classic(&out->card, out->truth);
    for (int i = 0; i < LEATHERS; i++) leather_colour(out->room, i, &out->leather[i]);
    for (int i = 0; i < LEATHERS_LIKE; i++) leather_colour(out->room, LEATHER_LIKE + i, &out->like[i]);
    return out;
}

void trial_close(struct trial_room *room) {
    room_free(room->room);
    memory_free(room);
}

void trial_scene(const struct trial_room *room, int camera, enum lamp lamp, int tilt, struct scene *scene) {
    scene_preset(scene, &room->card, camera, lamp, tilt);
    for (int i = 0; i < room->card.patches; i++) scene->patch[i] = room->truth[i];
    if (room->kind == TRIAL_CLASSIC) {
        scene->patch_more_mm = .3 * 14;
        const double hole[4] = {PHOTO_FRAME_EDGE_MM, PHOTO_FRAME_EDGE_MM, 6 * 14, 4 * 14};
        memcpy(scene->hole_mm, hole, sizeof hole);
        /* As high as it is wide: the whole of it must be in a picture of 4 : 3, rolled by 12 degrees too. */
        scene->filled = fmin(scene->filled, .82 * scene->height / scene->width * room->card.size_mm[0] /
                                                room->card.size_mm[1]);
    }
    scene->window.colour = room->leather[0];
}

void trial_leathers(int n, int leather[TRIAL_LEATHERS]) {
    for (int i = 0; i < TRIAL_LEATHERS; i++)
        leather[i] =
            i % 4 == 3 ? ROOM_TARGETS + (3 * n + i / 4) % ROOM_BLACKS : (9 * n + i - i / 4) % ROOM_TARGETS;
}

enum status trial_read(const struct photo_card *card, const struct picture *picture,
                       const struct camera_spot *spot, int spots, bool like, struct arena *arena,
                       struct camera_result *out, struct fault *fault) {
    struct located *located = arena_need(arena, 1, sizeof *located);
    struct camera_shot *shot = arena_need(arena, 1, sizeof *shot);
    enum status status = locate_card(picture, card, located, fault);
    if (status == STATUS_OK) status = camera_shoot(picture, card, located, spot, spots, shot, fault);
    if (status != STATUS_OK) return status;
    const struct camera_shot *const shots[1] = {shot};
    const struct camera_task task = {
        .card = card, .shots = 1, .shot = shots, .shine = SHINE_BARE, .like_card = like};
    return camera_read(&task, arena, out, fault);
}

/* d' cov^-1 d by Cramer's rule; infinite when the covariance is none. */
static double distance_of(const double cov[3][3], const double d[3]) {
    double inverse[3][3], sum = 0;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            const int r = (j + 1) % 3, s = (j + 2) % 3, c = (i + 1) % 3, e = (i + 2) % 3;
            inverse[i][j] = cov[r][c] * cov[s][e] - cov[r][e] * cov[s][c];
        }
    const double det = cov[0][0] * inverse[0][0] + cov[0][1] * inverse[1][0] + cov[0][2] * inverse[2][0];
    if (!(det > 0)) return (double)INFINITY;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) sum += d[i] * inverse[i][j] * d[j] / det;
    return sum;
}

struct trial_result trial_judge(const struct camera_colour *said, const struct spectrum *truth) {
    const struct lab t = lab_of_spectrum(truth, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    const double d[3] = {said->lab.l - t.l, said->lab.a - t.a, said->lab.b - t.b};
    return (struct trial_result){.de00 = difference_de00(t, said->lab),
                                 .l = t.l,
                                 .u95 = said->u95_de00,
                                 .distance = distance_of(said->cov, d)};
}

static bool is_burnt(const struct trial_room *room, const struct picture *picture) {
    struct arena *arena = arena_new();
    struct camera_result *result = arena_need(arena, 1, sizeof *result);
    struct fault fault = {0};
    const bool refused = trial_read(&room->card, picture, NULL, 0, false, arena, result, &fault) != STATUS_OK;
    arena_free(arena);
    return refused && (fault.word == WORD_PHOTO_BURNT || fault.word == WORD_PHOTO_ONE_BURNT);
}

/* The window was filled anew; where the card lies is known: nothing else in the picture has changed. */
static enum status read_again(const struct trial_room *room, const struct picture *picture,
                              const struct located *located, bool like, struct arena *arena,
                              struct camera_result *out, struct fault *fault) {
    struct camera_shot *shot = arena_need(arena, 1, sizeof *shot);
    const enum status status = camera_shoot(picture, &room->card, located, NULL, 0, shot, fault);
    if (status != STATUS_OK) return status;
    const struct camera_shot *const shots[1] = {shot};
    const struct camera_task task = {
        .card = &room->card, .shots = 1, .shot = shots, .shine = SHINE_BARE, .like_card = like};
    return camera_read(&task, arena, out, fault);
}

void trial_pose(const struct trial_room *room, const struct scene *scene, const int leather[], int leathers,
                bool like, struct trial_log *log) {
    struct plate *plate = plate_expose(scene);
    struct arena *whole = arena_new();
    struct sensor sensor = scene->sensor;
    struct picture picture = plate_develop(plate, &sensor, whole);
    for (int again = 0; again < 2 && is_burnt(room, &picture); again++) { /* as the refusal says */
        sensor.exposure /= 2;
        picture = plate_develop(plate, &sensor, whole);
        log->retaken++;
    }
    struct located *located = arena_need(whole, 1, sizeof *located);
    struct fault lost = {0};
    const enum status found = locate_card(&picture, &room->card, located, &lost);
    for (int i = 0; i < leathers && log->count < TRIAL_MOST; i++) {
        struct arena *arena = arena_new();
        struct camera_result *result = arena_need(arena, 1, sizeof *result);
        struct leather in = scene->window;
        struct fault fault = lost;
        enum status status = found;
        in.colour = like ? room->like[leather[i]] : room->leather[leather[i]];
        plate_refill(plate, &in);
        plate_again(plate, &sensor, &picture);
        if (status == STATUS_OK) status = read_again(room, &picture, located, like, arena, result, &fault);
        struct trial_result *out = &log->result[log->count++];
        *out = status == STATUS_OK ? trial_judge(&result->mean, &in.colour)
                                   : (struct trial_result){.refused = true};
        out->leather = leather[i], out->like = like, out->loo = result->loo_mean;
        out->why = fault.word;
        if (status != STATUS_OK && getenv("RUSSET_TELL")) printf("  %s\n", fault.text);
        arena_free(arena);
    }
    plate_free(plate);
    arena_free(whole);
}

/* 7 n + 1 runs through the cameras, n + n / 20 with it through every pair of camera and lamp within a
 * hundred, n through the tilts: within three hundred every pose comes once. */
static void nth_pose(int n, int *camera, int *lamp, int *tilt) {
    *camera = (7 * n + 1) % CAMERAS, *lamp = (n + n / CAMERAS) % LAMPS, *tilt = n % TILTS;
}

void trial_nth_scene(const struct trial_room *room, int n, struct scene *scene) {
    int camera, lamp, tilt;
    nth_pose(n, &camera, &lamp, &tilt);
    trial_scene(room, camera, (enum lamp)lamp, tilt, scene);
}

int trial_first_pose(void) {
    const char *wanted = getenv("RUSSET_FIRST_POSE");
    const int n = wanted ? atoi(wanted) : 0;
    return n > 0 && n < TRIAL_POSES ? n : 0;
}

int trial_poses_wanted(void) {
    const char *wanted = getenv("RUSSET_POSES");
    const int left = TRIAL_POSES - trial_first_pose(), n = wanted ? atoi(wanted) : left;
    return n > 0 && n < left ? n : left;
}

void trial_sweep(const struct trial_room *room, int first, int poses, int leathers, bool like, bool large,
                 struct trial_log *log) {
    for (int n = first; n < first + poses; n++) {
        struct scene scene;
        int camera, lamp, tilt, leather[TRIAL_LEATHERS];
        nth_pose(n, &camera, &lamp, &tilt);
        const int number = (camera * LAMPS + lamp) * TILTS + tilt, before = log->count;
        trial_nth_scene(room, n, &scene);
        if (large) scene_large(&scene);
        trial_leathers(number, leather);
        if (like)
            for (int i = 0; i < leathers; i++) leather[i] = (12 * number + i) % LEATHERS_LIKE;
        trial_pose(room, &scene, leather, leathers, like, log);
        for (int i = before; i < log->count; i++) {
            struct trial_result *result = &log->result[i];
            result->camera = camera, result->lamp = lamp, result->tilt = tilt;
        }
    }
}

/* Standard error of the mean of (error / interval)^2; readings of one pose err alike, so poses are counted.
 */
static double filled_error(const struct trial_log *log, double mean) {
    double square = 0, sum = 0;
    int poses = 0, n = 0;
    for (int i = 0; i <= log->count; i++) {
        const struct trial_result *r = &log->result[i], *last = i > 0 ? r - 1 : r;
        const bool other =
            i == log->count ||
            (i > 0 && (r->camera != last->camera || r->lamp != last->lamp || r->tilt != last->tilt));
        if (other && n > 0) {
            square += pow(sum / n - mean, 2), poses++;
            sum = 0, n = 0;
        }
        if (i < log->count && !r->refused) sum += pow(r->de00 / r->u95, 2), n++;
    }
    return poses > 1 ? sqrt(square / (poses - 1.) / poses) : 1;
}

struct trial_figures trial_sum(const struct trial_log *log, double low, double high) {
    static double de00[TRIAL_MOST], u95[TRIAL_MOST];
    struct trial_figures f = {0};
    size_t n = 0;
    for (int i = 0; i < log->count; i++) {
        const struct trial_result *r = &log->result[i];
        f.refused += r->refused;
        if (r->refused || r->l < low || r->l >= high) continue;
        de00[n] = r->de00, u95[n++] = r->u95;
        f.filled += pow(r->de00 / r->u95, 2);
        f.mean += r->de00, f.covered += r->de00 <= r->u95, f.inside += r->distance <= 7.815;
    }
    f.count = (int)n;
    if (n == 0) return f;
    f.filled /= (double)n, f.filled_error = filled_error(log, f.filled);
    f.mean /= (double)n, f.covered /= (double)n, f.inside /= (double)n;
    f.u95_median = room_quantile(u95, n, .5);
    f.median = room_quantile(de00, n, .5), f.p95 = room_quantile(de00, n, .95),
    f.most = room_quantile(de00, n, 1);
    return f;
}

void trial_print(const char *title, const struct trial_figures *f) {
    printf("  figure: %s: %d readings, %d refused; dE00 mean %.2f, median %.2f, p95 %.2f, most %.2f; stated "
           "95 %% "
           "%.2f, holds %.1f %% (by covariance %.1f %%), fills %.2f +/- %.2f\n",
           title, f->count, f->refused, f->mean, f->median, f->p95, f->most, f->u95_median, 100 * f->covered,
           100 * f->inside, f->filled, f->filled_error);
}

static void print_group(const struct trial_log *log, const char *what, int camera, int lamp, int tilt) {
    static struct trial_log part;
    part.count = 0;
    for (int i = 0; i < log->count; i++) {
        const struct trial_result *r = &log->result[i];
        if ((camera < 0 || r->camera == camera) && (lamp < 0 || r->lamp == lamp) &&
            (tilt < 0 || r->tilt == tilt))
            part.result[part.count++] = *r;
    }
    const struct trial_figures f = trial_sum(&part, 0, 101);
    if (!f.count) return;
    printf("  figure:   %-12s %4d readings, %d refused; mean %.2f, p95 %.2f, most %.2f; holds %.1f %%\n",
           what, f.count, f.refused, f.mean, f.p95, f.most, 100 * f.covered);
}

void trial_print_log(const char *title, const struct trial_log *log) {
    char line[120];
    struct trial_figures f = trial_sum(log, 0, 101);
    trial_print(title, &f);
    f = trial_sum(log, 0, 25);
    snprintf(line, sizeof line, "%s, L* under 25", title);
    trial_print(line, &f);
    printf("  figure: %s: %d photographs taken again, one stop darker\n", title, log->retaken);
    if (log->count < 100) return;
    for (int i = 0; i < LAMPS; i++) print_group(log, lamp_name((enum lamp)i), -1, i, -1);
    for (int i = 0; i < TILTS; i++) {
        snprintf(line, sizeof line, "tilt %d", i);
        print_group(log, line, -1, -1, i);
    }
    for (int i = 0; i < CAMERAS; i++) {
        snprintf(line, sizeof line, "camera %d", i);
        print_group(log, line, i, -1, -1);
    }
}
