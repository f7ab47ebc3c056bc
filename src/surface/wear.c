/* Classes (common practice, editable here): a crack under .2 mm is closed by the colour coats; up to 1 mm it
 * takes flexible filler; wider it is a cut whose lips are glued; from 3 mm, or a dark hole, it is patched
 * from behind. A panel of which a tenth is holes, or over which cracks of filling width run denser than 15
 * mm/cm2 on average, is cheaper new. */
#include "surface/wear.h"
#include "surface/ridge.h"
#include <math.h>
#include <string.h>

static const double fill_mm = .2, glue_mm = 1, patch_mm = 3, band_mm = 3;
static const double new_hole_share = .1, new_mm_per_cm2 = 15;
enum { LAMPS_TOLD = 3 };
/* of a length, of a width, of the cell that a width is read in, of the border that lost colour has (mm) */
static const double length_u95 = .12, width_u95 = .15, cell_u95 = 1, border_u95_mm = .1;
static const double twice_tan2 = 2. / 3; /* of lamps 30 degrees high */
static const float glint = 1.7F;         /* times the light of flat ground: a wall that leans 30 degrees */
static const double spotted_de = 2.5, spotted_p99 = 9, cracked_tail = 10;

struct wear {
    struct panel_grid grid;
    uint8_t *inside, *sound;
    struct arena *arena;
    size_t cells;
    int photos;
    float *rgb[3], *flat; /* sums over the photographs */
    /* likewise, of light over its own local mean: as it is, without glints, and the square of that */
    float *even, *matt, *square;
};

static size_t count_of(const uint8_t *mask, size_t cells) {
    size_t n = 0;
    for (size_t i = 0; i < cells; i++) n += mask[i] != 0;
    return n;
}

struct wear *wear_new(const struct panel_grid *grid, uint8_t *inside, uint8_t *sound, struct arena *arena) {
    struct wear *wear = arena_need(arena, 1, sizeof *wear);
    *wear = (struct wear){.grid = *grid, .inside = inside, .sound = sound, .arena = arena};
    wear->cells = (size_t)grid->width * (size_t)grid->height;
    for (int c = 0; c < 3; c++) wear->rgb[c] = arena_need(arena, wear->cells, sizeof(float));
    wear->flat = arena_need(arena, wear->cells, sizeof(float));
    wear->even = arena_need(arena, wear->cells, sizeof(float));
    wear->matt = arena_need(arena, wear->cells, sizeof(float));
    wear->square = arena_need(arena, wear->cells, sizeof(float));
    return wear;
}

struct adding {
    struct wear *wear;
    float *const *rgb;
    float *root;
    float *light, *mean; /* and its local mean */
};

enum { CHUNK = 1 << 16 };

static float light_at(float *const rgb[3], size_t i) {
    const float y = .2126f * rgb[0][i] + .7152f * rgb[1][i] + .0722f * rgb[2][i];
    return y > 0 ? y : 0;
}

static void lighten(void *context, size_t chunk) {
    const struct adding *job = context;
    for (size_t i = chunk * CHUNK; i < job->wear->cells && i < (chunk + 1) * CHUNK; i++) {
        job->light[i] = light_at(job->rgb, i);
        job->root[i] = cbrtf(job->light[i]);
    }
}

/* Sums of what this photograph says; root is its flattened light by now. */
static void sum_up(void *context, size_t chunk) {
    const struct adding *job = context;
    for (size_t i = chunk * CHUNK; i < job->wear->cells && i < (chunk + 1) * CHUNK; i++) {
        for (int c = 0; c < 3; c++) job->wear->rgb[c][i] += job->rgb[c][i];
        job->wear->flat[i] += job->root[i];
        const float even = job->mean[i] > 0 ? job->light[i] / job->mean[i] : 1,
                    matt = even < glint ? even : glint;
        job->wear->even[i] += even, job->wear->matt[i] += matt, job->wear->square[i] += matt * matt;
    }
}

