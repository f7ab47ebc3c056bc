/* `russet photo damage`: photographs of a panel -> kind `damage`:
 *
 *     "panel_mm2", "loss_mm2", "crack_mm", "crack_mm_per_cm2", "crack_width_mm": {median, p95},
 *     "loss_mm2_u95", "crack_mm_u95", "crack_width_mm": {median_u95}: with a sound patch and three
 *     photographs,
 *     "classes": [{class, tasks, damage, area_mm2, length_mm, spots}], from the least work to the most,
 *     "sound": {given, lab, de00_p99, loss_threshold_de00}, "losses": [...], "photos", "mm_per_cell",
 *     "dirt": {square_mm2, differed_before_mm2, came_off_mm2, dirt_mm2} after a test square was cleaned
 *
 * Polygons are in pixels of the first photograph, and the masks lie on its pixels. */
#include "flow/note.h"
#include "flow/picture_flow.h"
#include "formats/card_json.h"
#include "formats/json_out.h"
#include "formats/picture_out.h"
#include "surface/wear.h"
#include "trade/labour.h"
#include <math.h>
#include <string.h>

extern operation_flow photo_damage_flow;

enum { PHOTOS_MOST = 32, OVERLAY_LONGEST = 1600, EDGE = 12 };
static const double far_mm = .15; /* cells wider than this miss the cracks that leather has first */

static const double edge_much = .08;
static const double card_edge_mm = 3; /* what a lamp 30 degrees high shades beside a card of 1.5 mm */

struct job {
    const struct surroundings *around;
    const struct request *request;
    struct fault *fault;
    json_t *reply;
    struct photo_card *card; /* NULL: mm per pixel */
    struct located located;  /* of the first photograph */
    struct plane_view view;  /* likewise */
    int width, height, reduced;
    struct panel_grid grid;
    struct wear *wear, *after; /* after: a test square was cleaned; NULL */
    uint8_t *square;
    struct loss_dirt dirt;
    struct wear_result *result;
    struct screen_picture shown; /* of the first photograph, for the overlay */
};

/* ---- what was asked ---- */

/* "x,y x,y ..."; false when it is no list of 3 to POLYGON_MOST points. */
static bool polygon_read(const char *text, struct polygon *out) {
    out->corners = 0;
    for (const char *at = text + strspn(text, " \t"); *at; at += strspn(at, " \t")) {
        const size_t x = strcspn(at, ", \t");
        if (at[x] != ',' || out->corners == POLYGON_MOST) return false;
        const size_t y = strcspn(at + x + 1, ", \t");
        struct point *to = &out->corner[out->corners++];
        if (!text_to_number(at, x, '.', &to->x) || !text_to_number(at + x + 1, y, '.', &to->y)) return false;
        at += x + 1 + y;
        if (*at == ',') return false;
    }
    return out->corners >= 3;
}

static enum status read_polygon(const struct job *job, const char *name, struct polygon *out) {
    const char *text = request_text(job->request, name);
    if (!polygon_read(text, out)) return FAULT(job->fault, DAMAGE_POLYGON, name, text);
    for (int i = 0; i < out->corners; i++) {
        struct point *at = &out->corner[i];
        if (!(at->x >= 0 && at->y >= 0 && at->x <= job->width * job->reduced &&
              at->y <= job->height * job->reduced))
            return FAULT(job->fault, DAMAGE_OUTSIDE, name, NUMBER_TEXT(at->x), NUMBER_TEXT(at->y),
                         COUNT_TEXT(job->width * job->reduced), COUNT_TEXT(job->height * job->reduced));
        at->x /= job->reduced, at->y /= job->reduced;
    }
    return polygon_area(out) >= 1 ? STATUS_OK : FAULT(job->fault, DAMAGE_EMPTY, name);
}

static enum status read_scale(struct job *job) {
    const char *path = request_text(job->request, "--card");
    if ((path != NULL) == request_has(job->request, "--mm-per-px")) return FAULT0(job->fault, DAMAGE_SCALE);
    if (request_has(job->request, "--cleaned") != request_has(job->request, "--cleaned-photo") ||
        (request_has(job->request, "--cleaned") && !request_has(job->request, "--sound")))
        return FAULT0(job->fault, DAMAGE_CLEANED);
    struct polygon polygon;
    static const char *const name[] = {"--panel", "--sound", "--cleaned"};
    for (int i = 0; i < 3; i++) {
        const char *text = request_text(job->request, name[i]);
        if (text && !polygon_read(text, &polygon)) return FAULT(job->fault, DAMAGE_POLYGON, name[i], text);
    }
    if (!path) return STATUS_OK;
    struct bytes bytes;
    const enum status status =
        disk_read(job->around->disk, path, DISK_TEXT_MIB, job->around->arena, &bytes, job->fault);
    return status == STATUS_OK ? card_read(&bytes, job->around->arena, &job->card, job->fault) : status;
}

