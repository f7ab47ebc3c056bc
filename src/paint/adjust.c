#include "paint/adjust.h"
#include "base/dense.h"
#include "colour/difference.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What an addition as heavy as the pot may cost in the choice between plans: less in the cup is worth a
 * little colour. */
static const double VOLUME_COSTS = 0.15;

/* A fourth toner must bring this much of the expected objective, a second or a third the next; what brings
 * less than the last is left out. */
static const double FOURTH_PAYS = 0.10, ONE_MORE_PAYS = 0.015, IDLE_BRINGS = 0.004;
static const double OUTSIDE = 10; /* what the tolerance allows stands before what it does not */
enum { CANDIDATES = 24, START_OVER_STEPS = 7, CLOUD = 256 };

/* Everything that one correction works on. */
struct bench {
    const struct adjust_task *task;
    struct work *work;
    struct arena *arena;
    struct calibration *learnt; /* from the cards; it says how unsure a mix is */
    struct shelf shelf;         /* corrected, without the pot */
    struct match_task exact;    /* on shelf, with the carried target: its objective judges real mixes */
    double *left_g, left_sum;   /* what is left of each toner */
    double limit_g;             /* what the pot may weigh: the task's, or less where it is near enough */
    double *part;               /* scratch [count] */
    struct lab wanted;          /* the target under the first light */
};

double adjust_remains(const double pot_g[], size_t count, double taken_g, double out_g[]) {
    double sum = 0;
    for (size_t i = 0; i < count; i++) sum += pot_g[i];
    const double stays = sum > 0 ? 1 - taken_g / sum : 0;
    for (size_t i = 0; i < count; i++) out_g[i] = pot_g[i] * stays;
    return sum * stays;
}

static enum status check_pot(const struct adjust_task *task, struct fault *fault) {
    double sum = 0;
    for (size_t i = 0; i < task->match.shelf->count; i++) sum += task->pot_g[i];
    if (!(sum > 0)) return FAULT0(fault, POT_EMPTY);
    if (!(task->taken_g < sum))
        return FAULT(fault, POT_TAKEN_TOO_MUCH, NUMBER_TEXT(task->taken_g), NUMBER_TEXT(sum));
    const double left = sum - task->taken_g;
    if (!(task->pot_limit_g >= left - 1e-6))
        return FAULT(fault, POT_LIMIT_TOO_SMALL, NUMBER_TEXT(left), NUMBER_TEXT(task->pot_limit_g));
    return STATUS_OK;
}

/* Mixed parts when `kept` of the pot (0..1) gets these additions; returns the total mass. */
static double mix_parts(const struct bench *b, double kept, const struct addition *add, size_t count,
                        double part[]) {
    double total = b->left_sum * kept;
    for (size_t i = 0; i < b->shelf.count; i++) part[i] = b->left_g[i] * kept;
    for (size_t i = 0; i < count; i++) part[add[i].toner] += add[i].mass_g, total += add[i].mass_g;
    for (size_t i = 0; i < b->shelf.count; i++) part[i] /= total;
    return total;
}

static double judge(const struct bench *b, double kept, const struct addition *add, size_t count,
                    double *de00) {
    double light[MATCH_LIGHTS_MOST];
    mix_parts(b, kept, add, count, b->part);
    const double f = match_objective(&b->exact, b->part, light);
    *de00 = light[0];
    double added = 0;
    for (size_t i = 0; i < count; i++) added += add[i].mass_g;
    const double costs = b->task->volume_costs > 0 ? b->task->volume_costs : VOLUME_COSTS;
    return f + costs * added / b->left_sum;
}

/* The shelf corrected by the cards, and the target carried by what the corrected model misses of the last
 * card. */
static void correct_shelf(struct bench *b) {
    const struct adjust_task *task = b->task;
    const struct shelf *from = task->match.shelf;
    b->shelf = *from;
    b->shelf.toner = arena_need(b->arena, from->count, sizeof *b->shelf.toner);
    memcpy(b->shelf.toner, from->toner, from->count * sizeof *from->toner);
    b->exact = task->match;
    b->exact.shelf = &b->shelf;
    b->exact.bench_order = false; /* coats are the recipe's business; an addition is judged by its colour */
    /* A correction goes by the difference of two readings. What a camera misses alike in both is no part of
     * it: counted as to be expected of every pot, it left none inside the tolerance. */
    b->exact.target.has_cov = b->exact.target.has_band = false;
    struct calibration *learnt = b->learnt = calibration_new(from, task->card, task->cards, 1, &task->doubt);
    if (task->cards == 0) return;
    calibration_apply(learnt, 0, &b->shelf);
    const struct card *last = &task->card[task->cards - 1];
    struct film_case film = last->film;
    film.film_um *= calibration_film_factor(learnt, task->cards - 1);
    struct spectrum model;
    predict_reflectance(&b->shelf, last->part, &film, &model);
    const double trust = last->trust_sd > 0 ? 1 / (1 + last->trust_sd / 0.01) : 1;
    for (int i = 0; i < BANDS && b->exact.target.has_spectrum; i++) {
        const double missed = model.band[i] / fmax(last->measured.band[i], 1e-4);
        b->exact.target.reflectance.band[i] *= pow(fmin(fmax(missed, 0.8), 1.25), trust);
    }
}

