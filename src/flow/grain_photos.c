#include "flow/grain_photos.h"
#include "base/memory.h"
#include <string.h>

enum { LEAST_SIDE = 64, CHUNK_ROWS = 16 };

const char *grain_photo_name(const struct grain_job *job, int i) {
    return request_text_at(job->request, "PHOTO", (size_t)i);
}

/* ---- where the patch lies ---- */

static enum status read_patch(const struct grain_job *job, const struct picture *picture, double v[4]) {
    const double f = picture->reduced > 0 ? picture->reduced : 1;
    v[0] = v[1] = 0, v[2] = f * picture->width, v[3] = f * picture->height;
    if (request_has(job->request, "--patch")) {
        size_t n;
        const double *given = request_numbers(job->request, "--patch", &n);
        if (n != 4) return FAULT0(job->fault, GRAIN_PATCH_WORDS);
        memcpy(v, given, 4 * sizeof *v);
    }
    for (int k = 0; k < 4; k++) v[k] /= f;
    if ((int)v[2] >= LEAST_SIDE && (int)v[3] >= LEAST_SIDE && (int)v[0] + (int)v[2] <= picture->width &&
        (int)v[1] + (int)v[3] <= picture->height)
        return STATUS_OK;
    return FAULT(job->fault, GRAIN_PATCH_OUTSIDE, NUMBER_TEXT(f * v[0]), NUMBER_TEXT(f * v[1]),
                 NUMBER_TEXT(f * v[2]), NUMBER_TEXT(f * v[3]), NUMBER_TEXT(f * picture->width),
                 NUMBER_TEXT(f * picture->height));
}

static void place_pixels(struct grain_job *job, const struct picture *picture, const double v[4]) {
    const double f = picture->reduced > 0 ? picture->reduced : 1;
    struct stereo_task *task = &job->task;
    job->x0 = (int)v[0], job->y0 = (int)v[1];
    task->width = (int)v[2], task->height = (int)v[3];
    task->step_mm = f * request_number(job->request, "--mm-per-px", 1);
    task->off_x = job->x0 + task->width / 2. - picture->width / 2.;
    task->off_y = job->y0 + task->height / 2. - picture->height / 2.;
}

static bool overlaps(const struct panel_grid *grid, double x0, double y0, double x1, double y1) {
    const double x = grid->origin_mm.x, y = grid->origin_mm.y;
    return x < x1 && y < y1 && x + grid->width * grid->cell_mm > x0 && y + grid->height * grid->cell_mm > y0;
}

static bool lies_in_window(const struct panel_grid *grid, const struct photo_card *card) {
    const double r = card->window_mm / 2, x = grid->origin_mm.x - card->window_center_mm[0],
                 y = grid->origin_mm.y - card->window_center_mm[1];
    return card->has_window && x >= -r && y >= -r && x + grid->width * grid->cell_mm <= r &&
           y + grid->height * grid->cell_mm <= r;
}

/* A grid of millimetres over the patch of the first photograph; the torches stand around its middle. */
static enum status place_grid(struct grain_job *job, const struct plane_view *view, const double v[4]) {
    const struct polygon px = {
        4, {{v[0], v[1]}, {v[0] + v[2], v[1]}, {v[0] + v[2], v[1] + v[3]}, {v[0], v[1] + v[3]}}};
    struct polygon mm;
    if (!grid_over(&px, view, &job->grid, &mm) || job->grid.width < LEAST_SIDE ||
        job->grid.height < LEAST_SIDE)
        return FAULT(job->fault, GRAIN_PATCH_OUTSIDE, NUMBER_TEXT(v[0]), NUMBER_TEXT(v[1]), NUMBER_TEXT(v[2]),
                     NUMBER_TEXT(v[3]), COUNT_TEXT(job->whole_w), COUNT_TEXT(job->whole_h));
    if (overlaps(&job->grid, 0, 0, job->card->size_mm[0], job->card->size_mm[1]) &&
        !lies_in_window(&job->grid, job->card))
        return FAULT0(job->fault, GRAIN_PATCH_CARD);
    job->task.width = job->grid.width, job->task.height = job->grid.height;
    job->task.step_mm = job->grid.cell_mm;
    return STATUS_OK;
}

