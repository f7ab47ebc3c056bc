#include "paint/ring.h"
#include "paint/eye.h"
#include "paint/ring_direction.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A dab is two grams: that it lies where it says counts for more than what goes into it. */
static const double DAB_VOLUME_COSTS = 0.05;
static const double LOT_DOUBT = 0.08; /* of a dab's way from the pot */

static const double COARSE_STEPS = 4.5; /* under that a scale weighs to worse than a fifth: it is let down */
static const double THINNED_MOST = 0.2; /* of a dab that may come as binder of let-downs */

/* A pot on the bench: the shelf as its cards have corrected it, what it holds, and where the part may lie. */
struct bench {
    struct adjust_task task; /* on shelf, no cards any more */
    struct shelf shelf;
    double *part, *scratch; /* shares of the pot; [shelf count] */
    struct spectrum seen;
    struct lab lab; /* of the pot */
    struct guess guess;
};

static struct lab day(const struct spectrum *seen) {
    return lab_of_spectrum(seen, weights_of((struct view){LIGHT_D65, OBSERVER_10}));
}

/* What is likely before this ring. */
static void guess_so_far(struct bench *b, const struct calibration *sure, struct ring_story story,
                         struct arena *arena) {
    double cov[3][3];
    const struct de00_metric metric = difference_metric(story.count ? story.heard[0].lab[0] : b->lab);
    calibration_lab_cov(sure, b->part, &b->task.match.film, 0, cov);
    b->guess = guess_new(&metric, (const double(*)[3])cov, arena);
    for (size_t i = 0; i < story.count; i++) {
        guess_hear(&b->guess, &story.heard[i]);
        guess_move(&b->guess, &story.heard[i]);
    }
}

static enum status open_bench(const struct adjust_task *task, struct ring_story story, struct arena *arena,
                              struct bench *b, struct fault *fault) {
    const struct shelf *from = task->match.shelf;
    *b = (struct bench){.task = *task, .shelf = *from};
    b->shelf.toner = arena_need(arena, from->count, sizeof *b->shelf.toner);
    b->part = arena_need(arena, from->count, sizeof *b->part);
    b->scratch = arena_need(arena, from->count, sizeof *b->scratch);
    const double sum = adjust_remains(task->pot_g, from->count, 0, b->part);
    if (!(sum > 0)) return FAULT0(fault, POT_EMPTY);
    for (size_t i = 0; i < from->count; i++) b->part[i] /= sum;
    struct calibration *sure = calibration_new(from, task->card, task->cards, 1, &task->doubt);
    memcpy(b->shelf.toner, from->toner, from->count * sizeof *from->toner);
    if (task->cards) calibration_apply(sure, 0, &b->shelf);
    b->task.match.shelf = &b->shelf;
    b->task.cards = 0;
    predict_reflectance(&b->shelf, b->part, &task->match.film, &b->seen);
    b->lab = day(&b->seen);
    guess_so_far(b, sure, story, arena);
    calibration_free(sure);
    return STATUS_OK;
}

static void see_dab(const struct bench *b, const struct dab *dab, struct spectrum *seen) {
    double sum = dab->pot_g;
    for (size_t i = 0; i < b->shelf.count; i++) b->scratch[i] = b->part[i] * dab->pot_g;
    for (size_t i = 0; i < dab->count; i++)
        b->scratch[dab->addition[i].toner] += dab->addition[i].mass_g, sum += dab->addition[i].mass_g;
    for (size_t i = 0; i < b->shelf.count; i++) b->scratch[i] /= sum;
    predict_reflectance(&b->shelf, b->scratch, &b->task.match.film, seen);
}

static struct lab lab_of_dab(const struct bench *b, const struct dab *dab) {
    struct spectrum seen;
    see_dab(b, dab, &seen);
    return day(&seen);
}

