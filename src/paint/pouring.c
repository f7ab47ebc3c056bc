#include "paint/pouring.h"
#include <assert.h>
#include <math.h>
#include <string.h>

enum { PATH_EVERY_MS = POURING_SUDDEN_MS / 10, FALLING_NEEDED = 3, STEP_NEEDED = 5 };

static double most(double a, double b) {
    return a > b ? a : b;
}

/* ---- sizes: what counts as still, as back, as a fall, as sudden
 * ----------------------------------------------------- */

static double still_g(const struct pouring *p) {
    return 2.01 * p->step_g;
}

static double fastest_pour_g_s(const struct pouring *p) {
    return most(20, 0.5 * p->items[p->at].want_g);
}

/* A cup that was lifted comes back within this: a place on the pan is worth a step or so. */
static double back_g(const struct pouring *p) {
    return 3.01 * p->step_g;
}

static double fall_g(const struct pouring *p) {
    return most(5.01 * p->step_g, 0.05);
}

static double sudden_g(const struct pouring *p) {
    return most(5 * p->step_g, 1.0);
}

static double drift_most_g(const struct pouring *p) {
    return fmin(3.01 * p->step_g, most(1.01 * p->step_g, 0.5 * p->items[p->at].minus_g));
}

/* ---- rests
 * ------------------------------------------------------------------------------------------------------------
 */

static void rest_begin(struct pouring_rest *rest, double g, long long ms) {
    *rest = (struct pouring_rest){.count = 1, .low = g, .high = g, .sum = g, .first_ms = ms};
}

static bool rest_fits(const struct pouring_rest *rest, double g, double tolerance) {
    return fmax(rest->high, g) - fmin(rest->low, g) <= tolerance;
}

static void rest_add(struct pouring_rest *rest, double g) {
    rest->low = fmin(rest->low, g);
    rest->high = fmax(rest->high, g);
    rest->sum += g;
    rest->count++;
    rest->suspect = false;
}

/* A reading that disagrees is kept aside: if the next one agrees again it was a spike; if not, a new rest
 * begins with both. */
static void rest_doubt(struct pouring_rest *rest, double g, long long ms, double tolerance) {
    if (!rest->suspect && rest->count > 1) {
        rest->suspect = true;
        rest->suspect_g = g;
        rest->suspect_ms = ms;
        return;
    }
    const double before_g = rest->suspect ? rest->suspect_g : g;
    const long long before_ms = rest->suspect ? rest->suspect_ms : ms;
    rest_begin(rest, g, ms);
    if (fabs(before_g - g) > tolerance || before_ms == ms) return;
    rest_begin(rest, before_g, before_ms);
    rest_add(rest, g);
}

static bool rest_feed(struct pouring *p, const struct pouring_reading *reading) {
    struct pouring_rest *rest = &p->rest;
    if (rest->count == 0)
        rest_begin(rest, reading->mass_g, reading->time_ms);
    else if (reading->still && rest_fits(rest, reading->mass_g, still_g(p)))
        rest_add(rest, reading->mass_g);
    else
        rest_doubt(rest, reading->mass_g, reading->time_ms, still_g(p));
    if (!reading->still && !rest->suspect) rest->count = 0;
    return rest->count >= POURING_REST_READINGS && !rest->suspect &&
           reading->time_ms - rest->first_ms >= POURING_REST_MS;
}

/* The mean of the readings at rest, on the scale's grid. */
static double rest_value(const struct pouring *p) {
    const double mean = p->rest.sum / p->rest.count;
    return p->step_g > 0 ? round(mean / p->step_g) * p->step_g : mean;
}

/* ---- the path of a rise
 * ----------------------------------------------------------------------------------------------- */

static void path_clear(struct pouring_path *path) {
    path->count = 0;
    path->full = false;
    path->fastest_g_s = 0;
}

