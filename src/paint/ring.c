#include "paint/ring.h"
#include "colour/difference.h"
#include "paint/eye.h"
#include "paint/ring_direction.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A dab is two grams: that it lies where it says counts for more than what goes into it. */
static const double DAB_VOLUME_COSTS = 0.05;

/* One dab: the fewest grams that take the pot to a colour, as additions to dab_g of it. */
static enum status make_dab(const struct adjust_task *task, double dab_g, struct lab wanted,
                            struct work *work, struct arena *arena, struct dab *dab, struct fault *fault) {
    struct adjust_task small = *task;
    double *pot = arena_need(arena, task->match.shelf->count, sizeof *pot), sum = 0;
    for (size_t i = 0; i < task->match.shelf->count; i++) sum += task->pot_g[i];
    for (size_t i = 0; i < task->match.shelf->count; i++) pot[i] = task->pot_g[i] / sum * dab_g;
    small.pot_g = pot;
    small.taken_g = 0;
    small.pot_limit_g = 1.5 * dab_g;
    small.additions_most = 3;
    small.volume_costs = DAB_VOLUME_COSTS;
    small.tolerance = (double)INFINITY;
    small.match.target = (struct reading){.geometry = task->match.film.geometry, .lab = wanted};
    struct adjust_result found;
    const enum status status = adjust_run(&small, work, arena, &found, fault);
    if (status != STATUS_OK) return status;
    dab->count = found.count;
    memcpy(dab->addition, found.addition, sizeof found.addition);
    dab->pot_g = dab_g;
    dab->reflectance = found.after;
    dab->lab = lab_of_spectrum(&found.after, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    return STATUS_OK;
}

enum status ring_run(const struct adjust_task *task, double dab_g, double radius, const double along[3],
                     struct work *work, struct arena *arena, struct ring *out, struct fault *fault) {
    struct ring ring = {0};
    struct shelf corrected = *task->match.shelf;
    double *part = arena_need(arena, corrected.count, sizeof *part);
    const double sum = adjust_remains(task->pot_g, corrected.count, 0, part);
    if (!(sum > 0)) return FAULT0(fault, POT_EMPTY);
    for (size_t i = 0; i < corrected.count; i++) part[i] /= sum;
    struct dab *as_is = &ring.dab[ring.count++];
    snprintf(as_is->says, sizeof as_is->says, "as it is");
    as_is->pot_g = dab_g;
    predict_reflectance(&corrected, part, &task->match.film, &as_is->reflectance);
    as_is->lab = lab_of_spectrum(&as_is->reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
    ring.spends_g = dab_g;
    struct ring_direction way[RING_DIRECTIONS];
    if (along)
        ring_directions_across(as_is->lab, along, way);
    else
        ring_directions_first(task, part, as_is->lab, way);
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        struct dab *dab = &ring.dab[ring.count];
        const struct lab wanted = eye_step(as_is->lab, way[i].lab, radius);
        const enum status status = make_dab(task, dab_g, wanted, work, arena, dab, fault);
        if (status != STATUS_OK) return status;
        dab->de00 = difference_de00(as_is->lab, dab->lab);
        if (dab->count == 0 || dab->de00 < radius / 4) continue; /* the shelf cannot go there */
        memcpy(dab->says, way[i].says, sizeof dab->says);
        ring.spends_g += dab->pot_g;
        ring.count++;
    }
    *out = ring;
    return STATUS_OK;
}

static void add_to(struct addition out[], size_t *count, int toner, double mass_g) {
    for (size_t i = 0; i < *count; i++)
        if (out[i].toner == toner) {
            out[i].mass_g += mass_g;
            return;
        }
    out[(*count)++] = (struct addition){toner, mass_g, 0};
}

enum status ring_answer(const struct adjust_task *task, const struct ring *ring, const int *nearest,
                        size_t count, struct addition out[ADJUST_ADDITIONS_MOST * 2], size_t *additions,
                        struct fault *fault) {
    char shown[32] = "";
    for (size_t i = 0; i < count; i++) {
        snprintf(shown, sizeof shown, "%d", nearest[i]);
        if (nearest[i] < 0 || nearest[i] >= (int)ring->count || count > 2)
            return FAULT(fault, NEAREST_WRONG, shown, COUNT_TEXT(ring->count - 1));
    }
    double sum = 0;
    for (size_t i = 0; i < task->match.shelf->count; i++) sum += task->pot_g[i];
    const double left = sum - task->taken_g, step = task->match.scale_step_g;
    *additions = 0;
    for (size_t i = 0; i < count; i++) {
        const struct dab *dab = &ring->dab[nearest[i]];
        for (size_t k = 0; k < dab->count; k++)
            add_to(out, additions, dab->addition[k].toner,
                   dab->addition[k].mass_g * left / dab->pot_g / (double)count);
    }
    size_t kept = 0;
    for (size_t i = 0; i < *additions; i++) {
        const double g = step * floor(out[i].mass_g / step + 0.5);
        if (g > 0) out[kept++] = (struct addition){out[i].toner, g, 0};
    }
    *additions = kept;
    return STATUS_OK;
}
