/* Shots to a reading: each shot is judged and solved by itself, then the shots of one spot are fused. What is
 * wrong alike in all of them (the map's own misses) does not average out and is counted once. */
#include "surface/camera.h"
#include "colour/difference.h"
#include "surface/camera_doubt.h"
#include "surface/camera_judge.h"
#include "surface/camera_spectrum.h"
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COVERED_MOST = 4, KNOWN_FEWEST = 6 };

static const double apart_floor_de = 1.0; /* within this a shot is never left out */
static const double brightest_l =
    106;                            /* no coating is; white with the level of a doubtful sheet may read 103 */
static const double flake_de = 4.0; /* shots of one flat colour that lie this far apart: flake or shine */

struct solved_set {
    const struct camera_task *task;
    int n;
    struct camera_solved *shot; /* n of them */
    struct lab spot[CAMERA_SHOTS_MOST][CAMERA_SPOTS_MOST];
};

/* ---- one shot ---- */

static void known_patches(const struct photo_card *card, bool use[]) {
    for (int i = 0; i < CARD_PATCHES_MOST; i++)
        use[i] = i < card->patches && card->patch[i].known != KNOWN_NOT;
}

static bool add_light(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                      struct camera_light *sum) {
    struct camera_solved *solved = memory_need(1, sizeof *solved);
    const bool good = solve_shot(shot, card, use, NULL, solved);
    for (int c = 0; c < 3 && good; c++) {
        for (int i = 0; i < CARD_PATCHES_MOST; i++) sum->patch[i][c] += solved->light.patch[i][c];
        for (int i = 0; i < CAMERA_SPOTS_MOST; i++) sum->spot[i][c] += solved->light.spot[i][c];
        for (int i = 0; i < CARD_PLACES_MOST; i++) sum->place[i][c] += solved->light.place[i][c];
    }
    memory_free(solved);
    return good;
}

/* The mean light under the second lamp. */
static enum status second_light(const struct camera_task *task, struct camera_light *out,
                                struct fault *fault) {
    bool use[CARD_PATCHES_MOST];
    memset(out, 0, sizeof *out);
    known_patches(task->card, use);
    for (int i = 0; i < task->seconds; i++) {
        const enum status status = judge_shot(task->second[i], task->card, task->shots + i + 1, fault);
        if (status != STATUS_OK) return status;
        if (!add_light(task->second[i], task->card, use, out))
            return FAULT(fault, CARD_NO_FIT, COUNT_TEXT(task->shots + i + 1));
    }
    for (int c = 0; c < 3; c++) {
        for (int i = 0; i < CARD_PATCHES_MOST; i++) out->patch[i][c] /= task->seconds;
        for (int i = 0; i < CAMERA_SPOTS_MOST; i++) out->spot[i][c] /= task->seconds;
        for (int i = 0; i < CARD_PLACES_MOST; i++) out->place[i][c] /= task->seconds;
    }
    return STATUS_OK;
}

static enum status solve_one(const struct camera_task *task, int number, const struct camera_light *second,
                             struct camera_solved *out, struct fault *fault) {
    bool use[CARD_PATCHES_MOST];
    int known = 0, covered = 0;
    known_patches(task->card, use);
    for (int i = 0; i < task->card->patches; i++) known += use[i];
    if (known < (task->card->places ? 1 : KNOWN_FEWEST)) return FAULT(fault, CARD_UNKNOWN, COUNT_TEXT(known));
    enum status status = judge_shot(task->shot[number], task->card, number + 1, fault);
    if (status != STATUS_OK) return status;
    for (;;) {
        if (!solve_shot(task->shot[number], task->card, use, second, out))
            return FAULT(fault, CARD_NO_FIT, COUNT_TEXT(number + 1));
        if (!judge_patches(out, task->card, use)) break;
        if (++covered > COVERED_MOST)
            return FAULT(fault, CARD_COVERED, COUNT_TEXT(number + 1), COUNT_TEXT(covered));
    }
    return judge_solved(out, number + 1, fault);
}

/* ---- fusing ---- */

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_of(double value[], int n) {
    qsort(value, (size_t)n, sizeof *value, by_size);
    return n % 2 ? value[n / 2] : .5 * (value[n / 2 - 1] + value[n / 2]);
}

