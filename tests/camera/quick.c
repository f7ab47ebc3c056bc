#include "camera/quick.h"
#include "camera/plate.h"
#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

struct quick {
    const struct scene *scene;
    struct pose pose;
    struct response response;
    double veil[3];
    unsigned long long random;
};

static double normal(struct quick *q) { /* twelve even chances, splitmix64 */
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        unsigned long long z = q->random += 0x9e3779b97f4a7c15ULL;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
        sum += (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
    }
    return sum;
}

static double shown(const struct sensor *sensor, double lit) { /* the display curve, then sRGB undone */
    const double l = fmin(1, fmax(0, lit));
    if (sensor->quality == 0) return l;
    double v = l <= .0031308 ? 12.92 * l : 1.055 * pow(l, 1 / 2.4) - .055;
    v -= sensor->curve * sin(2 * PI * v) / (2 * PI);
    return v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
}

/* Light of a place, before the sensor. */
static void light_of(const struct quick *q, const struct spectrum *colour, double shine, const double mm[2],
                     double out[3]) {
    double px[2];
    response_of(&q->response, colour, out);
    pose_picture(&q->pose, mm, px);
    const double level = plate_level(q->scene, &q->pose, px[0], px[1], mm);
    for (int c = 0; c < 3; c++) out[c] = (out[c] + shine) * level;
}

/* Mean of n pixels; noise of a mean, and what coding leaves of each mean (a tenth of a count). */
static void sample(struct quick *q, const struct spectrum *colour, double shine, const double mm[2], size_t n,
                   struct camera_sample *out) {
    const struct sensor *s = &q->scene->sensor;
    const double(*m)[3] = (const double(*)[3])q->response.matrix;
    double raw[3];
    light_of(q, colour, shine, mm, raw);
    *out = (struct camera_sample){.mm = {mm[0], mm[1]}, .pixels = n};
    for (int c = 0; c < 3; c++) {
        raw[c] = (raw[c] + q->veil[c]) * s->exposure * s->balance[c];
        const double electrons = raw[c] / q->response.gain[c] * s->full_well;
        const double sd =
            sqrt(electrons + s->read_noise * s->read_noise) / s->full_well * q->response.gain[c];
        raw[c] += sd * normal(q) / sqrt((double)n);
        if (raw[c] > 1) out->clipped = 1;
    }
    for (int c = 0; c < 3; c++) {
        const double lit = s->quality ? m[c][0] * raw[0] + m[c][1] * raw[1] + m[c][2] * raw[2] : raw[c];
        if (lit > .99) out->clipped = 1;
        out->mean[c] = shown(s, lit) + 3e-5 * normal(q);
        out->sd[c] = .001 * out->mean[c]; /* no grain here */
    }
}

/* The grey of a grid that keeps clear of everything that is printed on the card. */
static void grey(struct quick *q, struct camera_shot *out) {
    const struct photo_card *card = q->scene->card;
    struct spectrum ink;
    grey_ink(q->scene->grey_y, &ink);
    const double step = fmax(4, sqrt(card->size_mm[0] * card->size_mm[1] / 700));
    for (double y = step / 2; y < card->size_mm[1]; y += step)
        for (double x = step / 2; x < card->size_mm[0]; x += step) {
            const double mm[2] = {x, y};
            bool clear = fabs(x - card->window_center_mm[0]) > card->window_mm / 2 + 3 ||
                         fabs(y - card->window_center_mm[1]) > card->window_mm / 2 + 3;
            for (int i = 0; i < card->patches; i++)
                clear &= fabs(x - card->patch[i].center_mm[0]) > card->patch[i].size_mm / 2 + 2 ||
                         fabs(y - card->patch[i].center_mm[1]) > card->patch[i].size_mm / 2 + 2;
            for (int i = 0; i < card->places; i++)
                clear &= fabs(x - card->place[i].center_mm[0]) > card->place[i].size_mm + 1 ||
                         fabs(y - card->place[i].center_mm[1]) > card->place[i].size_mm + 1;
            for (int i = 0; i < card->tags; i++) {
                const double(*c)[2] = card->tag[i].corner_mm;
                clear &= x < c[0][0] - 4 || x > c[2][0] + 4 || y < c[0][1] - 4 || y > c[2][1] + 4;
            }
            if (clear && out->surrounds < CAMERA_SURROUND_MOST)
                sample(q, &ink, q->scene->patch_shine, mm, 250, &out->surround[out->surrounds++]);
        }
}

void quick_shot(const struct scene *scene, const struct quick_spot spot[], int spots,
                struct camera_shot *out) {
    struct quick q = {.scene = scene, .random = scene->sensor.seed * 77777};
    struct spectrum ink;
    const struct photo_card *card = scene->card;
    const struct quick_spot window = {
        scene->window.colour, scene->window.shine, {card->window_center_mm[0], card->window_center_mm[1]}};
    pose_make(&q.pose, scene);
    response_make(&q.response, scene->camera, scene->lamp);
    grey_ink(.24, &ink); /* the mean of a picture: grey, leather, a little white */
    response_of(&q.response, &ink, q.veil);
    for (int c = 0; c < 3; c++) q.veil[c] *= scene->glare;
    memset(out, 0, sizeof *out);
    out->raw = scene->sensor.quality == 0, out->clip = out->raw ? 1 : .991;
    if (out->raw) /* a raw file tells its camera's matrix */
        memcpy(out->to_srgb, q.response.matrix, sizeof out->to_srgb);
    out->patches = card->patches;
    for (int i = 0; i < card->patches; i++)
        sample(&q, &scene->patch[i], card->patch[i].role == PATCH_BLACK_TRAP ? 0 : scene->patch_shine,
               card->patch[i].center_mm, 4000, &out->patch[i]);
    for (int i = 0; i < card->places; i++)
        sample(&q, &scene->place[i], scene->patch_shine, card->place[i].center_mm, 1500, &out->places[i]);
    grey(&q, out);
    out->spots = spots ? spots : 1;
    for (int i = 0; i < out->spots; i++) {
        const struct quick_spot *one = spots ? &spot[i] : &window;
        sample(&q, &one->colour, one->shine, one->mm, 40000, &out->spot[i]);
    }
}

enum status quick_read(const struct scene *scene, const struct quick_spot spot[], int spots, bool like,
                       struct arena *arena, struct camera_result *out, struct fault *fault) {
    struct camera_shot *shot = arena_need(arena, 1, sizeof *shot);
    quick_shot(scene, spot, spots, shot);
    const struct camera_shot *const shots[1] = {shot};
    const struct camera_task task = {
        .card = scene->card, .shots = 1, .shot = shots, .shine = SHINE_BARE, .like_card = like};
    return camera_read(&task, arena, out, fault);
}
