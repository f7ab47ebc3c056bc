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
    for (int i = 0; i < leathers && log->count < TRIAL_MOST; i++) {
        struct arena *arena = arena_new();
        struct camera_result *result = arena_need(arena, 1, sizeof *result);
        struct leather in = scene->window;
        struct fault fault = {0};
        in.colour = like ? room->like[leather[i]] : room->leather[leather[i]];
        plate_refill(plate, &in);
        plate_again(plate, &sensor, &picture);
        const enum status status = trial_read(&room->card, &picture, NULL, 0, like, arena, result, &fault);
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

struct trial_figures trial_sum(const struct trial_log *log, double low, double high) {
    static double de00[TRIAL_MOST], u95[TRIAL_MOST];
    struct trial_figures f = {0};
    size_t n = 0;
    for (int i = 0; i < log->count; i++) {
        const struct trial_result *r = &log->result[i];
        f.refused += r->refused;
        if (r->refused || r->l < low || r->l >= high) continue;
        de00[n] = r->de00, u95[n++] = r->u95;
        f.mean += r->de00, f.covered += r->de00 <= r->u95, f.inside += r->distance <= 7.815;
    }
    f.count = (int)n;
    if (n == 0) return f;
    f.mean /= (double)n, f.covered /= (double)n, f.inside /= (double)n;
    f.u95_median = room_quantile(u95, n, .5);
    f.median = room_quantile(de00, n, .5), f.p95 = room_quantile(de00, n, .95),
    f.most = room_quantile(de00, n, 1);
    return f;
}

void trial_print(const char *title, const struct trial_figures *f) {
    printf("  figure: %s: %d readings, %d refused; dE00 mean %.2f, median %.2f, p95 %.2f, most %.2f; stated "
           "95 %% "
           "%.2f, holds %.1f %% (by covariance %.1f %%)\n",
           title, f->count, f->refused, f->mean, f->median, f->p95, f->most, f->u95_median, 100 * f->covered,
           100 * f->inside);
}