/* ---- the photographs ---- */

/* The cells of an outline; NULL when it was not told. */
static enum status fill_cells(const struct job *job, const char *name, uint8_t **out) {
    struct polygon px, mm;
    *out = NULL;
    if (!request_has(job->request, name)) return STATUS_OK;
    const enum status status = read_polygon(job, name, &px);
    if (status != STATUS_OK) return status;
    for (int i = 0; i < px.corners; i++) mm.corner[i] = view_to_mm(&job->view, px.corner[i]);
    mm.corners = px.corners;
    *out = arena_need(job->around->arena, (size_t)job->grid.width * (size_t)job->grid.height, 1);
    grid_fill(&job->grid, &mm, *out);
    return STATUS_OK;
}

/* The card, and what its edge shades, is no part of the panel. */
static void leave_card_out(const struct job *job, uint8_t *inside) {
    const struct panel_grid *grid = &job->grid;
    const double w = job->card->size_mm[0] + card_edge_mm, h = job->card->size_mm[1] + card_edge_mm;
    for (int y = 0; y < grid->height; y++)
        for (int x = 0; x < grid->width; x++) {
            const double u = grid->origin_mm.x + (x + .5) * grid->cell_mm,
                         v = grid->origin_mm.y + (y + .5) * grid->cell_mm;
            if (u > -card_edge_mm && v > -card_edge_mm && u < w && v < h)
                inside[(size_t)y * (size_t)grid->width + (size_t)x] = 0;
        }
}

static enum status set_up(struct job *job, const struct picture *picture) {
    struct polygon px = {4, {{0, 0}, {job->width, 0}, {job->width, job->height}, {0, job->height}}}, mm;
    enum status status = STATUS_OK;
    if (request_has(job->request, "--panel")) status = read_polygon(job, "--panel", &px);
    if (status != STATUS_OK) return status;
    if (!grid_over(&px, &job->view, &job->grid, &mm)) return FAULT(job->fault, DAMAGE_EMPTY, "--panel");
    const size_t cells = (size_t)job->grid.width * (size_t)job->grid.height;
    uint8_t *inside = arena_need(job->around->arena, cells, 1), *sound = NULL;
    grid_fill(&job->grid, &mm, inside);
    if (job->card) leave_card_out(job, inside);
    status = fill_cells(job, "--sound", &sound);
    if (status == STATUS_OK) status = fill_cells(job, "--cleaned", &job->square);
    if (status != STATUS_OK) return status;
    job->wear = wear_new(&job->grid, inside, sound, job->around->arena);
    if (job->square) {
        uint8_t *copy[2];
        for (int i = 0; i < 2; i++)
            copy[i] = memcpy(arena_need(job->around->arena, cells, 1), i ? sound : inside, cells);
        job->after = wear_new(&job->grid, copy[0], copy[1], job->around->arena);
    }
    if (request_has(job->request, "--overlay"))
        screen_picture_of(picture, OVERLAY_LONGEST, picture->raw ? 0 : 1, job->around->arena, &job->shown);
    return STATUS_OK;
}

static enum status look(struct job *job, const struct picture *picture, const char *path, bool first,
                        bool cleaned) {
    struct located located;
    struct plane_view view = {NULL, request_number(job->request, "--mm-per-px", 0)};
    view.mm_per_px *= picture->reduced > 0 ? picture->reduced : 1;
    if (job->card) {
        const enum status status = locate_card(picture, job->card, &located, job->fault);
        if (status != STATUS_OK) return status;
        view.located = &located;
    } else if (!first && (picture->width != job->width || picture->height != job->height))
        return FAULT(job->fault, DAMAGE_OTHER_SIZE, path, COUNT_TEXT(picture->width),
                     COUNT_TEXT(picture->height), COUNT_TEXT(job->width), COUNT_TEXT(job->height));
    if (first) {
        job->width = picture->width, job->height = picture->height;
        job->reduced = picture->reduced > 0 ? picture->reduced : 1;
        job->view = view;
        if (job->card) job->located = located, job->view.located = &job->located;
        const enum status status = set_up(job, picture);
        if (status != STATUS_OK) return status;
    }
    wear_add(cleaned ? job->after : job->wear, picture, &view, job->around->work);
    return STATUS_OK;
}

