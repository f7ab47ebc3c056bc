/* `russet photo grain`: photographs with a torch in different places -> kind `grain`: the parameters of
 * formats/grain_json.h, "field_mm": [w, h], "field_in_sal", "lights", "fit_residual", "dropped",
 * "photos": [{file, shift_px: [x, y] or null, agreement or null}].
 *
 * One photograph is in memory at a time; what stays of it is a grey plane of the patch. */
#include "base/memory.h"
#include "flow/picture_flow.h"
#include "formats/grain_json.h"
#include "formats/json_out.h"
#include "formats/picture_out.h"
#include "surface/stereo.h"
#include <math.h>
#include <string.h>

extern operation_flow photo_grain_flow;

enum { LEAST_SIDE = 64 };
static const double moved_px = 1.5, sure_agreement = .3, blurred_share = .45, low_deg = 20;

struct job {
    const struct surroundings *around;
    const struct request *request;
    struct fault *fault;
    json_t *reply;
    struct stereo_task task;
    float *plane[STEREO_MOST];
    int whole_w, whole_h, x0, y0;
    double s_mm, l_mm;
};

#define NOTE(job, word, ...)                    \
    do {                                        \
        struct fault note_;                     \
        (void)FAULT(&note_, word, __VA_ARGS__); \
        json_add_note((job)->reply, &note_);    \
    } while (0)

static const char *rounded(char out[40], double value, double unit) {
    return number_text(out, round(value / unit) * unit);
}
#define ROUNDED(x, unit) rounded((char[40]){0}, (x), (unit))

static const char *photo_name(const struct job *job, int i) {
    return request_text_at(job->request, "PHOTO", (size_t)i);
}

/* ---- what was asked ---- */

/* The widest gap between neighbouring torches leaves this much of the circle. */
static double circle_used(const struct job *job) {
    double widest = 0;
    for (int i = 0; i < job->task.lights; i++) {
        double next = 360;
        for (int k = 0; k < job->task.lights; k++) {
            const double d =
                fmod(job->task.light[k].azimuth_deg - job->task.light[i].azimuth_deg + 1080, 360);
            if (k != i && d > 1e-9) next = fmin(next, d);
        }
        widest = fmax(widest, next);
    }
    return 360 - widest;
}

static enum status read_lights(struct job *job) {
    const char *photo[STEREO_MOST];
    struct bytes bytes;
    const size_t count = request_count(job->request, "PHOTO");
    if (count < STEREO_LEAST || count > STEREO_MOST)
        return FAULT(job->fault, GRAIN_FEW_LIGHTS, COUNT_TEXT(count), COUNT_TEXT(STEREO_MOST));
    for (size_t i = 0; i < count; i++) photo[i] = photo_name(job, (int)i);
    job->task.lights = (int)count;
    enum status status = disk_read(job->around->disk, request_text(job->request, "--lights"), DISK_TEXT_MIB,
                                   job->around->arena, &bytes, job->fault);
    if (status == STATUS_OK) status = torches_read(&bytes, photo, count, job->task.light, job->fault);
    if (status == STATUS_OK && circle_used(job) < 120)
        status = FAULT(job->fault, GRAIN_LIGHTS_FLAT, ROUNDED(circle_used(job), 1));
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (job->task.light[i].elevation_deg < low_deg)
            NOTE(job, GRAIN_TORCH_LOW, photo[i], ROUNDED(job->task.light[i].elevation_deg, .1));
    return status;
}

static enum status read_filters(struct job *job) {
    job->s_mm = request_number(job->request, "--s-filter-mm", .25);
    job->l_mm = request_number(job->request, "--l-filter-mm", 5);
    if (job->s_mm > 0 && job->l_mm > 0 && job->l_mm < 2 * job->s_mm) return FAULT0(job->fault, GRAIN_FILTERS);
    return STATUS_OK;
}

/* ---- the photographs ---- */

