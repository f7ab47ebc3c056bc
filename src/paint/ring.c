#include "paint/ring.h"
#include "colour/difference.h"
#include "paint/eye.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double BLACK_BELOW_L = 28;

struct direction {
    char says[40];
    double lab[3];
};

enum { DIRECTIONS = 6 };

static const struct direction of_blacks[DIRECTIONS] = {{"bluer", {0, 0, -1}},   {"browner", {0, 0.7, 1}},
                                                       {"greener", {0, -1, 0}}, {"redder", {0, 1, 0}},
                                                       {"lighter", {1, 0, 0}},  {"darker", {-1, 0, 0}}};

/* Eigenvectors of a symmetric 3x3 by Jacobi rotations: columns of v. */
static void eigenvectors(double a[3][3], double v[3][3]) {
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) v[i][j] = i == j;
    for (int sweep = 0; sweep < 24; sweep++) {
        for (int p = 0; p < 2; p++) {
            for (int q = p + 1; q < 3; q++) {
                const double angle = 0.5 * atan2(2 * a[p][q], a[q][q] - a[p][p]), c = cos(angle),
                             s = sin(angle);
                for (int k = 0; k < 3; k++) {
                    const double x = a[k][p], y = a[k][q], u = v[k][p], w = v[k][q];
                    a[k][p] = c * x - s * y, a[k][q] = s * x + c * y;
                    v[k][p] = c * u - s * w, v[k][q] = s * u + c * w;
                }
                for (int k = 0; k < 3; k++) {
                    const double x = a[p][k], y = a[q][k];
                    a[p][k] = c * x - s * y, a[q][k] = s * x + c * y;
                }
            }
        }
    }
}

/* "lighter", or "lighter, redder": every axis that has at least half of the largest one's share. */
static void name_direction(struct direction *d) {
    static const char *const up[] = {"lighter", "redder", "yellower"}, *const down[] = {"darker", "greener",
                                                                                        "bluer"};
    const double most = fmax(fabs(d->lab[0]), fmax(fabs(d->lab[1]), fabs(d->lab[2])));
    size_t n = 0;
    for (int i = 0; i < 3; i++)
        if (fabs(d->lab[i]) > 0.5 * most)
            n += (size_t)snprintf(d->says + n, sizeof d->says - n, "%s%s", n ? ", " : "",
                                  d->lab[i] > 0 ? up[i] : down[i]);
}

/* Both ways along the three axes of what the shelf is unsure of in this pot. A little of every direction is
 * added, so that the axes are defined even where the shelf is sure. */
static void unsure_directions(const struct adjust_task *task, const double part[],
                              struct direction way[DIRECTIONS]) {
    double cov[3][3], axis[3][3];
    struct calibration *prior = calibration_new(task->match.shelf, NULL, 0, part, 1, &task->doubt);
    calibration_lab_cov(prior, part, &task->match.film, 0, cov);
    calibration_free(prior);
    for (int i = 0; i < 3; i++) cov[i][i] += 0.01 * (i + 1);
    eigenvectors(cov, axis);
    for (int i = 0; i < DIRECTIONS; i++) {
        const int column = i / 2;
        const double sign = (i % 2 ? -1 : 1) * (axis[0][column] + axis[1][column] * 1e-3 < 0 ? -1 : 1);
        for (int k = 0; k < 3; k++) way[i].lab[k] = sign * axis[k][column];
        name_direction(&way[i]);
    }
}

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
    small.additions_most = 2;
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

enum status ring_run(const struct adjust_task *task, double dab_g, double radius, struct work *work,
                     struct arena *arena, struct ring *out, struct fault *fault) {
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
    struct direction way[DIRECTIONS];
    if (as_is->lab.l < BLACK_BELOW_L)
        memcpy(way, of_blacks, sizeof way);
    else
        unsure_directions(task, part, way);
    for (int i = 0; i < DIRECTIONS; i++) {
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