static struct lab median_lab(const struct lab lab[], int n) {
    double v[3][CAMERA_SHOTS_MOST];
    for (int i = 0; i < n; i++) v[0][i] = lab[i].l, v[1][i] = lab[i].a, v[2][i] = lab[i].b;
    return (struct lab){median_of(v[0], n), median_of(v[1], n), median_of(v[2], n), lab[0].view};
}

static struct lab mean_lab(const struct lab lab[], const bool keep[], int n) {
    struct lab sum = {.view = lab[0].view};
    int count = 0;
    for (int i = 0; i < n; i++)
        if (!keep || keep[i]) sum.l += lab[i].l, sum.a += lab[i].a, sum.b += lab[i].b, count++;
    sum.l /= count, sum.a /= count, sum.b /= count;
    return sum;
}

/* Taking away glare and the curve can leave less than no light; what is told of a colour is no darker than
 * black, which is always nearer. Differences are reckoned before. */
static struct lab not_below_black(struct lab lab) {
    lab.l = fmax(0, lab.l);
    return lab;
}

/* The mean of a shot's spots. */
static struct lab shot_lab(const struct solved_set *set, int shot, int spots) {
    return mean_lab(set->spot[shot], NULL, spots);
}

/* Shots far from the middle are left out, as long as most agree. Two that do not agree, or none that do: the
 * surface looks another from another side. */
static enum status choose_shots(const struct solved_set *set, int spots, struct camera_result *out,
                                struct fault *fault) {
    struct lab lab[CAMERA_SHOTS_MOST] = {{0}};
    double apart[CAMERA_SHOTS_MOST];
    for (int i = 0; i < set->n; i++) lab[i] = shot_lab(set, i, spots);
    const struct lab middle = median_lab(lab, set->n);
    for (int i = 0; i < set->n; i++) apart[i] = out->shot_de00[i] = difference_de00(middle, lab[i]);
    const double limit = fmax(apart_floor_de, 3 * median_of(apart, set->n));
    out->shots_kept = 0;
    double widest = 0;
    for (int i = 0; i < set->n; i++) {
        out->shot_kept[i] = out->shot_de00[i] <= limit;
        out->shots_kept += out->shot_kept[i];
        if (out->shot_kept[i]) widest = fmax(widest, 2 * out->shot_de00[i]);
    }
    if (set->n > 1 && widest > flake_de)
        return FAULT(fault, PHOTO_FLAKE, NUMBER_TEXT(round(10 * widest) / 10));
    if (middle.l > brightest_l) return FAULT(fault, SPOT_OVER_WHITE, NUMBER_TEXT(round(10 * middle.l) / 10));
    return STATUS_OK;
}

/* Covariance of the kept shots' mean by how they scatter. */
static void add_scatter(const struct lab lab[], const bool keep[], int n, double cov[3][3]) {
    const struct lab mean = mean_lab(lab, keep, n);
    int count = 0;
    for (int i = 0; i < n; i++) count += keep[i];
    for (int i = 0; i < n && count > 1; i++) {
        if (!keep[i]) continue;
        const double d[3] = {lab[i].l - mean.l, lab[i].a - mean.a, lab[i].b - mean.b};
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++) cov[a][b] += d[a] * d[b] / ((count - 1.) * count);
    }
}

static void fuse_spot(const struct solved_set *set, const struct camera_result *kept, int spot,
                      struct camera_colour *out) {
    struct lab lab[CAMERA_SHOTS_MOST] = {{0}};
    memset(out, 0, sizeof *out);
    for (int i = 0; i < set->n; i++) lab[i] = set->spot[i][spot];
    out->lab = mean_lab(lab, kept->shot_kept, set->n);
    for (int i = 0; i < set->n; i++) {
        if (!kept->shot_kept[i]) continue;
        double cov[3][3];
        doubt_colour(set->task, &set->shot[i], set->shot[i].spot[spot], lab[i], cov);
        doubt_grain(&set->task->shot[i]->spot[spot], lab[i], cov);
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++) out->cov[a][b] += cov[a][b] / kept->shots_kept;
    }
    add_scatter(lab, kept->shot_kept, set->n, out->cov);
    out->lab = not_below_black(out->lab);
    out->u95_de00 = doubt_u95(out->lab, out->cov);
}