/* The shelf with what is left of the pot as one more toner, and the task that must use it. */
static void add_pot_toner(const struct bench *b, double kept, struct shelf *with, struct match_task *task) {
    *with = b->shelf;
    with->count = b->shelf.count + 1;
    with->card = NULL, with->cards = 0; /* they know nothing of it */
    with->toner = arena_need(b->arena, with->count, sizeof *with->toner);
    memcpy(with->toner, b->shelf.toner, b->shelf.count * sizeof *with->toner);
    struct toner *pot = &with->toner[b->shelf.count];
    snprintf(pot->id, sizeof pot->id, "%s", "the-pot");
    pot->role = ROLE_COLOUR;
    pot->price_minor_per_kg = -1;
    mix_parts(b, 1, NULL, 0, b->part);
    shelf_mix(&b->shelf, b->part, pot->k, pot->s);
    pot->lean = shelf_mean_lean(&b->shelf, b->part);
    *task = b->exact;
    task->shelf = with;
    const size_t at = b->shelf.count;
    task->least[at] = kept * b->left_sum / b->limit_g;
    task->most[at] = 1;
    task->stock_g[at] = (double)INFINITY;
    task->require[at] = true;
    task->exclude[at] = false;
    task->binder_low = 0;
    task->binder_high = 1;
    /* Binder changes nothing of an opaque film: a pot that is kept whole has its own. */
    for (size_t i = 0; i < b->shelf.count && kept >= 1 && isinf(task->film.film_um); i++)
        if (b->shelf.toner[i].role == ROLE_BINDER) task->exclude[i] = true;
    task->minimum_dose = fmin(1e-3, 3 * task->scale_step_g / b->limit_g);
    task->batch_g = b->limit_g;
    task->cost_weight = 0;
    task->on_grid = false;
    task->top = CANDIDATES;
}

/* Additions in grams of a recipe that holds the pot: everything is scaled to what is kept of it. */
static size_t additions_of(const struct bench *b, const struct recipe *recipe, double kept,
                           struct addition *add) {
    double pot_part = 0;
    for (size_t i = 0; i < recipe->count; i++)
        if (recipe->toner[i] == (int)b->shelf.count) pot_part = recipe->part[i];
    size_t n = 0;
    for (size_t i = 0; i < recipe->count && pot_part > 0; i++) {
        const double g = recipe->part[i] / pot_part * b->left_sum * kept;
        if (recipe->toner[i] == (int)b->shelf.count || g < b->exact.scale_step_g / 2 ||
            n == ADJUST_ADDITIONS_MOST)
            continue;
        add[n++] = (struct addition){recipe->toner[i], g, 0};
    }
    return n;
}

static double room_g(const struct bench *b, double kept, const struct addition *add, size_t count) {
    double room = b->limit_g - kept * b->left_sum;
    for (size_t i = 0; i < count; i++) room -= add[i].mass_g;
    return room;
}

static double on_grid(double mass_g, double step) {
    return step * floor(mass_g / step + 0.5);
}

/* Tries one toner's mass moved by delta; keeps it when the objective falls. */
static bool try_move(const struct bench *b, double kept, struct addition *add, size_t count, size_t which,
                     double delta, double *f) {
    const double before = add[which].mass_g, de_limit = room_g(b, kept, add, count) + 1e-9;
    const double after = on_grid(before + delta, b->exact.scale_step_g);
    double de00;
    if (after < 0 || after - before > de_limit || after == before) return false;
    add[which].mass_g = after;
    const double then = judge(b, kept, add, count, &de00);
    if (then < *f - 1e-9) return *f = then, true;
    add[which].mass_g = before;
    return false;
}

/* Pattern search on the scale's grid: steps from a tenth of each addition down to one step of the scale,
 * pairs included by sweeping. */