/* The fastest rise between two readings, over at least a twentieth of a second. */
static void path_speed(struct pouring_path *path, double g, long long ms) {
    if (path->count > 0 && ms - path->last_ms < 50) return;
    if (path->count > 0 && g - path->last_g >= 1)
        path->fastest_g_s = most(path->fastest_g_s, (g - path->last_g) * 1000 / (double)(ms - path->last_ms));
    path->last_g = g;
    path->last_ms = ms;
}

static void path_add(struct pouring *p, double g, long long ms) {
    struct pouring_path *path = &p->path;
    if (fabs(g - p->level_g) <= still_g(p)) path_clear(path); /* it has not left yet, or came back */
    path_speed(path, p->now_g, ms);
    const int n = path->count;
    if (path->full || (n > 1 && ms - path->ms[n - 1] < PATH_EVERY_MS)) return;
    if (n == POURING_PATH) {
        path->full = true;
        return;
    }
    path->g[n] = g;
    path->ms[n] = ms;
    path->count++;
}

/* Was nine tenths of the rise from level_g to rest_g there within POURING_SUDDEN_MS, or within three readings
 * (a slow scale, or a cable that loses lines, stretches the time)? Points far past the rest were spikes. */
static bool path_is_sudden(const struct pouring *p, double rest_g) {
    const double rise = rest_g - p->level_g, near_g = p->level_g + 0.9 * rise,
                 far_g = p->level_g + 1.1 * rise;
    if (rise < sudden_g(p)) return false;
    if (p->path.fastest_g_s > fastest_pour_g_s(p)) return true;
    for (int i = 0; i < p->path.count; i++)
        if (p->path.g[i] >= near_g && p->path.g[i] <= far_g)
            return i <= 3 || p->path.ms[i] - p->path.ms[0] <= POURING_SUDDEN_MS;
    return !p->path.full;
}

/* ---- changes of state
 * --------------------------------------------------------------------------------------------------- */

/* Hands the miss of a step that carries on to the next of its kind. False when that one had too little to
 * give. */
static bool carry(struct pouring *p, size_t at) {
    const struct pouring_item *item = &p->items[at];
    for (size_t k = at + 1; k < p->count; k++) {
        struct pouring_item *next = &p->items[k];
        if (strcmp(next->id, item->id) != 0 || next->fraction != item->fraction) continue;
        const double left = next->want_g - (item->poured_g - item->want_g);
        next->want_g = most(0, left);
        return left >= -next->plus_g;
    }
    return item->poured_g <= item->want_g + item->plus_g;
}

static bool item_lacks(const struct pouring_item *item) {
    return item->poured_g < item->want_g - item->minus_g - 1e-9;
}

void pouring_start(struct pouring *p, const struct pouring_item items[], size_t count, double step_g,
                   bool ask_start) {
    assert(count > 0 && count <= POURING_MOST);
    memset(p, 0, sizeof *p);
    memcpy(p->items, items, count * sizeof *items);
    p->count = count;
    p->step_g = p->step_least_g = step_g;
    p->ask_start = ask_start;
    for (size_t i = 0; i < count; i++)
        if (p->items[i].carries && !item_lacks(&p->items[i])) (void)carry(p, i);
    p->rest_g = NAN;
    p->now_g = NAN;
}

/* The first toner that lacks something; its zero is where the reading rests. False when there is none. */
static bool go_to_next(struct pouring *p) {
    for (p->at = 0; p->at < p->count && !item_lacks(&p->items[p->at]); p->at++) {
    }
    p->followed_g = 0;
    p->creep_is_pour = false;
    p->before_g = NAN; /* what is taken stays */
    if (p->at == p->count) {
        p->at = p->count - 1;
        p->state = POURING_DONE;
        return false;
    }
    p->zero_g = p->level_g - p->items[p->at].poured_g;
    p->state = POURING_POUR;
    return true;
}

static void set_level(struct pouring *p, double g) {
    p->level_g = g;
    p->falling = 0;
    path_clear(&p->path);
}

static enum pouring_event leave(struct pouring *p, enum pouring_reason reason) {
    if (p->state != POURING_POUR) return POURING_NOTHING;
    p->state = POURING_AWAY;
    p->reason = reason;
    p->asked = false;
    p->rest_g = NAN;
    return POURING_LEFT;
}

