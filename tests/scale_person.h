/* A scale, a person who pours on it, and a bad cable, for tests. All of it is invented; the sizes (noise,
 * filter, drift, drop) are common practice of bench scales with .1, .01 or .001 g, 2 to 20 lines a second.
 * The person only looks at what the program says. */
#ifndef RUSSET_TESTS_SCALE_PERSON_H
#define RUSSET_TESTS_SCALE_PERSON_H

#include "check.h"
#include "device/scale_line.h"
#include "paint/pouring.h"

enum habit {
    HABIT_WORDS,
    HABIT_LETTERS,
    HABIT_BARE,
    HABIT_QUERY,
    HABIT_UNIT_WHEN_STILL,
    HABIT_KG,
    HABIT_PATTERN,
    HABITS
};
enum doing {
    DOING_WAIT,
    DOING_POUR,
    DOING_LIFT,
    DOING_OBJECT,
    DOING_LEAN,
    DOING_TARE,
    DOING_GAP,
    DOING_OVERLOAD
};

#define PERSON_PATTERN "W,{sign}{number}{unit}{stable:S|D}"

struct person {
    unsigned long long seed;
    enum habit habit;
    int decimals, tick_ms;
    double step_g, tau; /* filter: what part of the difference comes with each line */
    double cup_g, content_g, object_g, lean_g, tare_g, zero_g, place_g; /* what makes the reading */
    bool cup_on, overload, silent;
    double shown_g, last[6]; /* filtered, and what was shown lately */
    enum doing doing;
    int ticks;             /* left of what it is doing */
    double pour_g, rate_g; /* still to pour, a tick */
    bool zero_moved, poured_unseen;
    double truth_g[POURING_MOST];
    size_t pouring_at;
    double garbage; /* part of the lines that the cable spoils */
    double trouble; /* chance of a mishap before each pour */
    int mishaps[DOING_OVERLOAD + 1];
};

static inline double person_random(struct person *p) {
    return check_random(&p->seed);
}

static inline double person_normal(struct person *p) {
    double sum = -6;
    for (int i = 0; i < 12; i++) sum += person_random(p);
    return sum;
}

static inline double person_between(struct person *p, double low, double high) {
    return low + (high - low) * person_random(p);
}

static inline int person_ticks(const struct person *p, double seconds) {
    return 1 + (int)(fmin(seconds, 1e5) * 1000 / p->tick_ms);
}

static inline void person_begin(struct person *p, unsigned long long seed, enum habit habit) {
    memset(p, 0, sizeof *p);
    p->seed = seed * 2654435761ULL + 88172645463325252ULL;
    p->habit = habit;
    p->decimals = person_random(p) < .6 ? 2 : person_random(p) < .5 ? 1 : 3;
    p->step_g = pow(10, -p->decimals);
    p->tick_ms = (const int[]){50, 100, 100, 200, 500}[(int)(person_random(p) * 5)];
    p->tau = 1 - pow(1 - person_between(p, .3, .9), p->tick_ms / 100.0);
    p->cup_g = person_between(p, 5, 40);
    p->cup_on = true;
    p->tare_g = person_random(p) < .7 ? p->cup_g : 0;
    p->garbage = .3;
    p->trouble = .35;
    p->ticks = person_ticks(p, 3);
    p->shown_g = p->cup_g - p->tare_g;
}

/* ---- the scale
 * ---------------------------------------------------------------------------------------------------------
 */

static inline double person_load(const struct person *p) {
    return (p->cup_on ? p->cup_g + p->content_g + p->place_g : 0) + p->object_g + p->lean_g - p->tare_g +
           p->zero_g;
}

static inline bool person_still(const struct person *p) {
    double low = p->last[0], high = p->last[0];
    for (int i = 1; i < 6; i++) {
        low = fmin(low, p->last[i]);
        high = fmax(high, p->last[i]);
    }
    return high - low < 1.5 * p->step_g;
}