void wear_add(struct wear *wear, const struct picture *picture, const struct plane_view *view,
              struct work *work) {
    const size_t cells = wear->cells, chunks = (cells + CHUNK - 1) / CHUNK;
    const int w = wear->grid.width, h = wear->grid.height;
    float *all = memory_need(6 * cells, sizeof *all);
    float *const rgb[3] = {all, all + cells, all + 2 * cells};
    struct adding job = {wear, rgb, all + 3 * cells, all + 4 * cells, all + 5 * cells};
    rectify_picture(picture, view, &wear->grid, work, rgb, wear->inside);
    work_run(work, chunks, lighten, &job);
    ridge_local_mean(job.light, wear->inside, w, h, RIDGE_FLAT_RADIUS, work, job.mean);
    float *flat = memory_need(cells, sizeof *flat);
    ridge_flatten(job.root, wear->inside, w, h, RIDGE_FLAT_RADIUS, work, flat);
    job.root = flat;
    work_run(work, chunks, sum_up, &job);
    wear->photos++;
    memory_free(flat), memory_free(all);
}

static enum wear_class class_of_crack(const struct crack *crack) {
    if (crack->width_mm < fill_mm) return WEAR_RECOLOUR;
    if (crack->width_mm < glue_mm) return WEAR_FILL;
    return crack->width_mm < patch_mm ? WEAR_GLUE : WEAR_SUB_PATCH;
}

static void put(struct wear_sum *sum, double area_mm2, double length_mm) {
    sum->area_mm2 += area_mm2, sum->length_mm += length_mm, sum->places++;
}

static void classify(struct wear_result *out) {
    double fill_length = 0;
    for (size_t i = 0; i < out->cracks.cracks; i++) {
        const struct crack *crack = &out->cracks.crack[i];
        const enum wear_class class = class_of_crack(crack);
        put(&out->of[class], crack->length_mm * (crack->width_mm + band_mm), crack->length_mm);
        if (class >= WEAR_FILL) fill_length += crack->length_mm;
    }
    for (size_t i = 0; i < out->loss.losses; i++) {
        const struct loss *loss = &out->loss.loss[i];
        if (loss->kind == LOSS_HOLE)
            put(&out->of[WEAR_SUB_PATCH], loss->area_mm2, 0);
        else if (loss->kind == LOSS_GOUGE)
            put(&out->of[WEAR_FILL], loss->area_mm2, loss->length_mm);
        else
            put(&out->of[WEAR_RECOLOUR], loss->area_mm2, 0);
    }
    double worked = 0;
    for (int class = WEAR_RECOLOUR; class < WEAR_NEW_PANEL; class ++) worked += out->of[class].area_mm2;
    put(&out->of[WEAR_CLEAN], fmax(0, out->panel_mm2 - worked), 0);
    if (out->of[WEAR_SUB_PATCH].area_mm2 > new_hole_share * out->panel_mm2 ||
        100 * fill_length > new_mm_per_cm2 * out->panel_mm2)
        put(&out->of[WEAR_NEW_PANEL], out->panel_mm2, 0);
}

struct lifting {
    const struct wear *wear;
    float *light;
};

/* Walls of a crack look away from the camera: under all lamps together they are darker than flat ground by
 * n_z, and would make the crack wider than it is. Lamps from all sides tell n_z without their places being
 * known: of I_i = a n_z (l_z - p l_x - q l_y) the variance over the squared mean is (p^2 + q^2) / (2 tan^2)
 * of the lamps' height, 1 / n_z^2 = 1 + p^2 + q^2. Glints are held at what a matt wall could give. */
static void lift_walls(void *context, size_t chunk) {
    const struct lifting *job = context;
    const double part = 1. / job->wear->photos;
    for (size_t i = chunk * CHUNK; i < job->wear->cells && i < (chunk + 1) * CHUNK; i++) {
        const double even = part * (double)job->wear->even[i], matt = part * (double)job->wear->matt[i],
                     square = part * (double)job->wear->square[i];
        job->light[i] = light_at(job->wear->rgb, i);
        if (job->wear->photos < LAMPS_TOLD || !(even > 0) || !(matt > 0)) continue;
        const double slopes = twice_tan2 * fmax(0, square / (matt * matt) - 1);
        job->light[i] *= (float)(matt / even * sqrt(1 + slopes));
    }
}