static enum status take_one(struct job *job, const char *path, bool first, bool cleaned) {
    struct picture picture;
    enum status status = picture_load(job->around, path, &picture, job->fault);
    if (status != STATUS_OK) return status;
    picture_add_note(&picture, job->reply);
    status = look(job, &picture, path, first, cleaned);
    picture_free(&picture);
    return status;
}

static enum status take_all(struct job *job) {
    const size_t n = request_count(job->request, "PHOTO"),
                 more = request_count(job->request, "--cleaned-photo");
    if (n + more > PHOTOS_MOST) return FAULT(job->fault, PHOTOS_MANY, COUNT_TEXT(PHOTOS_MOST));
    for (size_t i = 0; i < n + more; i++) {
        const char *path = i < n ? request_text_at(job->request, "PHOTO", i)
                                 : request_text_at(job->request, "--cleaned-photo", i - n);
        const enum status status = take_one(job, path, i == 0, i >= n);
        if (status != STATUS_OK) return status;
        work_report(job->around->work, .6 * (double)(i + 1) / (double)(n + more));
        if (job->around->work && work_is_cancelled(job->around->work)) return FAULT0(job->fault, CANCELLED);
    }
    return STATUS_OK;
}

/* ---- pictures out ---- */

/* The cell under a pixel of the (decoded) first photograph, or -1. */
static long cell_under(const struct job *job, double x, double y) {
    const struct point mm = view_to_mm(&job->view, (struct point){x, y});
    const double u = floor((mm.x - job->grid.origin_mm.x) / job->grid.cell_mm + 1e-9),
                 v = floor((mm.y - job->grid.origin_mm.y) / job->grid.cell_mm + 1e-9);
    if (!(u >= 0 && v >= 0 && u < job->grid.width && v < job->grid.height)) return -1;
    return (long)v * job->grid.width + (long)u;
}

static enum status write_text(const struct job *job, const char *path, struct text *png, enum status status) {
    if (status == STATUS_OK) status = disk_write(job->around->disk, path, png->data, png->length, job->fault);
    text_free(png);
    return status;
}

static enum status write_mask(const struct job *job, const char *name, const uint8_t *cells) {
    const char *path = request_text(job->request, name);
    if (!path) return STATUS_OK;
    const int width = job->width * job->reduced, height = job->height * job->reduced;
    uint8_t *mask = memory_need((size_t)width * (size_t)height, 1);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const long cell = cell_under(job, (x + .5) / job->reduced, (y + .5) / job->reduced);
            if (cell >= 0 && cells[cell]) mask[(size_t)y * (size_t)width + (size_t)x] = 255;
        }
    struct text png = {0};
    const double px_mm = job->card ? 1 / job->located.px_per_mm : job->view.mm_per_px;
    const enum status status = picture_out_mask(mask, width, height, job->reduced / px_mm, &png, job->fault);
    memory_free(mask);
    return write_text(job, path, &png, status);
}

/* Cracks red, lost colour half blue, dirt half green. */
static enum status write_overlay(const struct job *job) {
    const char *path = request_text(job->request, "--overlay");
    if (!path) return STATUS_OK;
    const struct screen_picture *shown = &job->shown;
    for (int y = 0; y < shown->height; y++)
        for (int x = 0; x < shown->width; x++) {
            const long cell =
                cell_under(job, (x + .5) * job->width / shown->width, (y + .5) * job->height / shown->height);
            if (cell < 0) continue;
            uint8_t *rgb = shown->rgb + 3 * ((size_t)y * (size_t)shown->width + (size_t)x);
            if (job->result->cracks.mask[cell])
                rgb[0] = 255, rgb[1] = rgb[2] = 32;
            else if (job->result->loss.dirt && job->result->loss.dirt[cell])
                rgb[0] /= 2, rgb[1] = (uint8_t)(rgb[1] / 2 + 96), rgb[2] /= 2;
            else if (job->result->loss.mask[cell])
                rgb[0] /= 2, rgb[1] = (uint8_t)(rgb[1] / 2 + 48), rgb[2] = (uint8_t)(rgb[2] / 2 + 127);
        }
    struct text png = {0};
    return write_text(job, path, &png, picture_out_png(shown, &png, job->fault));
}

/* ---- the reply ---- */