/* The mean of the spots: their errors are common, their scatter is the part's own. */
static void fuse_spots(struct camera_result *out) {
    struct lab lab[CAMERA_SPOTS_MOST] = {{0}};
    bool all[CAMERA_SPOTS_MOST];
    memset(&out->mean, 0, sizeof out->mean);
    for (int i = 0; i < out->spots; i++) lab[i] = out->spot[i].lab, all[i] = true;
    out->mean.lab = mean_lab(lab, NULL, out->spots);
    for (int i = 0; i < out->spots; i++) {
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++) out->mean.cov[a][b] += out->spot[i].cov[a][b] / out->spots;
        out->spot_spread_de00 = fmax(out->spot_spread_de00, difference_de00(out->mean.lab, out->spot[i].lab));
    }
    add_scatter(lab, all, out->spots, out->mean.cov);
    out->mean.u95_de00 = doubt_u95(out->mean.lab, out->mean.cov);
}

static void fuse_differences(const struct solved_set *set, int spots, struct camera_result *out) {
    for (int s = 1; s < spots; s++) {
        struct camera_difference *d = &out->against[s];
        const double n = out->shots_kept;
        struct lab from[CAMERA_SHOTS_MOST];
        for (int i = 0; i < set->n; i++) {
            const struct lab *lab = set->spot[i];
            from[i] =
                (struct lab){lab[s].l - lab[0].l, lab[s].a - lab[0].a, lab[s].b - lab[0].b, lab[0].view};
            if (!out->shot_kept[i]) continue;
            double cov[3][3], unlike[3][3];
            const struct camera_solved *shot = &set->shot[i];
            doubt_difference(set->task, shot, shot->spot[0], shot->spot[s], true, cov);
            doubt_difference(set->task, shot, shot->spot[0], shot->spot[s], false, unlike);
            for (int a = 0; a < 3; a++)
                for (int b = 0; b < 3; b++)
                    d->cov[a][b] += cov[a][b] / n, d->unlike_cov[a][b] += unlike[a][b] / n;
        }
        const struct lab mean = mean_lab(from, out->shot_kept, set->n);
        d->dlab[0] = mean.l, d->dlab[1] = mean.a, d->dlab[2] = mean.b;
        add_scatter(from, out->shot_kept, set->n, d->cov);
        add_scatter(from, out->shot_kept, set->n, d->unlike_cov);
        d->de00 = difference_de00(out->spot[0].lab, out->spot[s].lab);
        d->u95_de00 = doubt_u95(out->spot[0].lab, d->cov);
        d->unlike_u95_de00 = doubt_u95(out->spot[0].lab, d->unlike_cov);
    }
}

static void fuse_places(const struct solved_set *set, struct camera_result *out) {
    const struct camera_task *task = set->task;
    for (int p = 0; p < task->card->places; p++) {
        struct lab lab[CAMERA_SHOTS_MOST] = {{0}};
        bool seen[CAMERA_SHOTS_MOST];
        int n = 0;
        for (int i = 0; i < set->n; i++) {
            const struct camera_sample *sample = &task->shot[i]->places[p];
            seen[i] = out->shot_kept[i] && sample->pixels >= 12 && sample->clipped < .05;
            lab[i] = map_lab(&set->shot[i].map, set->shot[i].place[p]);
            n += seen[i];
        }
        out->place_seen[p] = n > 0;
        if (!n) continue;
        out->place[p].lab = mean_lab(lab, seen, set->n);
        for (int i = 0; i < set->n; i++) {
            double cov[3][3];
            if (!seen[i]) continue;
            double common[CAMERA_COMMON][3], own[3][3];
            doubt_own(task, &set->shot[i], set->shot[i].place[p], lab[i], own);
            doubt_colour(task, &set->shot[i], set->shot[i].place[p], lab[i], cov);
            doubt_common(&set->shot[i], set->shot[i].place[p], common);
            for (int a = 0; a < 3; a++) {
                for (int b = 0; b < 3; b++) {
                    out->place[p].cov[a][b] += cov[a][b] / n;
                    out->place[p].own[a][b] += own[a][b] / n;
                }
                for (int m = 0; m < CAMERA_COMMON; m++) out->place[p].common[m][a] += common[m][a] / n;
            }
        }
        out->place[p].lab = not_below_black(out->place[p].lab);
        out->place[p].u95_de00 = doubt_u95(out->place[p].lab, out->place[p].cov);
    }
}