static enum pouring_event leave_and_ask(struct pouring *p, enum pouring_reason reason, double rest_g) {
    leave(p, reason);
    p->rest_g = rest_g;
    p->asked = true;
    return POURING_ASKED;
}

static enum pouring_event take(struct pouring *p, double amount) {
    struct pouring_item *item = &p->items[p->at];
    assert(isfinite(amount) && amount >= 0);
    item->poured_g = amount;
    const bool over = item->carries ? !carry(p, p->at) : amount > item->want_g + item->plus_g + 1e-9;
    p->at_taken = p->at;
    go_to_next(p);
    assert(p->state == POURING_DONE || p->zero_g + p->items[p->at].poured_g == p->level_g ||
           fabs(p->zero_g + p->items[p->at].poured_g - p->level_g) < 1e-9);
    return over ? POURING_OVERPOURED : POURING_TAKEN;
}

/* The scale rests at g and the pot is on it: what does that make? */
static enum pouring_event judge(struct pouring *p, double g) {
    struct pouring_item *item = &p->items[p->at];
    const double step = p->step_g > 0 ? p->step_g : 1e-6;
    const double amount = fmax(0, round((g - p->zero_g) / step) * step);
    const bool grown = fabs(amount - item->poured_g) > 0.5 * step;
    p->before_g = p->level_g;
    set_level(p, g);
    if (!grown) return POURING_NOTHING;
    if (amount >= item->want_g - item->minus_g - 1e-9) return take(p, amount);
    item->poured_g = amount;
    return POURING_RESTED;
}

static bool follow_drift(struct pouring *p, double d) {
    if (d > 0 && p->followed_g + d > drift_most_g(p)) return false;
    p->followed_g += d;
    p->zero_g += d;
    set_level(p, p->level_g + d);
    return true;
}

static enum pouring_event rested_in_pour(struct pouring *p, double g) {
    const double d = g - p->level_g;
    const bool creeps = fabs(d) <= still_g(p);
    if (fabs(d) <= 0.25 * p->step_g) {
        set_level(p, p->level_g);
        return POURING_NOTHING;
    }
    if (creeps && !p->creep_is_pour && follow_drift(p, d)) return POURING_NOTHING;
    if (d < 0 || (creeps && !p->creep_is_pour)) return leave_and_ask(p, AWAY_CREPT, g);
    if (path_is_sudden(p, g)) return leave_and_ask(p, AWAY_PUT, g);
    return judge(p, g);
}

static enum pouring_event come_back(struct pouring *p, double g) {
    p->zero_g += g - p->level_g;
    p->before_g = NAN;
    p->state = POURING_POUR;
    p->asked = false;
    set_level(p, g);
    return POURING_BACK;
}

/* An answer is about the rest that was shown: it holds when the scale still rests there. */
static bool answer_holds(struct pouring *p, double g) {
    const bool holds = p->said && fabs(g - p->said_g) <= still_g(p);
    p->said = false;
    return holds;
}

/* What rests on the scale is the pot, and the difference was poured. */
static enum pouring_event believe(struct pouring *p, double g) {
    p->state = POURING_POUR;
    p->asked = false;
    const enum pouring_event event = judge(p, g);
    return event == POURING_NOTHING ? POURING_BACK : event;
}

static enum pouring_event apply_answer(struct pouring *p, double g) {
    if (p->said_answer == ANSWER_SAME) return come_back(p, g);
    if (g < p->zero_g - back_g(p)) return POURING_NOTHING; /* less than nothing cannot have been poured */
    if (p->reason == AWAY_CREPT) p->creep_is_pour = true;
    return believe(p, g);
}

/* It fell to the rest before the last one: what was read in between was a hand on the cup. */
static enum pouring_event take_back(struct pouring *p, double g) {
    const enum pouring_event event = believe(p, g);
    p->before_g = NAN;
    return event;
}