static double search_grid(const struct bench *b, double kept, struct addition *add, size_t count) {
    const double step = b->exact.scale_step_g;
    double de00, excess = -room_g(b, kept, add, count), largest = 0;
    for (size_t i = 0; i < count; i++) {
        add[i].mass_g = step * floor(add[i].mass_g / step + (excess > -step * (double)count ? 0 : 0.5));
        largest = fmax(largest, add[i].mass_g);
    }
    double f = judge(b, kept, add, count, &de00);
    for (double size = fmax(on_grid(largest / 8, step), step); size >= step * 0.99; size = size / 2) {
        bool moved = true;
        for (int sweep = 0; sweep < 12 && moved; sweep++) {
            moved = false;
            for (size_t i = 0; i < count; i++)
                moved = try_move(b, kept, add, count, i, size, &f) ||
                        try_move(b, kept, add, count, i, -size, &f) || moved;
        }
    }
    return f;
}

static size_t drop_nothings(struct addition *add, size_t count) {
    size_t n = 0;
    for (size_t i = 0; i < count; i++)
        if (add[i].mass_g > 0) add[n++] = add[i];
    return n;
}

/* f: the objective in expectation; de00: as the corrected model says, first light. */
struct plan {
    struct addition add[ADJUST_ADDITIONS_MOST];
    size_t count;
    double f, de00;
};

/* Root mean square of the difference to the target when the colour is as unsure as the cards leave it: a
 * toner that this pot has not shown yet, or a flood of anything, is less sure than a pinch of what it knows.
 */
static double expected_de00(const struct bench *b, double de00) {
    double cov[3][3], spread = 0;
    calibration_lab_cov(b->learnt, b->part, &b->exact.film, 0, cov);
    const struct de00_metric metric = difference_metric(b->wanted);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++) spread += metric.f[i][j] * cov[j][k] * metric.f[i][k];
    return sqrt(de00 * de00 + spread);
}

/* The first light's difference counts as it is to be expected, with its own share of the objective. */
static void weigh_up(const struct bench *b, double kept, struct plan *plan) {
    const struct match_task *match = &b->task->match;
    double weights = 0;
    for (size_t i = 0; i < match->light_count; i++) weights += match->light_weight[i];
    const double f = judge(b, kept, plan->add, plan->count, &plan->de00);
    plan->f = f + match->light_weight[0] / weights * (expected_de00(b, plan->de00) - plan->de00);
    if (plan->de00 > b->task->tolerance) plan->f += OUTSIDE;
}

/* Best additions of at most `most` toners to `kept` of the pot. */
static enum status plan_additions(const struct bench *b, double kept, size_t most, struct plan *best,
                                  struct fault *fault) {
    struct shelf with;
    struct match_task task;
    struct match_result found;
    best->count = 0;
    weigh_up(b, kept, best);
    if (b->limit_g - kept * b->left_sum < b->exact.scale_step_g) return STATUS_OK; /* full */
    add_pot_toner(b, kept, &with, &task);
    task.max_toners = most + 1;
    const enum status status = match_run(&task, b->work, b->arena, &found, fault);
    if (status != STATUS_OK) return status;
    for (size_t i = 0; i < found.count; i++) {
        struct plan trial = {0};
        trial.count = additions_of(b, &found.recipe[i].recipe, kept, trial.add);
        if (trial.count == 0) continue;
        search_grid(b, kept, trial.add, trial.count);
        trial.count = drop_nothings(trial.add, trial.count);
        weigh_up(b, kept, &trial);
        if (trial.f < best->f - 1e-9) *best = trial;
    }
    return STATUS_OK;
}

/* Leaves out what hardly matters, binder too, which the match does not count as a toner. */
static void drop_idle(const struct bench *b, double kept, struct plan *plan) {
    for (size_t i = 0; i < plan->count;) {
        struct plan without = *plan;
        without.count--;
        for (size_t k = i; k < without.count; k++) without.add[k] = plan->add[k + 1];
        search_grid(b, kept, without.add, without.count);
        without.count = drop_nothings(without.add, without.count);
        weigh_up(b, kept, &without);
        if (without.f < plan->f + IDLE_BRINGS)
            *plan = without, i = 0;
        else
            i++;
    }
}