static enum status place_patch(struct grain_job *job, const struct picture *picture,
                               const struct plane_view *view) {
    double v[4];
    job->whole_w = picture->width, job->whole_h = picture->height;
    enum status status = read_patch(job, picture, v);
    if (status != STATUS_OK) return status;
    if (view)
        status = place_grid(job, view, v);
    else
        place_pixels(job, picture, v);
    const double step = job->task.step_mm;
    if (status == STATUS_OK && job->s_mm > 0 && step > job->s_mm / 2)
        return FAULT(job->fault, GRAIN_COARSE_PIXELS, ROUNDED(step, .0001), NUMBER_TEXT(job->s_mm),
                     NUMBER_TEXT(job->s_mm / 2));
    return status;
}

/* ---- its light ---- */

struct taking {
    struct grain_job *job;
    const struct picture *picture;
    float *const *rgb; /* planes of the grid, or NULL: pixels of the picture */
    const uint8_t *inside;
    float *out;
};

/* Linear, 1 is white; false where a channel is burnt out or nothing was seen. */
static bool colour_at(const struct taking *t, int x, int y, float v[3]) {
    if (t->rgb) {
        const size_t at = (size_t)y * (size_t)t->job->task.width + (size_t)x;
        for (int c = 0; c < 3; c++) v[c] = t->rgb[c][at];
        const float clip = (float)t->picture->clip / 65535.0F;
        return t->inside[at] && v[0] < clip && v[1] < clip && v[2] < clip;
    }
    const uint16_t *from = picture_at(t->picture, t->job->x0 + x, t->job->y0 + y);
    for (int c = 0; c < 3; c++) v[c] = (float)from[c] / 65535.0F;
    return from[0] < t->picture->clip && from[1] < t->picture->clip && from[2] < t->picture->clip;
}

static void take_rows(void *context, size_t chunk) {
    const struct taking *t = context;
    const int w = t->job->task.width, h = t->job->task.height;
    const double *c = t->job->chroma.weight;
    const float weight[3] = {(float)c[0], (float)c[1], (float)c[2]};
    for (int y = (int)chunk * CHUNK_ROWS; y < (int)(chunk + 1) * CHUNK_ROWS && y < h; y++)
        for (int x = 0; x < w; x++) {
            float v[3];
            const bool seen = colour_at(t, x, y, v);
            const float light = v[0] * weight[0] + v[1] * weight[1] + v[2] * weight[2];
            t->out[(size_t)y * (size_t)w + (size_t)x] = !seen ? (float)INFINITY : light > 0 ? light : 0;
        }
}

/* Gloss is left out by colour where the colour is strong and the pixels are fine enough for it. */
static void choose_chroma(struct grain_job *job, const struct taking *t) {
    double mean[3] = {0};
    for (int y = 0; y < job->task.height; y += 7)
        for (int x = 0; x < job->task.width; x += 7) {
            float v[3];
            if (!colour_at(t, x, y, v)) continue;
            for (int c = 0; c < 3; c++) mean[c] += (double)v[c];
        }
    job->chroma = chroma_of(mean);
    const bool fine = job->s_mm > 0 && job->task.step_mm <= job->s_mm / 4;
    if (job->chroma.strength >= CHROMA_STRONG && !fine) {
        for (int c = 0; c < 3; c++) job->chroma.weight[c] = 1. / 3;
        job->chroma.strength = 0;
    }
    json_put_flag(job->reply, "by_chroma", job->chroma.strength >= CHROMA_STRONG);
}

/* With few torches a pixel that is burnt out in one is lost. */
static double burnt_share(const float *plane, size_t n) {
    size_t burnt = 0;
    for (size_t i = 0; i < n; i++) burnt += isinf(plane[i]) != 0;
    return (double)burnt / (double)n;
}

static enum status take_plane(struct grain_job *job, const struct picture *picture,
                              const struct plane_view *view, int i) {
    const int w = job->task.width, h = job->task.height;
    const size_t n = (size_t)w * (size_t)h;
    float *planes = view ? memory_need(3 * n, sizeof *planes) : NULL;
    uint8_t *inside = view ? memory_need(n, 1) : NULL;
    float *const rgb[3] = {planes, planes + (view ? n : 0), planes + (view ? 2 * n : 0)};
    struct taking t = {job, picture, view ? rgb : NULL, inside, memory_need(n, sizeof(float))};
    job->plane[i] = t.out, job->task.shade[i] = t.out;
    if (view) {
        memset(inside, 1, n);
        rectify_picture(picture, view, &job->grid, job->around->work, rgb, inside);
    }
    if (i == 0) choose_chroma(job, &t);
    work_run(job->around->work, ((size_t)h + CHUNK_ROWS - 1) / CHUNK_ROWS, take_rows, &t);
    memory_free(planes), memory_free(inside);
    const double burnt = burnt_share(t.out, n), most = job->task.lights < STEREO_TRIM_FROM ? .02 : .3;
    if (burnt > most && burnt < 1)
        return FAULT(job->fault, GRAIN_BURNT, grain_photo_name(job, i), ROUNDED(100 * burnt, 1));
    if (!stereo_normalise(t.out, w, h, job->around->work))
        return FAULT(job->fault, GRAIN_DARK, grain_photo_name(job, i));
    return STATUS_OK;
}