static enum pouring_event rested_away(struct pouring *p, double g) {
    if (answer_holds(p, g)) return apply_answer(p, g);
    const double near_g = p->reason == AWAY_CREPT ? 0.5 * p->step_g : back_g(p);
    if (fabs(g - p->level_g) <= near_g) return come_back(p, g);
    const bool at_zero = fabs(g) <= back_g(p); /* or it was tared: that must be asked */
    if (p->reason == AWAY_LIFTED && fabs(g - p->before_g) <= back_g(p) && !at_zero) return take_back(p, g);
    const bool new_place = !p->asked || isnan(p->rest_g) || fabs(g - p->rest_g) > still_g(p);
    p->rest_g = g;
    if (!new_place) return POURING_NOTHING;
    if (fabs(g) <= 1.01 * p->step_g) p->reason = AWAY_ZERO;
    p->asked = true;
    return POURING_ASKED;
}

static enum pouring_event start_at(struct pouring *p, double g) {
    set_level(p, g);
    p->rest_g = g;
    return go_to_next(p) ? POURING_STARTED : POURING_NOTHING;
}

double pouring_in_cup(const struct pouring *p) {
    double sum = 0;
    for (size_t i = 0; i < p->count; i++) sum += p->items[i].poured_g;
    return sum;
}

bool pouring_has_more(const struct pouring *p) {
    const double in_cup = pouring_in_cup(p);
    size_t at = 0;
    while (at < p->count && !item_lacks(&p->items[at])) at++;
    if (p->state != POURING_START || isnan(p->rest_g) || in_cup <= 0 || at == p->count) return false;
    const double left = p->items[at].want_g - p->items[at].poured_g;
    return p->rest_g > in_cup + still_g(p) && p->rest_g <= in_cup + most(1, 1.5 * left);
}

/* The scale shows what is in the cup, and more of it than is known: poured, and not written down yet. */
static enum pouring_event start_with_more(struct pouring *p, double g) {
    set_level(p, pouring_in_cup(p));
    return go_to_next(p) ? believe(p, g) : POURING_NOTHING;
}

static enum pouring_event rested_at_start(struct pouring *p, double g) {
    if (!p->ask_start) return start_at(p, g);
    if (answer_holds(p, g)) {
        p->rest_g = g;
        return p->said_answer == ANSWER_POURED && pouring_has_more(p) ? start_with_more(p, g)
                                                                      : start_at(p, g);
    }
    const bool first = isnan(p->rest_g);
    p->rest_g = g;
    return first ? POURING_READY : POURING_NOTHING;
}

static enum pouring_event rested(struct pouring *p, double g) {
    switch (p->state) {
    case POURING_START:
        return rested_at_start(p, g);
    case POURING_POUR:
        p->rest_g = g;
        return rested_in_pour(p, g);
    case POURING_AWAY:
        return rested_away(p, g);
    case POURING_DONE:
        return POURING_NOTHING;
    }
    return POURING_NOTHING;
}

/* ---- readings
 * ------------------------------------------------------------------------------------------------------------
 */

static double median_of_three(const double x[3]) {
    return fmax(fmin(x[0], x[1]), fmin(fmax(x[0], x[1]), x[2]));
}

static void smooth(struct pouring *p, double g) {
    p->last[0] = p->last[1];
    p->last[1] = p->last[2];
    p->last[2] = g;
    if (p->last_count < 3) p->last_count++;
    p->now_g = p->last_count == 3 ? median_of_three(p->last) : g;
}

static bool has_fallen(struct pouring *p) {
    const bool below = p->now_g < p->level_g - fall_g(p);
    p->falling = below ? p->falling + 1 : 0;
    return p->falling >= FALLING_NEEDED;
}

/* The scale says itself that it was tared with this reading: the zero is known to have moved, the cup has
 * not. */
static enum pouring_event follow_tare(struct pouring *p, const struct pouring_reading *reading) {
    leave(p, AWAY_ZERO);
    return come_back(p, reading->mass_g);
}