/* The fewest additions that do nearly as well as more would. */
static enum status plan_sparingly(const struct bench *b, double kept, struct plan *out, struct fault *fault) {
    enum status status = plan_additions(b, kept, 1, out, fault);
    const size_t limit = b->task->additions_most ? b->task->additions_most : MATCH_TONERS_MOST - 1;
    for (size_t most = 2; most <= limit && status == STATUS_OK; most++) {
        struct plan more;
        status = plan_additions(b, kept, most, &more, fault);
        const double pays = most == 4 ? FOURTH_PAYS : ONE_MORE_PAYS;
        if (status == STATUS_OK && more.f < out->f - pays) *out = more;
    }
    if (status == STATUS_OK) drop_idle(b, kept, out);
    return status;
}

/* The largest part of the pot from which the target is reached inside the limit, by bisection; 0 when only a
 * fresh pot does. */
static enum status find_start_over(const struct bench *b, struct adjust_result *out, struct fault *fault) {
    double low = 0, high = 1;
    struct plan best = {0};
    enum status status = STATUS_OK;
    for (int i = 0; i < START_OVER_STEPS && status == STATUS_OK; i++) {
        const double kept = (low + high) / 2;
        struct plan plan;
        status = plan_additions(b, kept, 3, &plan, fault);
        if (status == STATUS_OK && plan.de00 <= b->task->tolerance)
            low = kept, best = plan;
        else
            high = kept;
    }
    out->start_over_g = on_grid(low * b->left_sum - b->exact.scale_step_g / 2, b->exact.scale_step_g);
    if (out->start_over_g < 0) out->start_over_g = 0;
    out->fresh_count = best.count;
    memcpy(out->fresh, best.add, sizeof best.add);
    out->fresh_de00 = best.count ? best.de00 : (double)NAN;
    return status;
}

/* A toner of the best fresh recipe that is neither in the pot nor among the additions. */
static enum status find_lack(const struct bench *b, struct adjust_result *out, struct fault *fault) {
    struct match_task task = b->exact;
    struct match_result found;
    task.top = 1;
    task.on_grid = false;
    const enum status status = match_run(&task, b->work, b->arena, &found, fault);
    if (status != STATUS_OK) return status;
    const struct recipe *fresh = &found.recipe[0].recipe;
    double most = 0;
    for (size_t i = 0; i < fresh->count; i++) {
        const int toner = fresh->toner[i];
        bool there = b->left_g[toner] > 0 || b->shelf.toner[toner].role == ROLE_BINDER;
        for (size_t k = 0; k < out->count; k++) there = there || out->addition[k].toner == toner;
        if (!there && fresh->part[i] > most) out->lacks = toner, most = fresh->part[i];
    }
    return STATUS_OK;
}

static double halton(int i, int base) {
    double f = 1, r = 0;
    for (; i > 0; i /= base) f /= base, r += f * (i % base);
    return r;
}

/* Three independent normal numbers from a Halton point (Box and Muller 1958). */
static void normal_point(int i, double z[3]) {
    const double u = halton(i, 2), v = halton(i, 3), w = halton(i, 5), x = halton(i, 7);
    z[0] = sqrt(-2 * log(u)) * cos(2 * M_PI * v);
    z[1] = sqrt(-2 * log(u)) * sin(2 * M_PI * v);
    z[2] = sqrt(-2 * log(w)) * cos(2 * M_PI * x);
}