static enum status place_patch(struct job *job, const struct picture *picture) {
    const double f = picture->reduced > 0 ? picture->reduced : 1;
    double v[4] = {0, 0, f * picture->width, f * picture->height};
    if (request_has(job->request, "--patch")) {
        size_t n;
        const double *given = request_numbers(job->request, "--patch", &n);
        if (n != 4) return FAULT0(job->fault, GRAIN_PATCH_WORDS);
        memcpy(v, given, sizeof v);
    }
    job->whole_w = picture->width, job->whole_h = picture->height;
    job->x0 = (int)(v[0] / f), job->y0 = (int)(v[1] / f);
    struct stereo_task *task = &job->task;
    task->width = (int)(v[2] / f), task->height = (int)(v[3] / f);
    task->step_mm = f * request_number(job->request, "--mm-per-px", 1);
    task->off_x = job->x0 + task->width / 2. - picture->width / 2.;
    task->off_y = job->y0 + task->height / 2. - picture->height / 2.;
    if (task->width < LEAST_SIDE || task->height < LEAST_SIDE || job->x0 + task->width > picture->width ||
        job->y0 + task->height > picture->height)
        return FAULT(job->fault, GRAIN_PATCH_OUTSIDE, NUMBER_TEXT(v[0]), NUMBER_TEXT(v[1]), NUMBER_TEXT(v[2]),
                     NUMBER_TEXT(v[3]), NUMBER_TEXT(f * picture->width), NUMBER_TEXT(f * picture->height));
    if (job->s_mm > 0 && task->step_mm > job->s_mm / 2)
        return FAULT(job->fault, GRAIN_COARSE_PIXELS, NUMBER_TEXT(task->step_mm), NUMBER_TEXT(job->s_mm),
                     NUMBER_TEXT(job->s_mm / 2));
    return STATUS_OK;
}

static float grey_at(const struct picture *picture, int x, int y) {
    const uint16_t *v = picture_at(picture, x, y);
    if (v[0] >= picture->clip || v[1] >= picture->clip || v[2] >= picture->clip) return (float)INFINITY;
    return (float)(v[0] + v[1] + v[2]) / (3 * 65535.0F);
}

static enum status look(struct job *job, const struct picture *picture, int i) {
    if (i == 0) {
        const enum status status = place_patch(job, picture);
        if (status != STATUS_OK) return status;
    }
    if (picture->width != job->whole_w || picture->height != job->whole_h)
        return FAULT(job->fault, GRAIN_UNEQUAL, photo_name(job, i), COUNT_TEXT(picture->width),
                     COUNT_TEXT(picture->height), COUNT_TEXT(job->whole_w), COUNT_TEXT(job->whole_h));
    const int w = job->task.width, h = job->task.height;
    float *plane = memory_need((size_t)w * (size_t)h, sizeof *plane);
    job->plane[i] = plane, job->task.shade[i] = plane;
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++)
            plane[(size_t)y * (size_t)w + (size_t)x] = grey_at(picture, job->x0 + x, job->y0 + y);
    if (!stereo_normalise(plane, w, h, job->around->work))
        return FAULT(job->fault, GRAIN_DARK, photo_name(job, i));
    return STATUS_OK;
}

static enum status take_all(struct job *job) {
    const int n = job->task.lights;
    for (int i = 0; i < n; i++) {
        struct picture picture;
        enum status status = picture_load(job->around, photo_name(job, i), &picture, job->fault);
        if (status != STATUS_OK) return status;
        picture_add_note(&picture, job->reply);
        status = look(job, &picture, i);
        picture_free(&picture);
        if (status != STATUS_OK) return status;
        work_report(job->around->work, .5 * (i + 1) / n);
        if (job->around->work && work_is_cancelled(job->around->work)) return FAULT0(job->fault, CANCELLED);
    }
    return STATUS_OK;
}

/* ---- do they belong together? ---- */

