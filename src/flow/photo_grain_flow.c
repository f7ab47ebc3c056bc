/* `russet photo grain`: photographs with a torch in different places -> kind `grain`: the parameters of
 * formats/grain_json.h, "field_mm": [w, h], "field_in_sal", "lights", "lights_mended_deg" (or null),
 * "fit_residual", "dropped", "photos": [{file, shift_px: [x, y] or null, agreement or null}].
 *
 * One photograph is in memory at a time; what stays of it is a grey plane of the patch. */
#include "base/memory.h"
#include "flow/grain_photos.h"
#include "flow/note.h"
#include "formats/card_json.h"
#include "formats/grain_json.h"
#include "formats/json_out.h"
#include "formats/picture_out.h"
#include "formats/x3p_out.h"
#include <math.h>
#include <string.h>

extern operation_flow photo_grain_flow;

static const double moved_px = 1.5, sure_agreement = .3, blurred_share = .45, low_deg = 20, shown_sdq = .3;
/* A torch at 27 degrees shows a slope as twice as much light: one percent is the noise of a good camera. */
static const double least_sdq = .005;

/* ---- what was asked ---- */

static bool is_flash(const struct grain_job *job, int i) {
    return job->task.light[i].elevation_deg >= 90;
}

static int torches(const struct grain_job *job) {
    int n = 0;
    for (int i = 0; i < job->task.lights; i++) n += !is_flash(job, i);
    return n;
}

/* The widest gap between neighbouring torches leaves this much of the circle. */
static double circle_used(const struct grain_job *job) {
    double widest = 0;
    for (int i = 0; i < job->task.lights; i++) {
        double next = 360;
        if (is_flash(job, i)) continue;
        for (int k = 0; k < job->task.lights; k++) {
            if (is_flash(job, k)) continue;
            const double d =
                fmod(job->task.light[k].azimuth_deg - job->task.light[i].azimuth_deg + 1080, 360);
            if (k != i && d > 1e-9) next = fmin(next, d);
        }
        widest = fmax(widest, next);
    }
    return 360 - widest;
}

/* Two torches and a flash must lie crosswise; more must go round. */
static enum status check_places(struct grain_job *job) {
    const int moved = torches(job);
    if (moved < 2) return FAULT(job->fault, GRAIN_FLASHES, COUNT_TEXT(moved));
    if (moved > 2)
        return circle_used(job) >= 120 ? STATUS_OK
                                       : FAULT(job->fault, GRAIN_LIGHTS_FLAT, ROUNDED(circle_used(job), 1));
    double azimuth[2] = {0, 0};
    for (int i = 0, n = 0; i < job->task.lights; i++)
        if (!is_flash(job, i)) azimuth[n++] = job->task.light[i].azimuth_deg;
    const double apart = areal_turn(azimuth[0], azimuth[1]);
    if (apart < 60) return FAULT(job->fault, GRAIN_NOT_CROSSWISE, ROUNDED(apart, 1));
    NOTE(job->reply, GRAIN_QUICK, NULL);
    return STATUS_OK;
}

static enum status read_lights(struct grain_job *job) {
    const char *photo[STEREO_MOST];
    struct bytes bytes;
    const size_t count = request_count(job->request, "PHOTO");
    if (count < STEREO_LEAST || count > STEREO_MOST)
        return FAULT(job->fault, GRAIN_FEW_LIGHTS, COUNT_TEXT(count), COUNT_TEXT(STEREO_MOST));
    for (size_t i = 0; i < count; i++) photo[i] = grain_photo_name(job, (int)i);
    job->task.lights = (int)count;
    enum status status = disk_read(job->around->disk, request_text(job->request, "--lights"), DISK_TEXT_MIB,
                                   job->around->arena, &bytes, job->fault);
    if (status == STATUS_OK)
        status = torches_read(&bytes, photo, count, job->task.light, job->mark, job->fault);
    return status;
}

static void note_low(struct grain_job *job) {
    for (int i = 0; i < job->task.lights; i++)
        if (job->task.light[i].elevation_deg < low_deg)
            NOTE(job->reply, GRAIN_TORCH_LOW, grain_photo_name(job, i),
                 ROUNDED(job->task.light[i].elevation_deg, .1));
}

static enum status read_scale(struct grain_job *job) {
    const char *path = request_text(job->request, "--card");
    if ((path != NULL) == request_has(job->request, "--mm-per-px")) return FAULT0(job->fault, GRAIN_SCALE);
    if (!path) return STATUS_OK;
    struct bytes bytes;
    const enum status status =
        disk_read(job->around->disk, path, DISK_TEXT_MIB, job->around->arena, &bytes, job->fault);
    return status == STATUS_OK ? card_read(&bytes, job->around->arena, &job->card, job->fault) : status;
}