static int by_value(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* p95 of the difference to the target when the colour is this unsure (256 quasi-random points). */
static double unsure_de00(struct lab target, struct lab after, const double cov[3][3]) {
    double l[9], z[3], de[CLOUD];
    for (int i = 0; i < 9; i++)
        l[i] = cov[i / 3][i % 3] + (i % 4 == 0 ? 1e-12 : 0); /* a trace, so that none is exactly sure */
    if (!dense_cholesky(l, 3)) return (double)NAN;
    for (int i = 0; i < CLOUD; i++) {
        normal_point(i + 1, z);
        struct lab moved = after;
        moved.l += l[0] * z[0];
        moved.a += l[3] * z[0] + l[4] * z[1];
        moved.b += l[6] * z[0] + l[7] * z[1] + l[8] * z[2];
        de[i] = difference_de00(target, moved);
    }
    qsort(de, CLOUD, sizeof de[0], by_value);
    return de[CLOUD * 95 / 100];
}

/* Colours as they will read: what was carried to the target is carried back. */
static void see(const struct bench *b, const double part[], struct spectrum *out) {
    predict_reflectance(&b->shelf, part, &b->exact.film, out);
    const struct reading *asked = &b->exact.target, *wanted = &b->task->match.target;
    for (int i = 0; i < BANDS && wanted->has_spectrum; i++)
        out->band[i] *= wanted->reflectance.band[i] / fmax(asked->reflectance.band[i], 1e-6);
}

static struct lab lab_with(const struct bench *b, const struct addition *add, size_t count) {
    struct spectrum seen;
    mix_parts(b, 1, add, count, b->part);
    see(b, b->part, &seen);
    return lab_of_spectrum(&seen, b->task->match.light[0]);
}

/* How far one addition may be off, by bisection on the worse of more and less. */
static void set_window(const struct bench *b, struct adjust_result *out, size_t which) {
    const double planned = out->addition[which].mass_g;
    const struct lab wanted = lab_with(b, out->addition, out->count);
    double low = 0, high = planned;
    for (int i = 0; i < 20; i++) {
        const double off = (low + high) / 2;
        out->addition[which].mass_g = planned + off;
        double moved = difference_de00(wanted, lab_with(b, out->addition, out->count));
        out->addition[which].mass_g = planned - off;
        moved = fmax(moved, difference_de00(wanted, lab_with(b, out->addition, out->count)));
        if (moved <= ADJUST_WINDOW)
            low = off;
        else
            high = off;
    }
    out->addition[which].mass_g = planned;
    out->addition[which].window_g = fmax(low, b->exact.scale_step_g / 2);
}

static void tell_now(const struct bench *b, struct adjust_result *out) {
    const struct adjust_task *task = b->task;
    mix_parts(b, 1, NULL, 0, b->part);
    see(b, b->part, &out->now);
    if (task->cards) out->now = task->card[task->cards - 1].measured;
    out->now_lab = lab_of_spectrum(&out->now, task->match.light[0]);
    out->de00_now = difference_de00(b->wanted, out->now_lab);
}

static void tell_after(const struct bench *b, struct adjust_result *out) {
    const struct weights *light = b->task->match.light[0];
    const struct lab wanted = b->wanted;
    mix_parts(b, 1, out->addition, out->count, b->part);
    see(b, b->part, &out->after);
    out->after_lab = lab_of_spectrum(&out->after, light);
    out->error = (struct lab){wanted.l - out->after_lab.l, wanted.a - out->after_lab.a,
                              wanted.b - out->after_lab.b, wanted.view};
    double cov[3][3];
    calibration_lab_cov(b->learnt, b->part, &b->exact.film, 0, cov);
    out->de00_after_p95 = unsure_de00(wanted, out->after_lab, (const double(*)[3])cov);
}

static void make_bench(struct bench *b) {
    const struct match_task *match = &b->task->match;
    const size_t count = match->shelf->count;
    b->left_g = arena_need(b->arena, count, sizeof *b->left_g);
    b->part = arena_need(b->arena, count + 1, sizeof *b->part);
    b->left_sum = adjust_remains(b->task->pot_g, count, b->task->taken_g, b->left_g);
    b->wanted = match->target.has_spectrum ? lab_of_spectrum(&match->target.reflectance, match->light[0])
                                           : match->target.lab;
    correct_shelf(b);
}

static enum status plan_and_tell(struct bench *b, struct adjust_result *result, struct fault *fault) {
    struct plan plan;
    tell_now(b, result);
    b->limit_g = b->task->pot_limit_g;
    if (b->task->refined_part > 0 && result->de00_now <= b->task->tolerance)
        b->limit_g = fmin(b->limit_g, (1 + b->task->refined_part) * b->left_sum);
    enum status status = plan_sparingly(b, 1, &plan, fault);
    if (status != STATUS_OK) return status;
    result->count = plan.count;
    memcpy(result->addition, plan.add, sizeof plan.add);
    result->total_g = mix_parts(b, 1, plan.add, plan.count, b->part);
    result->de00_after = plan.de00;
    result->reaches = plan.de00 <= b->task->tolerance;
    tell_after(b, result);
    for (size_t i = 0; i < result->count; i++) set_window(b, result, i);
    if (!result->reaches) status = find_start_over(b, result, fault);
    if (!result->reaches && status == STATUS_OK) status = find_lack(b, result, fault);
    return status;
}

enum status adjust_run(const struct adjust_task *task, struct work *work, struct arena *arena,
                       struct adjust_result *out, struct fault *fault) {
    enum status status = check_pot(task, fault);
    if (status != STATUS_OK) return status;
    struct bench b = {.task = task, .work = work, .arena = arena};
    make_bench(&b);
    struct adjust_result result = {
        .lacks = -1, .start_over_g = (double)NAN, .fresh_de00 = (double)NAN, .remains_g = b.left_sum};
    status = plan_and_tell(&b, &result, fault);
    calibration_free(b.learnt);
    if (status == STATUS_OK) *out = result;
    return status;
}