/* The scale rounds each pinch (d / sqrt 12; of a let-down a tenth of that is toner), and lots drift. */
static double place_doubt(const struct bench *b, const struct dab *dab) {
    double square = LOT_DOUBT * dab->de00 * LOT_DOUBT * dab->de00;
    for (size_t i = 0; i < dab->count; i++) {
        struct dab off = *dab;
        off.addition[i].mass_g +=
            (dab->let_down[i] ? RING_LET_DOWN : 1) * b->task.match.scale_step_g / sqrt(12);
        const double de00 = difference_de00(dab->lab, lab_of_dab(b, &off));
        square += de00 * de00;
    }
    return sqrt(square);
}

/* ---- pinches too small for the scale ---- */

static int binder_of(const struct bench *b) {
    for (size_t i = 0; i < b->shelf.count; i++)
        if (b->shelf.toner[i].role == ROLE_BINDER && !b->task.match.exclude[i]) return (int)i;
    return -1;
}

static bool is_coarse(const struct bench *b, double mass_g) {
    return mass_g < COARSE_STEPS * b->task.match.scale_step_g;
}

static double to_step(const struct bench *b, double mass_g) {
    const double step = b->task.match.scale_step_g;
    return step * round(mass_g / step);
}

/* A dab whose pinches are let down: what the found additions pour, and of the binder what does not come with
 * them. */
struct pinches {
    int binder;
    double own_g; /* of binder that was wanted anyway */
    size_t count;
    bool let_down[ADJUST_ADDITIONS_MOST];
    int toner[ADJUST_ADDITIONS_MOST];
    double poured_g[ADJUST_ADDITIONS_MOST];
};

static void take_pinches(const struct bench *b, const struct adjust_result *found, int binder,
                         struct pinches *out) {
    *out = (struct pinches){.binder = binder};
    for (size_t i = 0; i < found->count; i++) {
        const struct addition *add = &found->addition[i];
        if (add->toner == binder) {
            out->own_g = add->mass_g;
            continue;
        }
        const bool coarse = is_coarse(b, add->mass_g);
        out->let_down[out->count] = coarse;
        out->toner[out->count] = add->toner;
        out->poured_g[out->count++] = to_step(b, coarse ? add->mass_g / RING_LET_DOWN : add->mass_g);
    }
}

static void dab_of_pinches(const struct bench *b, const struct pinches *pinches, double dab_g,
                           struct dab *dab) {
    *dab = (struct dab){.pot_g = dab_g, .count = pinches->count};
    for (size_t i = 0; i < pinches->count; i++) {
        const double fraction = pinches->let_down[i] ? RING_LET_DOWN : 1;
        dab->let_down[i] = pinches->let_down[i];
        dab->comes_g += (1 - fraction) * pinches->poured_g[i];
        dab->addition[i] =
            (struct addition){.toner = pinches->toner[i], .mass_g = fraction * pinches->poured_g[i]};
    }
    const double binder_g = dab->comes_g + to_step(b, fmax(0, pinches->own_g - dab->comes_g));
    if (binder_g > 0)
        dab->addition[dab->count++] = (struct addition){.toner = pinches->binder, .mass_g = binder_g};
}

static double miss_of(const struct bench *b, const struct pinches *pinches, double dab_g, struct lab wanted) {
    struct dab dab;
    dab_of_pinches(b, pinches, dab_g, &dab);
    return difference_de00(lab_of_dab(b, &dab), wanted);
}

static double comes_with(const struct pinches *pinches) {
    double g = 0;
    for (size_t i = 0; i < pinches->count; i++)
        if (pinches->let_down[i]) g += (1 - RING_LET_DOWN) * pinches->poured_g[i];
    return g;
}

/* Ten times as fine as the pinch: one step of the scale more or less of each let-down, while it brings the
 * dab nearer.
 */
