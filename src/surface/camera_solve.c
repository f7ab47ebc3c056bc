/* Which curve and which map is best is told by leaving each patch out in turn: of a neutral the curve is made
 * anew without it too. Patches near the colour that is sought count more. */
#include "surface/camera_solve.h"
#include "colour/difference.h"
#include <math.h>
#include <string.h>

enum { COLOURS_FEWEST = 8 };

static const double about_de = 15;    /* how near is near, dE*ab */
static const double far_counts = .07; /* what a patch far away counts */
static const double loose_by = .5; /* a map far from the display's must be far better: few cameras need it */
static const double better_by = .97; /* a larger map must be better by this */

static double nearness(struct lab a, struct lab b) {
    const double d = difference_de76(a, b) / about_de;
    return far_counts + exp(-.5 * d * d);
}

/* What a patch's own value is off by is not the map's miss. */
static double square_miss(const struct photo_patch *patch, double loo) {
    const double own = patch->lab_sd, square = loo * loo;
    return fmax(square - own * own, .25 * square);
}

double solved_miss(const struct camera_solved *solved, const struct photo_card *card, struct lab about) {
    double sum = 0, weight = 0;
    for (int i = 0; i < card->patches; i++) {
        if (isnan(solved->loo[i])) continue;
        const double w = nearness(card->patch[i].lab, about);
        sum += w * square_miss(&card->patch[i], solved->loo[i]), weight += w;
    }
    return weight > 0 ? sum / weight : 0;
}

static bool counts(const struct photo_card *card, const bool use[], int i) {
    return use[i] && card->patch[i].known != KNOWN_NOT && card->patch[i].role != PATCH_BLACK_TRAP;
}

static void make_samples(const struct photo_card *card, const struct camera_light *second,
                         struct camera_solved *out) {
    for (int i = 0; i < card->patches; i++) {
        struct fit_sample *sample = &out->sample[i];
        const struct photo_patch *patch = &card->patch[i];
        *sample = (struct fit_sample){.lab = patch->lab};
        memcpy(sample->light, out->light.patch[i], sizeof out->light.patch[i]);
        if (second) memcpy(sample->light + 3, second->patch[i], sizeof second->patch[i]);
        if (counts(card, out->use, i)) sample->weight = 1 / (1 + pow(patch->lab_sd / .6, 2));
    }
    for (int i = 0; i < CAMERA_SPOTS_MOST; i++) {
        memcpy(out->spot[i], out->light.spot[i], sizeof out->light.spot[i]);
        if (second) memcpy(out->spot[i] + 3, second->spot[i], sizeof second->spot[i]);
    }
    for (int i = 0; i < card->places; i++) {
        memcpy(out->place[i], out->light.place[i], sizeof out->light.place[i]);
        if (second) memcpy(out->place[i] + 3, second->place[i], sizeof second->place[i]);
    }
}

static bool leave_out(const struct camera_shot *shot, const struct photo_card *card, int i,
                      struct camera_solved *out) {
    struct fit_sample *sample = &out->sample[i];
    const double weight = sample->weight;
    double *light = out->light_without[i];
    memcpy(light, sample->light, sizeof out->light_without[i]);
    light_without(shot, card, out->use, &out->tone, &out->light, i, light);
    sample->weight = 0;
    const bool good =
        map_fit(out->map.model, out->channels, out->sample, (size_t)card->patches,
                (const double(*)[3])out->light.hold, out->map.hold_sd, &out->map, &out->without[i]);
    sample->weight = weight;
    if (good) out->loo[i] = difference_de00(sample->lab, map_lab(&out->without[i], light));
    return good;
}

/* What must be beaten: a mean square miss about a colour. */
struct mark {
    struct lab about;
    double miss; /* HUGE_VAL: anything does */
};

