#include "surface/camera_judge.h"
#include "surface/chart24.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double burnt_share = .01;    /* of a patch's pixels */
static const double step_of_black = 3e-4; /* one count of 8 bits at the foot of the sRGB curve: 1/255/12.92 */
static const double counts_least = 3;
static const double gradient_most = .25;
static const double covered_de = 6,
                    covered_times = 4; /* a patch that is off by that and that many medians, */
static const double own_times = 2.5;   /* beyond what its own value may be off by: a dab of the first day */
static const double wrong_mean_de = 5; /* mean of a card that is another one, or another order */

static void append(char *list, size_t size, const char *id) {
    const size_t n = strlen(list);
    if (n + 24 < size) snprintf(list + n, size - n, "%s%.20s", n ? ", " : "", id);
}

static bool counts(const struct photo_card *card, int i) {
    return card->patch[i].known != KNOWN_NOT;
}

static enum status burnt_out(const struct camera_shot *shot, const struct photo_card *card, int number,
                             struct fault *fault) {
    char list[280] = "";
    int n = 0;
    for (int i = 0; i < card->patches; i++) {
        if (!counts(card, i) || !(shot->patch[i].clipped > burnt_share)) continue;
        n++;
        append(list, sizeof list, card->patch[i].id);
    }
    if (n == 1) return FAULT(fault, PHOTO_ONE_BURNT, COUNT_TEXT(number), list);
    if (n > 1) return FAULT(fault, PHOTO_BURNT, COUNT_TEXT(number), COUNT_TEXT(n), list);
    for (int i = 0; i < shot->spots; i++)
        if (shot->spot[i].clipped > 5 * burnt_share)
            return FAULT(fault, SPOT_BURNT, COUNT_TEXT(number), COUNT_TEXT(i + 1));
    return STATUS_OK;
}

static double brightest(const struct camera_sample *sample) {
    return fmax(sample->mean[0], fmax(sample->mean[1], sample->mean[2]));
}

/* The two darkest greys must be steps apart, and neither lies on the floor. A raw file's floor is noise. */
static enum status crushed(const struct camera_shot *shot, const struct photo_card *card, int number,
                           struct fault *fault) {
    int dark = -1, next = -1;
    for (int i = 0; i < card->patches; i++) {
        if (!counts(card, i) || card->patch[i].role != PATCH_NEUTRAL || card->patch[i].lab_sd > 0) continue;
        if (dark < 0 || card->patch[i].lab.l < card->patch[dark].lab.l)
            next = dark, dark = i;
        else if (next < 0 || card->patch[i].lab.l < card->patch[next].lab.l)
            next = i;
    }
    if (next < 0) return STATUS_OK;
    const double floor = (shot->raw ? .3 : 1) * step_of_black;
    const double value = brightest(&shot->patch[dark]), step = brightest(&shot->patch[next]) - value;
    if (value < counts_least * floor || step < counts_least * floor)
        return FAULT(fault, PHOTO_CRUSHED, COUNT_TEXT(number), card->patch[dark].id);
    for (int i = 0; i < shot->spots; i++)
        if (brightest(&shot->spot[i]) < floor)
            return FAULT(fault, SPOT_CRUSHED, COUNT_TEXT(number), COUNT_TEXT(i + 1));
    return STATUS_OK;
}

enum status judge_shot(const struct camera_shot *shot, const struct photo_card *card, int number,
                       struct fault *fault) {
    const enum status status = burnt_out(shot, card, number, fault);
    return status == STATUS_OK ? crushed(shot, card, number, fault) : status;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int judge_patches(const struct camera_solved *solved, const struct photo_card *card, bool use[]) {
    double loo[CARD_PATCHES_MOST], most = 0;
    int n = 0, worst = -1;
    for (int i = 0; i < card->patches; i++) {
        if (isnan(solved->loo[i])) continue;
        const double beyond = solved->loo[i] - own_times * fmax(0, card->patch[i].lab_sd - CHART24_LAB_SD);
        loo[n++] = solved->loo[i];
        if (worst < 0 || beyond > most) worst = i, most = beyond;
    }
    if (n < 10) return 0;
    qsort(loo, (size_t)n, sizeof *loo, by_size);
    if (!(most > fmax(covered_de, covered_times * loo[n / 2]))) return 0;
    use[worst] = false;
    return 1;
}

enum status judge_solved(const struct camera_solved *solved, int number, struct fault *fault) {
    if (solved->light.has_flat && solved->light.gradient > gradient_most)
        return FAULT(fault, PHOTO_UNEVEN, COUNT_TEXT(number),
                     COUNT_TEXT(lround(100 * solved->light.gradient)));
    if (!solved->few_colours && solved->loo_mean > wrong_mean_de)
        return FAULT(fault, CARD_WRONG, COUNT_TEXT(number), NUMBER_TEXT(round(10 * solved->loo_mean) / 10));
    return STATUS_OK;
}