static void refine(const struct bench *b, double dab_g, struct lab wanted, double most_g,
                   struct pinches *pinches) {
    const double step_g = b->task.match.scale_step_g;
    double best = miss_of(b, pinches, dab_g, wanted);
    for (bool better = true; better;) {
        better = false;
        for (size_t i = 0; i < pinches->count; i++)
            for (int sign = -1; sign <= 1 && pinches->let_down[i]; sign += 2) {
                struct pinches tried = *pinches;
                tried.poured_g[i] += sign * step_g;
                if (tried.poured_g[i] < .5 * step_g || comes_with(&tried) > most_g) continue;
                const double miss = miss_of(b, &tried, dab_g, wanted);
                if (!(miss < best - 1e-6)) continue;
                best = miss;
                *pinches = tried;
                better = true;
            }
    }
}

/* Where all of them would thin the dab too much, the largest are weighed as they are. */
static void keep_thick(const struct bench *b, const struct adjust_result *found, double most_g,
                       struct pinches *pinches) {
    while (comes_with(pinches) > most_g) {
        size_t largest = pinches->count;
        for (size_t i = 0; i < pinches->count; i++)
            if (pinches->let_down[i] &&
                (largest == pinches->count || pinches->poured_g[i] > pinches->poured_g[largest]))
                largest = i;
        pinches->let_down[largest] = false;
        for (size_t k = 0; k < found->count; k++)
            if (found->addition[k].toner == pinches->toner[largest])
                pinches->poured_g[largest] = to_step(b, found->addition[k].mass_g);
    }
}

/* False when nothing is too small for the scale, when there is no binder, or when it would thin the dab too
 * much. */
static bool let_down(const struct bench *b, const struct adjust_result *found, struct lab wanted,
                     double dab_g, struct dab *dab) {
    const int binder = binder_of(b);
    struct pinches pinches;
    bool any = false;
    if (binder < 0) return false;
    take_pinches(b, found, binder, &pinches);
    const double most_g = fmax(pinches.own_g, THINNED_MOST * dab_g);
    keep_thick(b, found, most_g, &pinches);
    for (size_t i = 0; i < pinches.count; i++) any = any || pinches.let_down[i];
    if (!any) return false;
    refine(b, dab_g, wanted, most_g, &pinches);
    dab_of_pinches(b, &pinches, dab_g, dab);
    return true;
}

/* One dab: the fewest grams that take the pot to a colour, as additions to dab_g of it. */
static enum status make_dab(const struct bench *b, double dab_g, struct lab wanted, struct work *work,
                            struct arena *arena, struct dab *dab, struct fault *fault) {
    struct adjust_task small = b->task;
    double *pot = arena_need(arena, b->shelf.count, sizeof *pot);
    for (size_t i = 0; i < b->shelf.count; i++) pot[i] = b->part[i] * dab_g;
    small.pot_g = pot;
    small.taken_g = 0;
    small.pot_limit_g = 1.5 * dab_g;
    small.additions_most = 3;
    small.volume_costs = DAB_VOLUME_COSTS;
    small.tolerance = (double)INFINITY;
    small.match.target = (struct reading){.geometry = b->task.match.film.geometry, .lab = wanted};
    struct adjust_result found;
    const enum status status = adjust_run(&small, work, arena, &found, fault);
    if (status != STATUS_OK) return status;
    if (!let_down(b, &found, wanted, dab_g, dab)) {
        *dab = (struct dab){.pot_g = dab_g, .count = found.count};
        memcpy(dab->addition, found.addition, sizeof found.addition);
    }
    see_dab(b, dab, &dab->reflectance);
    dab->lab = day(&dab->reflectance);
    dab->de00 = difference_de00(b->lab, dab->lab);
    dab->doubt = place_doubt(b, dab);
    return STATUS_OK;
}

static struct lab step_from(struct lab from, const double by[3]) {
    return (struct lab){fmax(from.l + by[0], 0), from.a + by[1], from.b + by[2], from.view};
}

/* Dab 0. */
static void take_as_it_is(const struct bench *b, double dab_g, struct ring *ring) {
    struct dab *dab = &ring->dab[ring->count++];
    *dab = (struct dab){.pot_g = dab_g, .reflectance = b->seen, .lab = b->lab};
    snprintf(dab->says, sizeof dab->says, "as it is");
    ring->spends_g = dab_g;
}