/* ---- its torch ---- */

static enum status look_at_mark(struct grain_job *job, const struct picture *picture, int i) {
    const double f = picture->reduced > 0 ? picture->reduced : 1;
    struct torch_mark mark = job->mark[i];
    mark.x /= f, mark.y /= f;
    if (mark.kind == TORCH_PIN) {
        job->rings[i] = memory_need(1, sizeof *job->rings[i]);
        pin_look(picture, &mark, f * request_number(job->request, "--mm-per-px", 1), job->rings[i]);
    }
    if (mark.kind != TORCH_BALL) return STATUS_OK;
    mark.size /= f;
    return ball_torch(picture, &mark, &job->task.light[i])
               ? STATUS_OK
               : FAULT(job->fault, GRAIN_NO_GLINT, grain_photo_name(job, i));
}

static enum status read_pins(struct grain_job *job) {
    struct pin_rings *rings[STEREO_MOST];
    int n = 0;
    for (int i = 0; i < job->task.lights; i++)
        if (job->rings[i]) rings[n++] = job->rings[i];
    for (int i = 0, k = 0; i < job->task.lights; i++) {
        if (!job->rings[i]) continue;
        if (!pin_torch(rings, n, k++, &job->task.light[i]))
            return FAULT(job->fault, GRAIN_NO_SHADOW, grain_photo_name(job, i));
    }
    return STATUS_OK;
}

static void tell_torches(struct grain_job *job) {
    json_t *list = json_array();
    for (int i = 0; i < job->task.lights; i++) {
        const struct stereo_light *light = &job->task.light[i];
        json_t *one = json_object();
        if (job->mark[i].kind == TORCH_TOLD) {
            json_decref(one);
            continue;
        }
        json_put_text(one, "photo", grain_photo_name(job, i));
        json_put_number(one, "azimuth_deg", light->azimuth_deg, 2);
        json_put_number(one, "elevation_deg", light->elevation_deg, 2);
        json_array_append_new(list, one);
    }
    if (json_array_size(list))
        json_put(job->reply, "torches_found", list);
    else
        json_decref(list);
}

/* ---- one after the other ---- */

static enum status look(struct grain_job *job, const struct picture *picture, int i) {
    struct located located;
    struct plane_view view = {&located, 0};
    enum status status = STATUS_OK;
    if (job->card) status = locate_card(picture, job->card, &located, job->fault);
    if (status == STATUS_OK && i == 0) status = place_patch(job, picture, job->card ? &view : NULL);
    if (status == STATUS_OK && !job->card &&
        (picture->width != job->whole_w || picture->height != job->whole_h))
        status = FAULT(job->fault, GRAIN_UNEQUAL, grain_photo_name(job, i), COUNT_TEXT(picture->width),
                       COUNT_TEXT(picture->height), COUNT_TEXT(job->whole_w), COUNT_TEXT(job->whole_h));
    if (status == STATUS_OK) status = look_at_mark(job, picture, i);
    return status == STATUS_OK ? take_plane(job, picture, job->card ? &view : NULL, i) : status;
}

enum status grain_photos_take(struct grain_job *job) {
    const int n = job->task.lights;
    for (int i = 0; i < n; i++) {
        struct picture picture;
        if (job->card && job->mark[i].kind != TORCH_TOLD) return FAULT0(job->fault, GRAIN_MARK_AND_CARD);
        enum status status = picture_load(job->around, grain_photo_name(job, i), &picture, job->fault);
        if (status != STATUS_OK) return status;
        picture_add_note(&picture, job->reply);
        status = look(job, &picture, i);
        picture_free(&picture);
        if (status != STATUS_OK) return status;
        work_report(job->around->work, .5 * (i + 1) / n);
        if (job->around->work && work_is_cancelled(job->around->work)) return FAULT0(job->fault, CANCELLED);
    }
    const enum status status = read_pins(job);
    if (status == STATUS_OK) tell_torches(job);
    return status;
}

void grain_photos_drop(struct grain_job *job) {
    for (int i = 0; i < STEREO_MOST; i++) {
        memory_free(job->plane[i]), memory_free(job->rings[i]);
        job->plane[i] = NULL, job->rings[i] = NULL;
    }
}