/* ---- what is told of the card ---- */

static void tell_card(const struct solved_set *set, struct camera_result *out) {
    const int patches = set->task->card->patches;
    int first = 0, told = 0;
    while (!out->shot_kept[first]) first++;
    const struct camera_solved *one = &set->shot[first];
    out->tone = one->tone.kind, out->model = one->map.model, out->few_colours = one->few_colours;
    out->patches = patches;
    out->glare = one->light.glare;
    for (int i = 0; i < patches; i++) {
        struct camera_patch_error *patch = &out->patch[i];
        patch->used = !isnan(one->loo[i]);
        patch->lab = map_lab(&one->map, one->sample[i].light);
        if (!patch->used) continue;
        patch->lab = map_lab(&one->without[i], one->light_without[i]);
        int n = 0;
        for (int s = 0; s < set->n; s++)
            if (out->shot_kept[s] && !isnan(set->shot[s].loo[i])) patch->de00 += set->shot[s].loo[i], n++;
        patch->de00 /= n;
        out->loo_mean += patch->de00, told++;
        out->loo_max = fmax(out->loo_max, patch->de00);
    }
    out->loo_mean /= told;
    for (int s = 0; s < set->n; s++)
        if (out->shot_kept[s]) out->gradient = fmax(out->gradient, set->shot[s].light.gradient);
}

static void tell_reflectance(const struct camera_task *task, struct arena *arena, struct camera_result *out) {
    struct spectrum_guess guess;
    if (!task->library_count) return;
    if (!spectrum_guess(task->library, task->library_count, task->library_is_own, out->mean.lab,
                        out->mean.cov, arena, &guess))
        return;
    out->has_reflectance = true;
    out->reflectance = guess.reflectance;
    out->band = guess.band;
    out->unlike_library = guess.unlike;
}

static enum status solve_all(const struct camera_task *task, struct solved_set *set, struct fault *fault) {
    struct camera_light *second = NULL;
    enum status status = STATUS_OK;
    if (task->seconds) {
        second = memory_need(1, sizeof *second);
        status = second_light(task, second, fault);
    }
    for (int i = 0; i < task->shots && status == STATUS_OK; i++) {
        status = solve_one(task, i, second, &set->shot[i], fault);
        if (status != STATUS_OK) break;
        for (int s = 0; s < task->shot[i]->spots; s++)
            set->spot[i][s] = map_lab(&set->shot[i].map, set->shot[i].spot[s]);
        set->n++;
    }
    memory_free(second);
    return status;
}

enum status camera_read(const struct camera_task *task, struct arena *arena, struct camera_result *out,
                        struct fault *fault) {
    assert(task->shots >= 1 && task->shots <= CAMERA_SHOTS_MOST && task->seconds <= CAMERA_SHOTS_MOST);
    struct solved_set *set = arena_need(arena, 1, sizeof *set);
    set->task = task;
    set->shot = arena_need(arena, (size_t)task->shots, sizeof *set->shot);
    memset(out, 0, sizeof *out);
    enum status status = solve_all(task, set, fault);
    out->shots = task->shots;
    const int all = task->shot[0]->spots;
    out->spots = all - task->against;
    assert(out->spots >= 1);
    out->two_lamps = task->seconds > 0;
    if (status == STATUS_OK) status = choose_shots(set, out->spots, out, fault);
    if (status != STATUS_OK) return status;
    for (int s = 0; s < all; s++) fuse_spot(set, out, s, &out->spot[s]);
    fuse_spots(out);
    fuse_differences(set, all, out);
    fuse_places(set, out);
    tell_card(set, out);
    tell_reflectance(task, arena, out);
    return STATUS_OK;
}