static double median_of(const double *value, int n) {
    double sorted[STEREO_MOST];
    for (int i = 0; i < n; i++) {
        int at = i;
        for (; at > 0 && sorted[at - 1] > value[i]; at--) sorted[at] = sorted[at - 1];
        sorted[at] = value[i];
    }
    return n % 2 ? sorted[n / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2;
}

static enum status check_sharp(struct job *job) {
    double sharp[STEREO_MOST];
    const int n = job->task.lights;
    for (int i = 0; i < n; i++) sharp[i] = stereo_sharpness(job->plane[i], job->task.width, job->task.height);
    const double usual = median_of(sharp, n);
    for (int i = 0; i < n; i++)
        if (sharp[i] < blurred_share * usual)
            return FAULT(job->fault, GRAIN_BLURRED, photo_name(job, i), ROUNDED(100 * sharp[i] / usual, 1));
    return STATUS_OK;
}

static enum status check_still(struct job *job) {
    json_t *photos = json_array();
    json_put(job->reply, "photos", photos);
    const bool told = job->task.lights > STEREO_LEAST;
    double farthest = moved_px;
    int moved = -1;
    if (!told) NOTE(job, GRAIN_UNCHECKED, NULL);
    for (int i = 0; i < job->task.lights; i++) {
        json_t *photo = json_object();
        json_array_append_new(photos, photo);
        json_put_text(photo, "file", photo_name(job, i));
        if (!told) continue;
        struct stereo_shift shift;
        stereo_find_shift(&job->task, i, &shift);
        const double off = hypot(shift.dx, shift.dy);
        if (off > farthest && shift.best > sure_agreement) farthest = off, moved = i;
        if (shift.best <= sure_agreement)
            NOTE(job, GRAIN_MISFIT, photo_name(job, i), ROUNDED(shift.in_place, .01));
        json_put(photo, "shift_px", json_numbers((const double[]){shift.dx, shift.dy}, 2, 1));
        json_put_number(photo, "agreement", shift.in_place, 3);
        work_report(job->around->work, .5 + .2 * (i + 1) / job->task.lights);
    }
    if (moved >= 0) return FAULT(job->fault, GRAIN_MOVED, photo_name(job, moved), ROUNDED(farthest, .1));
    return STATUS_OK;
}

/* ---- the relief ---- */

static void drop_planes(struct job *job) {
    for (int i = 0; i < STEREO_MOST; i++) memory_free(job->plane[i]), job->plane[i] = NULL;
}

static void lift(struct job *job, struct relief *relief) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    struct stereo_quality quality;
    float *p = memory_need(n, sizeof *p), *q = memory_need(n, sizeof *q);
    stereo_slopes(&job->task, job->around->work, p, q, &quality);
    drop_planes(job);
    relief->z_mm = memory_need(n, sizeof *relief->z_mm);
    stereo_integrate(p, q, job->s_mm, job->l_mm, job->around->work, relief);
    memory_free(p), memory_free(q);
    json_put_number(job->reply, "fit_residual", quality.residual, 4);
    json_put_number(job->reply, "dropped", quality.dropped, 4);
}

static enum status judge(struct job *job, const struct relief *relief, const struct grain *grain) {
    const double *v = grain->value.value;
    const double side = fmin(relief->width, relief->height) * relief->step_mm;
    if (!(v[AREAL_SAL] > 0)) return FAULT0(job->fault, GRAIN_FLAT);
    json_put_number(job->reply, "field_in_sal", side / v[AREAL_SAL], 1);
    if (job->task.lights < STEREO_TRIM_FROM) NOTE(job, GRAIN_FEW_FOR_GLOSS, COUNT_TEXT(job->task.lights));
    if (v[AREAL_SSK] < GRAIN_SANDED) NOTE(job, GRAIN_IS_SANDED, ROUNDED(v[AREAL_SSK], .01));
    if (v[AREAL_STR] < GRAIN_DIRECTED) NOTE(job, GRAIN_HAS_LAY, ROUNDED(fmod(v[AREAL_STD] + 90, 180), 1));
    if (grain->value.is_open) NOTE(job, GRAIN_OPEN, NULL);
    if (side < GRAIN_FIELD * v[AREAL_SAL])
        return FAULT(job->fault, GRAIN_FIELD_SMALL, ROUNDED(side, .1), ROUNDED(side / v[AREAL_SAL], .1),
                     ROUNDED(GRAIN_FIELD * v[AREAL_SAL], .1));
    return STATUS_OK;
}

/* ---- pictures of it ---- */

static enum status write_bytes(const struct job *job, const char *option, struct text *bytes,
                               enum status status) {
    if (status == STATUS_OK)
        status = disk_write(job->around->disk, request_text(job->request, option), bytes->data, bytes->length,
                            job->fault);
    text_free(bytes);
    return status;
}