static void sum_up(const struct photo_card *card, struct camera_solved *out) {
    double sum = 0;
    int n = 0;
    out->loo_max = 0;
    for (int i = 0; i < card->patches; i++) {
        if (isnan(out->loo[i])) continue;
        sum += out->loo[i], n++;
        out->loo_max = fmax(out->loo_max, out->loo[i]);
    }
    out->loo_mean = n ? sum / n : 0;
}

/* The patches near the colour first: as soon as what they miss is too much for the mark, the rest need not be
 * tried. False then, and when nothing fits. */
static bool leave_each_out(const struct camera_shot *shot, const struct photo_card *card,
                           const struct mark *mark, struct camera_solved *out) {
    double near[CARD_PATCHES_MOST], whole = 0, sum = 0;
    for (int i = 0; i < card->patches; i++) {
        out->loo[i] = (double)NAN;
        near[i] = out->sample[i].weight > 0 ? nearness(card->patch[i].lab, mark->about) : 0;
        whole += near[i];
    }
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < card->patches; i++) {
            if (!(near[i] > 0) || (near[i] > .5) != (pass == 0)) continue;
            if (!leave_out(shot, card, i, out)) return false;
            sum += near[i] * square_miss(&card->patch[i], out->loo[i]);
            if (sum > mark->miss * whole * (1 + 1e-9)) return false;
        }
    sum_up(card, out);
    return whole > 0;
}

/* One curve and one map, whole. */
static bool try_one(const struct camera_shot *shot, const struct photo_card *card,
                    const struct camera_light *second, enum camera_model model, double hold_sd,
                    const struct mark *mark, struct camera_solved *out) {
    out->channels = second ? 6 : 3;
    make_samples(card, second, out);
    return map_fit(model, out->channels, out->sample, (size_t)card->patches,
                   (const double(*)[3])out->light.hold, hold_sd, NULL, &out->map) &&
           leave_each_out(shot, card, mark, out);
}

/* A dab that a guessed shelf tells: its grey is too doubtful to lead a free curve, which then bends with it.
 */
static bool is_doubtful(const struct photo_patch *patch) {
    return patch->known == KNOWN_LAB && patch->lab_sd > 0;
}

/* Sure greys of different values: a curve needs five. */
static int greys_of(const struct photo_card *card, const bool use[], bool few) {
    int n = 0;
    for (int i = 0; i < card->patches; i++) {
        bool again = !use[i] || card->patch[i].known == KNOWN_NOT || card->patch[i].role == PATCH_COLOUR ||
                     (is_doubtful(&card->patch[i]) && !few);
        for (int k = 0; k < i && !again; k++)
            again = use[k] && card->patch[k].role != PATCH_COLOUR &&
                    fabs(card->patch[k].lab.l - card->patch[i].lab.l) < 1e-6;
        n += !again;
    }
    return n;
}

static int colours_of(const struct photo_card *card, const bool use[]) {
    int n = 0;
    for (int i = 0; i < card->patches; i++)
        n += counts(card, use, i) && card->patch[i].role == PATCH_COLOUR && card->patch[i].lab_sd < 4;
    return n;
}

static struct lab middle_of_spots(const struct camera_solved *solved, int spots) {
    struct lab sum = map_lab(&solved->map, solved->spot[0]);
    for (int i = 1; i < spots; i++) {
        const struct lab lab = map_lab(&solved->map, solved->spot[i]);
        sum.l += lab.l, sum.a += lab.a, sum.b += lab.b;
    }
    sum.l /= spots, sum.a /= spots, sum.b /= spots;
    return sum;
}

/* What is against a curve: how far its numbers are from what cameras usually do, and what the patches miss by
 * under it; a patch that is far off, because its own value is, counts little (Student's t, as of four). */