/* One tick of the scale; the line as it leaves it. */
static inline int person_true_line(struct person *p, char line[80]) {
    p->zero_g += person_normal(p) * .0002;
    p->shown_g += p->tau * (person_load(p) - p->shown_g);
    double g = p->shown_g + person_normal(p) * .25 * p->step_g + (p->lean_g != 0 ? .1 * person_normal(p) : 0);
    g = round(g / p->step_g) * p->step_g;
    memmove(p->last, p->last + 1, sizeof p->last - sizeof *p->last);
    p->last[5] = g;
    const bool still = person_still(p);
    const int d = p->decimals;
    const double size = fabs(g);
    const char sign = g < 0 ? '-' : '+';
    if (p->overload)
        return snprintf(line, 80, "%s",
                        p->habit == HABIT_LETTERS   ? "S +"
                        : p->habit == HABIT_PATTERN ? "W,OL"
                                                    : "OL");
    switch (p->habit) {
    case HABIT_WORDS:
        return snprintf(line, 80, "%s,GS,%c%08.*f g", still ? "ST" : "US", sign, d, size);
    case HABIT_LETTERS:
        return snprintf(line, 80, "S %c %10.*f g", still ? 'S' : 'D', d, g);
    case HABIT_BARE:
        return snprintf(line, 80, "%10.*f g", d, g);
    case HABIT_QUERY:
        return snprintf(line, 80, "%c %7.*f g%s", sign, d, size, still ? "" : " ?");
    case HABIT_UNIT_WHEN_STILL:
        return snprintf(line, 80, "N %c%8.*f%s", sign, d, size, still ? " g" : "");
    case HABIT_KG:
        return snprintf(line, 80, "%10.*f kg", d + 3, g / 1000);
    case HABIT_PATTERN:
        return snprintf(line, 80, "W,%c%6.*fg%c", sign, d, size, still ? 'S' : 'D');
    case HABITS:
        break;
    }
    return 0;
}

/* ---- the cable
 * -----------------------------------------------------------------------------------------------------------
 */

/* Spoils a line in one of ten ways; returns its new length (at most 300). Some ways add the true line beside
 * the garbage. */
static inline int person_spoil(struct person *p, char *line, int n) {
    const int way = (int)(person_random(p) * 10);
    const int at = (int)(person_random(p) * n);
    switch (way) {
    case 0: /* random bytes instead */
        n = 1 + (int)(person_random(p) * 60);
        for (int i = 0; i < n; i++) line[i] = (char)(unsigned char)(person_random(p) * 256);
        return n;
    case 1:
        return snprintf(line, 300, "%.2f g", person_between(p, -500, 500)); /* a number out of nowhere */
    case 2:
        return at; /* its end lost */
    case 3:
        memmove(line, line + at, (size_t)(n - at));
        return n - at; /* its beginning lost */
    case 4:
        line[at] = (char)('0' + (int)(person_random(p) * 10));
        return n; /* a character turned into a digit */
    case 5:
        line[at] = (char)(line[at] ^ (1 << (int)(person_random(p) * 8)));
        return n; /* a bit turned */
    case 6:
        memmove(line + at, line + at + 1, (size_t)(n - at - 1));
        return n - 1; /* a character lost */
    case 7:
        memcpy(line + n, line, (size_t)n);
        return 2 * n; /* twice without an end */
    case 8:
        memset(line, '7', 250);
        return 250; /* far too long */
    default:
        return snprintf(line, 300, "%s", person_random(p) < .5 ? "OL" : "hello, bench");
    }
}

/* What comes down the cable in one tick: 0 or more lines. room: 400. */
static inline int person_tick_bytes(struct person *p, char *bytes, int *lines) {
    char line[400];
    int n = person_true_line(p, line), at = 0;
    *lines = 0;
    if (p->silent) return 0;
    if (person_random(p) < p->garbage) n = person_spoil(p, line, n);
    memcpy(bytes, line, (size_t)n);
    at += n;
    bytes[at++] = '\r';
    bytes[at++] = '\n';
    *lines = 1;
    return at;
}

/* ---- the person
 * ----------------------------------------------------------------------------------------------------------
 */

static inline void person_do(struct person *p, enum doing doing, double seconds) {
    p->doing = doing;
    p->ticks = person_ticks(p, seconds);
    p->mishaps[doing]++;
}