static bool moved_away(const struct pouring *p) {
    return !isnan(p->rest_g) && fabs(p->now_g - p->rest_g) > back_g(p);
}

/* The step is what several readings in a row agree on. False for a reading that has another. */
static bool step_agrees(struct pouring *p, double step_g) {
    if (!(fabs(step_g - p->step_new_g) <= 1e-9 * step_g)) p->step_count = 0;
    p->step_new_g = step_g;
    if (p->step_count < STEP_NEEDED) p->step_count++;
    if (p->step_count == STEP_NEEDED) {
        p->step_g = most(p->step_least_g, step_g);
        p->step_used_g = step_g;
    }
    return p->step_used_g > 0 && fabs(step_g - p->step_used_g) <= 1e-9 * step_g;
}

/* Nothing came for a while: what happened meanwhile is not known. */
static bool was_silent(struct pouring *p, long long ms) {
    const bool silent = p->last_ms > 0 && ms - p->last_ms > POURING_SILENT_MS;
    p->last_ms = ms;
    if (silent) p->rest.count = 0;
    return silent;
}

static enum pouring_event follow(struct pouring *p, const struct pouring_reading *reading) {
    if (reading->tared && fabs(reading->mass_g) <= still_g(p)) return follow_tare(p, reading);
    path_add(p, reading->mass_g, reading->time_ms);
    return has_fallen(p) ? leave(p, AWAY_LIFTED) : POURING_NOTHING;
}

enum pouring_event pouring_read(struct pouring *p, const struct pouring_reading *reading) {
    if (!isfinite(reading->mass_g) || !step_agrees(p, reading->step_g)) return POURING_NOTHING;
    if (was_silent(p, reading->time_ms) && p->state == POURING_POUR) return leave(p, AWAY_GAP);
    smooth(p, reading->mass_g);
    if (moved_away(p)) p->rest_g = NAN;
    enum pouring_event event = p->state == POURING_POUR ? follow(p, reading) : POURING_NOTHING;
    if (event != POURING_NOTHING || !rest_feed(p, reading)) return event;
    const double g = rest_value(p);
    p->rest.count = 0;
    return rested(p, g);
}

void pouring_say(struct pouring *p, enum pouring_answer answer) {
    const bool waits = p->state == POURING_START || (p->state == POURING_AWAY && p->asked);
    if (!waits || isnan(p->rest_g)) return; /* nothing was asked, or it moves again */
    p->said = true;
    p->said_answer = answer;
    p->said_g = p->rest_g;
}

enum pouring_event pouring_gap(struct pouring *p, enum pouring_reason reason) {
    p->rest.count = 0;
    p->last_count = 0;
    if (p->state == POURING_START) p->rest_g = NAN;
    if (p->state == POURING_AWAY) {
        p->rest_g = NAN;
        p->asked = false;
    }
    return leave(p, reason);
}

void pouring_replan(struct pouring *p, const struct pouring_item items[], size_t count) {
    assert(count >= p->count && count <= POURING_MOST);
    for (size_t i = 0; i < count; i++) {
        const double poured_g = i < p->count ? p->items[i].poured_g : 0;
        p->items[i] = items[i];
        p->items[i].poured_g = poured_g;
    }
    p->count = count;
    if (p->state == POURING_POUR || p->state == POURING_DONE) go_to_next(p);
}

void pouring_plan_anew(struct pouring *p, const struct pouring_item items[], size_t count) {
    assert(count > 0 && count <= POURING_MOST);
    memcpy(p->items, items, count * sizeof *items);
    p->count = count;
    if (p->state == POURING_POUR) go_to_next(p);
}

double pouring_amount(const struct pouring *p) {
    return p->state == POURING_POUR ? p->now_g - p->zero_g : p->items[p->at].poured_g;
}

double pouring_bar(double want_g, double window_g, double amount_g) {
    const double left = most(0, want_g - amount_g), window = most(window_g, 1e-6);
    if (amount_g <= 0 || want_g <= 0) return 0;
    return 1 - log1p(left / window) / log1p(want_g / window);
}