static const struct {
    const char *name, *damage;
    int tasks;
    enum task task[4];
} class_row[WEAR_CLASS_COUNT] = {
    [WEAR_CLEAN] = {"clean-only", NULL, 1, {TASK_CLEAN}},
    [WEAR_RECOLOUR] = {"recolour", "worn", 3, {TASK_CLEAN, TASK_SEAL, TASK_COAT}},
    [WEAR_FILL] = {"flexible-fill", "crack", 3, {TASK_CLEAN, TASK_FILL, TASK_COAT}},
    [WEAR_GLUE] = {"glue-flap", "flap", 4, {TASK_CLEAN, TASK_GLUE, TASK_FILL, TASK_COAT}},
    [WEAR_SUB_PATCH] = {"sub-patch", "hole", 4, {TASK_CLEAN, TASK_SUB_PATCH, TASK_FILL, TASK_COAT}},
    [WEAR_NEW_PANEL] = {"new-panel", NULL, 0, {TASK_CLEAN}}};

static void put_classes(const struct job *job) {
    json_t *list = json_array();
    for (int i = 0; i < WEAR_CLASS_COUNT; i++) {
        const struct wear_sum *sum = &job->result->of[i];
        if (!sum->places) continue;
        json_t *one = json_object(), *tasks = json_array();
        json_put_text(one, "class", class_row[i].name);
        for (int k = 0; k < class_row[i].tasks; k++)
            json_array_append_new(tasks, json_string(task_symbol(class_row[i].task[k])));
        json_put(one, "tasks", tasks);
        json_put_text(one, "damage", class_row[i].damage);
        json_put_number(one, "area_mm2", sum->area_mm2, 1);
        json_put_number(one, "length_mm", sum->length_mm, 1);
        json_put_count(one, "spots", sum->places);
        json_array_append_new(list, one);
    }
    json_put(job->reply, "classes", list);
}

static void put_losses(const struct job *job) {
    static const char *const kind[LOSS_KIND_COUNT] = {"worn", "scuff", "gouge", "hole"};
    json_t *list = json_array();
    for (size_t i = 0; i < job->result->loss.losses && i < 1000; i++) {
        const struct loss *loss = &job->result->loss.loss[i];
        json_t *one = json_object();
        json_put_text(one, "kind", kind[loss->kind]);
        json_put_number(one, "area_mm2", loss->area_mm2, 2);
        json_put_number(one, "length_mm", loss->length_mm, 2);
        json_put_number(one, "width_mm", loss->width_mm, 2);
        json_put_number(one, "de00", loss->de00, 2);
        json_array_append_new(list, one);
    }
    json_put(job->reply, "losses", list);
}

static void put_sound(const struct job *job) {
    const struct loss_result *loss = &job->result->loss;
    json_t *sound = json_object();
    json_put_flag(sound, "given", job->result->sound_given);
    json_put_flag(sound, "is_sound", !job->result->sound_is_spotted && !job->result->sound_is_cracked);
    json_put(sound, "lab", json_lab(loss->sound));
    json_put_number(sound, "de00_p99", loss->sound_de00_p99, 2);
    json_put_number(sound, "loss_threshold_de00", loss->threshold_de00, 2);
    json_put(job->reply, "sound", sound);
}

/* Of the cells along the edge of the photograph, the share that is called lost colour: what lies beyond the
 * end of the panel looks like that. */
static double lost_edge(const struct job *job) {
    const struct panel_grid *grid = &job->grid;
    size_t all = 0, lost = 0;
    for (int y = 0; y < grid->height; y++)
        for (int x = 0; x < grid->width; x++) {
            const bool edge = x < EDGE || y < EDGE || x >= grid->width - EDGE || y >= grid->height - EDGE;
            const size_t at = (size_t)y * (size_t)grid->width + (size_t)x;
            all += edge, lost += edge && job->result->loss.mask[at];
        }
    return (double)lost / (double)all;
}