static enum status read_filters(struct grain_job *job) {
    job->s_mm = request_number(job->request, "--s-filter-mm", .25);
    job->l_mm = request_number(job->request, "--l-filter-mm", 5);
    if (job->s_mm > 0 && job->l_mm > 0 && job->l_mm < 2 * job->s_mm) return FAULT0(job->fault, GRAIN_FILTERS);
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

static enum status check_sharp(struct grain_job *job) {
    double sharp[STEREO_MOST];
    const int n = job->task.lights;
    for (int i = 0; i < n; i++) sharp[i] = stereo_sharpness(job->plane[i], job->task.width, job->task.height);
    const double usual = median_of(sharp, n);
    for (int i = 0; i < n; i++)
        if (sharp[i] < blurred_share * usual)
            return FAULT(job->fault, GRAIN_BLURRED, grain_photo_name(job, i),
                         ROUNDED(100 * sharp[i] / usual, 1));
    return STATUS_OK;
}

static enum status check_still(struct grain_job *job) {
    json_t *photos = json_array();
    json_put(job->reply, "photos", photos);
    const bool told = job->task.lights > STEREO_LEAST;
    double farthest = moved_px;
    int moved = -1;
    if (!told) NOTE(job->reply, GRAIN_UNCHECKED, NULL);
    for (int i = 0; i < job->task.lights; i++) {
        json_t *photo = json_object();
        json_array_append_new(photos, photo);
        json_put_text(photo, "file", grain_photo_name(job, i));
        if (!told) continue;
        struct stereo_shift shift;
        stereo_find_shift(&job->task, i, &shift);
        const double off = hypot(shift.dx, shift.dy);
        if (off > farthest && shift.best > sure_agreement) farthest = off, moved = i;
        if (shift.best <= sure_agreement)
            NOTE(job->reply, GRAIN_MISFIT, grain_photo_name(job, i), ROUNDED(shift.in_place, .01));
        json_put(photo, "shift_px", json_numbers((const double[]){shift.dx, shift.dy}, 2, 1));
        json_put_number(photo, "agreement", shift.in_place, 3);
        work_report(job->around->work, .5 + .2 * (i + 1) / job->task.lights);
    }
    if (moved >= 0)
        return FAULT(job->fault, GRAIN_MOVED, grain_photo_name(job, moved), ROUNDED(farthest, .1));
    return STATUS_OK;
}

/* ---- the relief ---- */

/* The directions as the pictures mend them; what was changed is told. */
static void aim(struct grain_job *job) {
    const double sd_deg = request_number(job->request, "--light-sd-deg", 3);
    const double change = sd_deg > 0 ? stereo_aim(&job->task, sd_deg, job->around->work, &job->common) : -1;
    if (change < 0) job->askew = 2 * job->common; /* each way by half of the torches */
    if (change >= 0)
        json_put_number(job->reply, "lights_mended_deg", change, 2);
    else
        json_put_null(job->reply, "lights_mended_deg");
    if (change > sd_deg + 1) NOTE(job->reply, GRAIN_AIMED, ROUNDED(change, .1));
}

static void lift(struct grain_job *job, struct relief *relief) {
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    struct stereo_quality quality;
    float *p = memory_need(n, sizeof *p), *q = memory_need(n, sizeof *q);
    aim(job);
    stereo_slopes(&job->task, job->around->work, p, q, &quality);
    grain_photos_drop(job);
    relief->z_mm = memory_need(n, sizeof *relief->z_mm);
    stereo_integrate(p, q, job->s_mm, job->l_mm, job->around->work, relief);
    memory_free(p), memory_free(q);
    json_put_number(job->reply, "fit_residual", quality.residual, 4);
    json_put_number(job->reply, "dropped", quality.dropped, 4);
}

static enum status judge(struct grain_job *job, const struct relief *relief, const struct grain *grain) {
    const double *v = grain->value.value;
    const double side = fmin(relief->width, relief->height) * relief->step_mm;
    json_put_number(job->reply, "field_in_sal", side / v[AREAL_SAL], 1);
    if (job->task.lights < STEREO_TRIM_FROM)
        NOTE(job->reply, GRAIN_FEW_FOR_GLOSS, COUNT_TEXT(job->task.lights));
    if (v[AREAL_SSK] < GRAIN_SANDED) NOTE(job->reply, GRAIN_IS_SANDED, ROUNDED(v[AREAL_SSK], .01));
    if (v[AREAL_STR] < GRAIN_DIRECTED)
        NOTE(job->reply, GRAIN_HAS_LAY, ROUNDED(fmod(v[AREAL_STD] + 90, 180), 1));
    if (grain->value.is_open) NOTE(job->reply, GRAIN_OPEN, NULL);
    if (side < GRAIN_FIELD * v[AREAL_SAL])
        return FAULT(job->fault, GRAIN_FIELD_SMALL, ROUNDED(side, .1), ROUNDED(side / v[AREAL_SAL], .1),
                     ROUNDED(GRAIN_FIELD * v[AREAL_SAL], .1));
    return STATUS_OK;
}

/* ---- pictures of it ---- */

static enum status write_bytes(const struct grain_job *job, const char *option, struct text *bytes,
                               enum status status) {
    if (status == STATUS_OK)
        status = disk_write(job->around->disk, request_text(job->request, option), bytes->data, bytes->length,
                            job->fault);
    text_free(bytes);
    return status;
}

static enum status write_height(const struct grain_job *job, const struct relief *relief) {
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

static enum status write_x3p(const struct grain_job *job, const struct relief *relief) {
    struct text bytes = {0};
    x3p_out(relief, &bytes);
    return write_bytes(job, "--x3p-out", &bytes, STATUS_OK);
}

/* Lambert from the left above, 35 degrees high; flat grain is drawn steeper by `times`. */
static uint8_t shade_of(const struct relief *relief, double times, int x, int y) {
    const size_t w = (size_t)relief->width, at = (size_t)y * w + (size_t)x;
    const size_t right = x + 1 < relief->width ? at + 1 : at, left = x > 0 ? at - 1 : at;
    const size_t below = y + 1 < relief->height ? at + w : at, above = y > 0 ? at - w : at;
    const double p = times * (relief->z_mm[right] - relief->z_mm[left]) / (2 * relief->step_mm);
    const double q = times * (relief->z_mm[below] - relief->z_mm[above]) / (2 * relief->step_mm);
    const double v = (.58 * p + .58 * q + .57) / sqrt(1 + p * p + q * q);
    return (uint8_t)(255 * fmax(0, fmin(1, v)) + .5);
}

static enum status write_relief(const struct grain_job *job, const struct relief *relief, double sdq) {
    const double times = sdq > 0 ? fmin(50, fmax(1, shown_sdq / sdq)) : 1;
    const size_t n = (size_t)relief->width * (size_t)relief->height;
    struct screen_picture screen = {relief->width, relief->height, memory_need(n, 3)};
    struct text bytes = {0};
    for (int y = 0; y < relief->height; y++)
        for (int x = 0; x < relief->width; x++)
            memset(screen.rgb + 3 * ((size_t)y * (size_t)relief->width + (size_t)x),
                   shade_of(relief, times, x, y), 3);
    json_put_number(job->reply, "relief_times", times, 1);
    const enum status status = picture_out_png(&screen, &bytes, job->fault);
    memory_free(screen.rgb);
    return write_bytes(job, "--relief-out", &bytes, status);
}

static enum status tell(struct grain_job *job, const struct relief *relief) {
    struct grain grain = {.s_mm = job->s_mm, .l_mm = job->l_mm};
    struct areal chance;
    areal_measure(relief, job->around->work, &grain.value);
    const double *v = grain.value.value;
    if (!(v[AREAL_SDQ] >= least_sdq && v[AREAL_SAL] > 0))
        return FAULT(job->fault, GRAIN_FLAT, ROUNDED(200 * v[AREAL_SDQ], .01));
    areal_chance(relief, &grain.value, job->around->work, &chance);
    grain_doubt(&grain, &chance, job->common, job->askew);
    grain_put(job->reply, &grain);
    json_put(job->reply, "field_mm",
             json_numbers((const double[]){relief->width * relief->step_mm, relief->height * relief->step_mm},
                          2, 3));
    json_put_count(job->reply, "lights", job->task.lights);
    enum status status = STATUS_OK;
    if (request_has(job->request, "--height-out")) status = write_height(job, relief);
    if (status == STATUS_OK && request_has(job->request, "--relief-out"))
        status = write_relief(job, relief, grain.value.value[AREAL_SDQ]);
    if (status == STATUS_OK && request_has(job->request, "--x3p-out")) status = write_x3p(job, relief);
    return status == STATUS_OK ? judge(job, relief, &grain) : status;
}

static enum status measure(struct grain_job *job) {
    enum status status = read_filters(job);
    if (status == STATUS_OK) status = read_lights(job);
    if (status == STATUS_OK) status = read_scale(job);
    bool told = true;
    for (int i = 0; i < job->task.lights; i++) told &= job->mark[i].kind == TORCH_TOLD;
    if (status == STATUS_OK && told) status = check_places(job);
    if (status == STATUS_OK) status = grain_photos_take(job);
    if (status == STATUS_OK && !told) status = check_places(job);
    if (status != STATUS_OK) return status;
    note_low(job);
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
    struct grain_job job = {
        .around = around, .request = request, .fault = fault, .reply = json_start("grain")};
    const enum status status = measure(&job);
    grain_photos_drop(&job);
    *reply = job.reply;
    if (status == STATUS_OK || status == STATUS_NO) return status;
    json_decref(job.reply);
    *reply = NULL;
    return status;
}