static enum status write_height(const struct job *job, const struct relief *relief) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    struct plane_scale scale = {0, 0, 1 / relief->step_mm, "um"};
    struct text bytes = {0};
    float *plane = memory_need(n, sizeof *plane);
    for (size_t i = 0; i < n; i++) {
        plane[i] = (float)(1000 * relief->z_mm[i]);
        scale.low = fmin(scale.low, 1000 * relief->z_mm[i]),
        scale.high = fmax(scale.high, 1000 * relief->z_mm[i]);
    }
    if (!(scale.high > scale.low)) scale.high = scale.low + 1;
    const enum status status =
        picture_out_plane(plane, relief->width, relief->height, &scale, &bytes, job->fault);
    memory_free(plane);
    return write_bytes(job, "--height-out", &bytes, status);
}

/* Lambert from the left above, 35 degrees high, slopes as they are. */
static uint8_t shade_of(const struct relief *relief, int x, int y) {
    const size_t w = (size_t)relief->width, at = (size_t)y * w + (size_t)x;
    const size_t right = x + 1 < relief->width ? at + 1 : at, left = x > 0 ? at - 1 : at;
    const size_t below = y + 1 < relief->height ? at + w : at, above = y > 0 ? at - w : at;
    const double p = (relief->z_mm[right] - relief->z_mm[left]) / (2 * relief->step_mm);
    const double q = (relief->z_mm[below] - relief->z_mm[above]) / (2 * relief->step_mm);
    const double v = (.58 * p + .58 * q + .57) / sqrt(1 + p * p + q * q);
    return (uint8_t)(255 * fmax(0, fmin(1, v)) + .5);
}

static enum status write_relief(const struct job *job, const struct relief *relief) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    struct screen_picture screen = {relief->width, relief->height, memory_need(n, 3)};
    struct text bytes = {0};
    for (int y = 0; y < relief->height; y++)
        for (int x = 0; x < relief->width; x++)
            memset(screen.rgb + 3 * ((size_t)y * (size_t)relief->width + (size_t)x), shade_of(relief, x, y),
                   3);
    const enum status status = picture_out_png(&screen, &bytes, job->fault);
    memory_free(screen.rgb);
    return write_bytes(job, "--relief-out", &bytes, status);
}

static enum status tell(struct job *job, const struct relief *relief) {
    struct grain grain = {.s_mm = job->s_mm, .l_mm = job->l_mm};
    struct areal chance;
    areal_measure(relief, job->around->work, &grain.value);
    areal_chance(relief, job->around->work, &chance);
    grain_doubt(&grain, &chance, job->task.lights, request_number(job->request, "--light-sd-deg", 3));
    grain_put(job->reply, &grain);
    json_put(job->reply, "field_mm",
             json_numbers((const double[]){relief->width * relief->step_mm, relief->height * relief->step_mm},
                          2, 3));
    json_put_count(job->reply, "lights", job->task.lights);
    enum status status = STATUS_OK;
    if (request_has(job->request, "--height-out")) status = write_height(job, relief);
    if (status == STATUS_OK && request_has(job->request, "--relief-out")) status = write_relief(job, relief);
    return status == STATUS_OK ? judge(job, relief, &grain) : status;
}

static enum status measure(struct job *job) {
    enum status status = read_filters(job);
    if (status == STATUS_OK) status = read_lights(job);
    if (status == STATUS_OK) status = take_all(job);
    if (status != STATUS_OK) return status;
    stereo_stand(&job->task);
    status = check_sharp(job);
    if (status == STATUS_OK) status = check_still(job);
    if (status != STATUS_OK) return status;
    struct relief relief = {job->task.width, job->task.height, job->task.step_mm, NULL};
    lift(job, &relief);
    work_report(job->around->work, .9);
    status = job->around->work && work_is_cancelled(job->around->work) ? FAULT0(job->fault, CANCELLED)
                                                                       : tell(job, &relief);
    memory_free(relief.z_mm);
    return status;
}

enum status photo_grain_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct job job = {.around = around, .request = request, .fault = fault, .reply = json_start("grain")};
    const enum status status = measure(&job);
    drop_planes(&job);
    *reply = job.reply;
    if (status == STATUS_OK || status == STATUS_NO) return status;
    json_decref(job.reply);
    *reply = NULL;
    return status;
}