static double border_mm(const struct wear *wear, const uint8_t *mask) {
    size_t steps = 0;
    const size_t w = (size_t)wear->grid.width;
    for (size_t i = 0; i + 1 < wear->cells; i++) {
        if ((i + 1) % w) steps += mask[i] != mask[i + 1];
        if (i + w < wear->cells) steps += mask[i] != mask[i + w];
    }
    return M_PI / 4 * (double)steps * wear->grid.cell_mm; /* steps of a grid are 4/pi of a line's length */
}

static void tell_doubt(const struct wear *wear, struct wear_result *out) {
    out->u95 = (struct wear_u95){(double)NAN, (double)NAN, (double)NAN};
    if (!wear->sound || wear->photos < LAMPS_TOLD) return;
    out->u95.crack_mm = length_u95 * out->cracks.length_mm;
    out->u95.width_mm = hypot(width_u95 * out->cracks.width_median_mm, cell_u95 * wear->grid.cell_mm);
    out->u95.loss_mm2 = border_u95_mm * border_mm(wear, out->loss.mask);
}

/* Sums become means; false when nothing is left to measure. */
static bool take_means(struct wear *wear) {
    if (wear->sound)
        for (size_t i = 0; i < wear->cells; i++) wear->sound[i] &= wear->inside[i];
    if (!count_of(wear->inside, wear->cells) || !wear->photos ||
        (wear->sound && count_of(wear->sound, wear->cells) < 400))
        return false;
    const float part = 1 / (float)wear->photos;
    for (size_t i = 0; i < wear->cells; i++) {
        for (int c = 0; c < 3; c++) wear->rgb[c][i] *= part;
        wear->flat[i] *= part;
    }
    return true;
}

bool wear_measure(struct wear *wear, struct work *work, struct wear_result *out) {
    *out = (struct wear_result){.photos = wear->photos, .sound_given = wear->sound != NULL};
    if (!take_means(wear)) return false;
    out->panel_mm2 = (double)count_of(wear->inside, wear->cells) * wear->grid.cell_mm * wear->grid.cell_mm;
    struct loss_task loss_task = {&wear->grid, wear->inside, wear->sound, wear->rgb, NULL, work};
    const double gradient = loss_level(&loss_task);
    float *light = memory_need(wear->cells, sizeof *light);
    struct lifting lifting = {wear, light};
    work_run(work, (wear->cells + CHUNK - 1) / CHUNK, lift_walls, &lifting);
    const struct crack_task crack_task = {&wear->grid, wear->inside, wear->sound, wear->flat, light, work};
    cracks_find(&crack_task, wear->arena, &out->cracks);
    memory_free(light);
    work_report(work, .8);
    loss_task.crack = out->cracks.mask;
    loss_find(&loss_task, wear->arena, &out->loss);
    out->loss.gradient = gradient;
    out->sound_is_spotted =
        wear->sound && (out->loss.sound_patches_de00 > spotted_de || out->loss.sound_de00_p99 > spotted_p99);
    out->sound_is_cracked = wear->sound && (out->cracks.patch_tail > cracked_tail);
    classify(out);
    tell_doubt(wear, out);
    return true;
}

bool wear_take_dirt(struct wear *wear, struct wear *after, const uint8_t *square, struct work *work,
                    struct wear_result *out, struct loss_dirt *dirt) {
    struct loss_result cleaned;
    if (!take_means(after)) return false;
    const struct loss_task task = {&wear->grid, wear->inside, wear->sound, wear->rgb, out->cracks.mask, work},
                           again = {&after->grid, after->inside,    after->sound,
                                    after->rgb,   out->cracks.mask, work};
    (void)loss_level(&again);
    loss_find(&again, wear->arena, &cleaned);
    loss_take_dirt(&task, square, cleaned.mask, wear->arena, &out->loss, dirt);
    memset(out->of, 0, sizeof out->of);
    classify(out);
    tell_doubt(wear, out);
    return true;
}