static void put_notes(const struct job *job) {
    const struct wear_result *result = job->result;
    const double edge = request_has(job->request, "--panel") ? 0 : lost_edge(job);
    if (edge > edge_much) NOTE(job->reply, DAMAGE_EDGE, COUNT_TEXT(lround(100 * edge)));
    if (!result->sound_given) NOTE0(job->reply, DAMAGE_NO_SOUND);
    if (result->sound_is_spotted)
        NOTE(
            job->reply, DAMAGE_SPOTTED,
            NUMBER_TEXT(round(10 * fmax(result->loss.sound_patches_de00, result->loss.sound_de00_p99)) / 10));
    if (result->sound_is_cracked) NOTE0(job->reply, DAMAGE_CRACKED);
    if (result->photos < 3) NOTE0(job->reply, DAMAGE_ONE_LAMP);
    if (job->grid.cell_mm > far_mm)
        NOTE(job->reply, DAMAGE_FAR, NUMBER_TEXT(round(100 * job->grid.cell_mm) / 100),
             NUMBER_TEXT(round(20 * job->grid.cell_mm) / 10));
    if (result->loss.gradient > .1)
        NOTE(job->reply, DAMAGE_LIGHT, COUNT_TEXT(lround(100 * result->loss.gradient)));
    if (!job->square)
        NOTE0(job->reply, DAMAGE_DIRT);
    else if (job->dirt.before_mm2 < 1)
        NOTE0(job->reply, DAMAGE_SQUARE_CLEAN);
    else
        NOTE(job->reply, DAMAGE_DIRT_OFF, COUNT_TEXT(lround(100 * job->dirt.off_mm2 / job->dirt.before_mm2)),
             NUMBER_TEXT(round(job->dirt.dirt_mm2) / 100));
    NOTE0(job->reply, DAMAGE_DEPTH);
}

static void put_doubt(json_t *object, const char *key, double u95, int digits) {
    if (!isnan(u95)) json_put_number(object, key, u95, digits);
}

static void put_damage(const struct job *job) {
    const struct wear_result *result = job->result;
    json_t *width = json_object();
    json_put_number(job->reply, "panel_mm2", result->panel_mm2, 2);
    json_put_number(job->reply, "loss_mm2", result->loss.area_mm2, 2);
    put_doubt(job->reply, "loss_mm2_u95", result->u95.loss_mm2, 2);
    json_put_number(job->reply, "crack_mm", result->cracks.length_mm, 2);
    put_doubt(job->reply, "crack_mm_u95", result->u95.crack_mm, 2);
    json_put_number(job->reply, "crack_mm_per_cm2", 100 * result->cracks.length_mm / result->panel_mm2, 4);
    json_put_number(width, "median", result->cracks.width_median_mm, 4);
    put_doubt(width, "median_u95", result->u95.width_mm, 4);
    json_put_number(width, "p95", result->cracks.width_p95_mm, 4);
    json_put(job->reply, "crack_width_mm", width);
    put_classes(job);
    put_losses(job);
    put_sound(job);
    if (job->square) {
        json_t *dirt = json_object();
        json_put_number(dirt, "square_mm2", job->dirt.square_mm2, 2);
        json_put_number(dirt, "differed_before_mm2", job->dirt.before_mm2, 2);
        json_put_number(dirt, "came_off_mm2", job->dirt.off_mm2, 2);
        json_put_number(dirt, "dirt_mm2", job->dirt.dirt_mm2, 2);
        json_put(job->reply, "dirt", dirt);
    }
    json_put_count(job->reply, "photos", result->photos);
    json_put_number(job->reply, "mm_per_cell", job->grid.cell_mm, 5);
    put_notes(job);
}

static enum status measure(struct job *job) {
    job->result = arena_need(job->around->arena, 1, sizeof *job->result);
    if (!wear_measure(job->wear, job->around->work, job->result))
        return FAULT0(job->fault, DAMAGE_TOO_LITTLE);
    if (job->square &&
        !wear_take_dirt(job->wear, job->after, job->square, job->around->work, job->result, &job->dirt))
        return FAULT0(job->fault, DAMAGE_TOO_LITTLE);
    if (job->around->work && work_is_cancelled(job->around->work)) return FAULT0(job->fault, CANCELLED);
    enum status status = write_mask(job, "--cracks-out", job->result->cracks.mask);
    if (status == STATUS_OK) status = write_mask(job, "--loss-out", job->result->loss.mask);
    return status == STATUS_OK ? write_overlay(job) : status;
}

enum status photo_damage_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct job *job = arena_need(around->arena, 1, sizeof *job);
    *job = (struct job){.around = around, .request = request, .fault = fault};
    enum status status = read_scale(job);
    if (status != STATUS_OK) return status;
    job->reply = json_start("damage");
    status = take_all(job);
    if (status == STATUS_OK) status = measure(job);
    if (status != STATUS_OK) {
        json_decref(job->reply);
        return status;
    }
    put_damage(job);
    *reply = job->reply;
    return STATUS_OK;
}