enum status ring_run(const struct adjust_task *task, double dab_g, double step, struct ring_story story,
                     struct work *work, struct arena *arena, struct ring *out, struct fault *fault) {
    struct ring ring = {0};
    struct bench b;
    struct ring_direction way[RING_DIRECTIONS];
    enum status status = open_bench(task, story, arena, &b, fault);
    if (status != STATUS_OK) return status;
    take_as_it_is(&b, dab_g, &ring);
    ring_directions(&b.guess, b.lab, story.count == 0, step, way);
    for (int i = 0; i < RING_DIRECTIONS; i++) {
        struct dab *dab = &ring.dab[ring.count];
        const struct lab wanted = step_from(b.lab, way[i].lab);
        status = make_dab(&b, dab_g, wanted, work, arena, dab, fault);
        if (status != STATUS_OK) return status;
        if (dab->count == 0 || dab->de00 < difference_de00(b.lab, wanted) / 4)
            continue; /* the shelf cannot go there */
        memcpy(dab->says, way[i].says, sizeof dab->says);
        ring.spends_g += dab->pot_g;
        ring.count++;
    }
    *out = ring;
    return STATUS_OK;
}

static enum status check_nearest(const struct ring *ring, const int *nearest, size_t count,
                                 struct fault *fault) {
    char shown[32] = "";
    for (size_t i = 0; i < count; i++) {
        snprintf(shown, sizeof shown, "%d", nearest[i]);
        if (nearest[i] < 0 || nearest[i] >= (int)ring->count || count > 2)
            return FAULT(fault, NEAREST_WRONG, shown, COUNT_TEXT(ring->count - 1));
    }
    return STATUS_OK;
}

static void listen(const struct ring *ring, const int *nearest, size_t count, struct heard *out) {
    *out = (struct heard){.dabs = ring->count, .named = count};
    for (size_t i = 0; i < ring->count; i++)
        out->lab[i] = ring->dab[i].lab, out->doubt[i] = ring->dab[i].doubt;
    for (size_t i = 0; i < count; i++) out->nearest[i] = nearest[i];
}

/* The pot to a colour that is only a Lab, with as little as does it. */
static enum status bring_pot(const struct bench *b, struct lab wanted, struct work *work, struct arena *arena,
                             struct adjust_result *out, struct fault *fault) {
    struct adjust_task bring = b->task;
    bring.match.target = (struct reading){.geometry = b->task.match.film.geometry, .lab = wanted};
    bring.tolerance = (double)INFINITY;
    return adjust_run(&bring, work, arena, out, fault);
}

enum status ring_hear(const struct adjust_task *task, const struct ring *ring, struct ring_story story,
                      const int *nearest, size_t count, struct work *work, struct arena *arena,
                      struct ring_answer *out, struct fault *fault) {
    struct bench b;
    struct ring_answer answer = {0};
    struct adjust_result found;
    double middle[3];
    enum status status = check_nearest(ring, nearest, count, fault);
    if (status == STATUS_OK) status = open_bench(task, story, arena, &b, fault);
    if (status != STATUS_OK) return status;
    listen(ring, nearest, count, &answer.heard);
    guess_hear(&b.guess, &answer.heard);
    const struct de00_metric metric = difference_metric(b.lab);
    guess_middle(&b.guess, &metric, middle);
    status = bring_pot(&b, step_from(b.lab, middle), work, arena, &found, fault);
    if (status != STATUS_OK) return status;
    answer.count = found.count;
    memcpy(answer.addition, found.addition, sizeof found.addition);
    const struct lab after = day(&found.after);
    answer.heard.moved[0] = after.l - b.lab.l;
    answer.heard.moved[1] = after.a - b.lab.a;
    answer.heard.moved[2] = after.b - b.lab.b;
    guess_move(&b.guess, &answer.heard);
    const double spread = guess_middle(&b.guess, &metric, middle);
    answer.rest_de00 = hypot(spread, difference_de00(after, step_from(after, middle)));
    *out = answer;
    return STATUS_OK;
}