/* Pours towards the want of the step that the program shows; now and then too much. */
static inline void person_plan_pour(struct person *p, const struct pouring *pouring) {
    const struct pouring_item *item = &pouring->items[pouring->at];
    const double left = item->want_g - pouring_amount(pouring);
    double aim = left + person_normal(p) * .4 * item->minus_g;
    if (person_random(p) < .05) aim = left + person_between(p, .1, 2);
    if (left > 3 && person_random(p) < .4) aim = left * person_between(p, .3, .9);
    p->pouring_at = pouring->at;
    p->pour_g = fmax(.04, aim);
    p->rate_g = p->tick_ms / 1000.0 * fmin(person_between(p, .5, 8), fmax(.1, p->pour_g / 2));
    person_do(p, DOING_POUR, 1e6);
}

static inline void person_mishap(struct person *p) {
    switch ((int)(person_random(p) * 6)) {
    case 0:
        p->cup_on = false;
        person_do(p, DOING_LIFT, person_between(p, .3, 6));
        break;
    case 1:
        p->object_g = person_between(p, 1.5, 30);
        person_do(p, DOING_OBJECT, person_between(p, .3, 6));
        break;
    case 2:
        p->lean_g = person_between(p, .2, 20);
        person_do(p, DOING_LEAN, person_between(p, .3, 6));
        break;
    case 3:
        person_do(p, DOING_TARE, 0);
        break;
    case 4:
        p->silent = true;
        person_do(p, DOING_GAP, person_between(p, 1, 20));
        break;
    default:
        p->overload = true;
        person_do(p, DOING_OVERLOAD, person_between(p, .3, 4));
        break;
    }
}

/* What it was doing is over: the bench is as it should be again. */
static inline void person_finish(struct person *p) {
    if (p->doing == DOING_LIFT) p->place_g = person_between(p, -1.2, 1.2) * p->step_g;
    if (p->doing == DOING_TARE) {
        p->tare_g += p->shown_g;
        p->shown_g = 0;
        p->zero_moved = true;
    }
    if (p->doing == DOING_GAP && person_random(p) < .3) { /* poured while the cable was out */
        const double g = person_between(p, .1, 3);
        p->content_g += g;
        p->truth_g[p->pouring_at] += g;
        p->poured_unseen = true;
    }
    p->cup_on = true;
    p->object_g = p->lean_g = 0;
    p->overload = p->silent = false;
    p->doing = DOING_WAIT;
    p->ticks = person_ticks(p, 3.5);
}

/* 0: no answer; else 's' or 'p'. The truth, once the bench has been as it should be for a second and a half.
 */
static inline char person_answer(struct person *p, const struct pouring *pouring) {
    if (pouring->state != POURING_AWAY || !pouring->asked || isnan(pouring->rest_g)) return 0;
    if (p->doing != DOING_WAIT || p->ticks > person_ticks(p, 2)) return 0;
    const char answer = p->poured_unseen ? 'p' : 's';
    if (p->poured_unseen && p->zero_moved) return 'q'; /* nobody could tell these apart */
    return answer;
}

static inline void person_pour_tick(struct person *p, const struct pouring *pouring) {
    const double g = fmin(p->pour_g, p->rate_g * person_between(p, .5, 1.5));
    p->content_g += g;
    p->truth_g[p->pouring_at] += g;
    p->pour_g -= g;
    if (p->pour_g > 0 && pouring->state == POURING_POUR && person_random(p) > .002) return;
    p->poured_unseen = true; /* until a rest has been seen */
    p->doing = DOING_WAIT;
    p->ticks = person_ticks(p, 3.5);
}

/* One tick of the person's time. */
static inline void person_act(struct person *p, const struct pouring *pouring) {
    if (p->doing == DOING_POUR) {
        person_pour_tick(p, pouring);
    } else if (--p->ticks <= 0) {
        if (p->doing != DOING_WAIT) {
            person_finish(p);
        } else if (pouring->state == POURING_POUR && !isnan(pouring->rest_g)) {
            p->poured_unseen = p->zero_moved = false; /* the program knows */
            p->pouring_at = pouring->at;
            if (person_random(p) < p->trouble)
                person_mishap(p);
            else
                person_plan_pour(p, pouring);
        }
    }
}

#endif