static double against_bend(const struct camera_shot *shot, const struct photo_card *card,
                           const struct tone_form *form, struct camera_solved *room) {
    static const double tail = 4;
    double sum = pow((form->power - TONE_POWER) / TONE_POWER_SD, 2) +
                 pow((form->contrast - TONE_CONTRAST) / TONE_CONTRAST_SD, 2);
    light_under(shot, card, room->use, form, &room->light);
    make_samples(card, NULL, room);
    if (!map_fit(MODEL_MATRIX, 3, room->sample, (size_t)card->patches, (const double(*)[3])room->light.hold,
                 FIT_TIGHT, NULL, &room->map))
        return HUGE_VAL;
    for (int i = 0; i < card->patches; i++) {
        const struct fit_sample *sample = &room->sample[i];
        if (!(sample->weight > 0)) continue;
        const double de = difference_de00(sample->lab, map_lab(&room->map, sample->light));
        const double sd2 = .6 * .6 + pow(card->patch[i].lab_sd, 2);
        sum += (tail + 1) * log(1 + de * de / sd2 / tail);
    }
    return sum;
}

/* The two numbers of the curve by all patches: steps along each, halved when none is better. */
static void find_bend(const struct camera_shot *shot, const struct photo_card *card,
                      struct camera_solved *room, struct tone_form *form) {
    *form = (struct tone_form){TONE_BENT, TONE_POWER, TONE_CONTRAST};
    light_of(shot, card, room->use, form, &room->light);
    double best = against_bend(shot, card, form, room);
    for (double step = .8; step > .1;) {
        struct tone_form better = *form;
        for (int k = 0; k < 4; k++) {
            struct tone_form next = *form;
            next.power += step * TONE_POWER_SD * (k == 0 ? 1 : k == 1 ? -1 : 0);
            next.contrast += step * TONE_CONTRAST_SD * (k == 2 ? 1 : k == 3 ? -1 : 0);
            const double cost = against_bend(shot, card, &next, room);
            if (cost < best) best = cost, better = next;
        }
        if (better.power == form->power && better.contrast == form->contrast) step /= 2;
        *form = better;
    }
}

/* Which curves are tried: enough greys tell any; few of them, with colours, one of the usual form; paper
 * alone nothing. A raw file has none. */
static int curves_of(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                     bool few, struct camera_solved *room, struct tone_form form[2]) {
    const int greys = greys_of(card, use, few);
    form[0].kind = few && greys < 2 ? TONE_USUAL : TONE_STRAIGHT;
    form[1].kind = TONE_GREY;
    if (greys >= TONE_FEWEST) return 2;
    if (few || shot->raw) return 1;
    memcpy(room->use, use, sizeof room->use);
    form[1] = form[0]; /* hardly ever right: a file that was developed without a curve */
    find_bend(shot, card, room, &form[0]);
    return 2;
}

bool solve_shot(const struct camera_shot *shot, const struct photo_card *card, const bool use[],
                const struct camera_light *second, struct camera_solved *out) {
    struct tone_form form[2] = {{0}};
    const bool few = colours_of(card, use) < COLOURS_FEWEST;
    bool any = false;
    struct mark best = {{.view = {LIGHT_D65, OBSERVER_10}}, HUGE_VAL};
    struct camera_solved *one = memory_need(1, sizeof *one);
    const int curves = curves_of(shot, card, use, few, one, form);
    for (int k = 0; k < curves; k++) {
        memcpy(one->use, use, sizeof one->use);
        one->tone = form[k];
        one->few_colours = few, one->raw = shot->raw;
        light_of(shot, card, use, &form[k], &one->light);
        for (int m = 0; m < (few ? 1 : 2 * MODEL_COUNT); m++) {
            const enum camera_model model = (enum camera_model)(m / 2);
            const bool odd = m % 2 || (k > 0 && form[0].kind == TONE_BENT);
            const struct mark beat = {best.about, best.miss * (any && odd ? loose_by : m ? better_by : 1)};
            if (!try_one(shot, card, second, model, m % 2 ? FIT_LOOSE : FIT_TIGHT, &beat, one)) continue;
            if (!any) best.about = middle_of_spots(one, shot->spots);
            const double miss = solved_miss(one, card, best.about);
            if (any && !(miss < beat.miss)) continue;
            any = true, best.miss = miss;
            *out = *one;
        }
    }
    memory_free(one);
    return any;
}
