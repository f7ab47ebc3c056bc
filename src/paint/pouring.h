/* Following a pour on a scale, reading by reading. Pure: readings and answers in, events out; the time of a
 * reading comes with it.
 *
 * The law: what is written down as poured is the difference of two rests of the scale with nothing between
 * them that a pour does not do. Anything else (a lifted cup, a thing put down, a zero that moved, an
 * overload, a gap in the readings) leaves the pour where it was; it goes on by itself when the reading rests
 * again where it last rested, and otherwise somebody is asked. What was taken is never changed.
 *
 *   rest     readings that say "stable" (or say nothing) within two steps of each other, over
 *            POURING_REST_MS and at least POURING_REST_READINGS of them. A single reading that
 *            disagrees is a spike and is left out.
 *   pour     a rise between two rests. It may take any number of rests: each is reported with the
 *            amount so far (POURING_RESTED).
 *   taken    a rest inside the window of the step, or past it (POURING_OVERPOURED).
 *   sudden   a rise of a gram or more that was there within POURING_SUDDEN_MS or two readings, or came faster
 *            than anybody pours (20 g/s, or half of what is wanted in a second): a thing was put down. Asked.
 *   fall     nothing is poured out of a cup on a scale: more than a few steps down is a lifted cup or
 *            a moved zero. Asked, unless it comes back to the last rest, or to the one before it: then
 *            a hand had been on the cup, and what it added is taken off again.
 *   drift    a reading that creeps by no more than two steps from rest to rest moves the zero of the
 *            step along: down always, up at most half the window (at least one digit, at most three)
 *            for each step; beyond that it is asked whether something drips.
 *   digit    the worth of the last digit, once five readings in a row agree on it. A reading with
 *            another is a damaged line (a digit lost, another unit) and is left out.
 *
 * Times are common practice at a bench (1.5 s), not from a standard; a scale settles within 1..3 s. All
 * masses in g.
 *
 * Numbered invariants, asserted: 1 a taken amount is finite and >= 0; 2 an event of taking leaves the next
 * toner's zero at the very rest that it was taken at; 3 no reading is compared with a rest from before a gap
 * except through AWAY. */
#ifndef RUSSET_PAINT_POURING_H
#define RUSSET_PAINT_POURING_H

#include "paint/recipe.h"

enum {
    POURING_REST_MS = 1500,
    POURING_REST_READINGS = 5,
    POURING_SUDDEN_MS = 1250,
    POURING_SILENT_MS = 3000
};

enum { POURING_MOST = 48 }; /* steps, those of rescues among them */

/* One step: a toner, or a let-down of it. A toner may have several steps. */
struct pouring_item {
    char id[TONER_ID_MAX];
    double fraction;        /* of the toner in what is poured: 1, or less for a let-down */
    double want_g;          /* of what is poured in this step */
    double minus_g, plus_g; /* by how much it may miss */
    double poured_g;        /* what the log holds */
    bool carries;           /* what it misses is made good in the next step of the same toner and fraction */
};

struct pouring_reading {
    long long time_ms;
    double mass_g, step_g;
    bool still; /* false: the scale says that it moves */
    bool tared; /* the scale says that it has just been tared */
};

enum pouring_state {
    POURING_START, /* no rest seen yet, or waiting for the word that the cup stands */
    POURING_POUR,
    POURING_AWAY, /* the reading cannot be trusted to be the pot's; see reason */
    POURING_DONE,
};
enum pouring_reason { AWAY_LIFTED, AWAY_PUT, AWAY_ZERO, AWAY_GAP, AWAY_OVERLOAD, AWAY_CREPT };

enum pouring_event {
    POURING_NOTHING,
    POURING_READY,      /* a first rest: the cup may be confirmed */
    POURING_STARTED,    /* pouring can begin */
    POURING_RESTED,     /* items[at].poured_g holds a new amount so far */
    POURING_TAKEN,      /* items[at_taken] is done, inside its window */
    POURING_OVERPOURED, /* items[at_taken] is done, over its window: offer the rescue */
    POURING_LEFT,       /* went AWAY */
    POURING_ASKED, /* AWAY, and the scale rests where it should not: an answer is needed (or the reading comes
                      back) */
    POURING_BACK,  /* went on */
};

enum pouring_answer {
    ANSWER_SAME,   /* the cup stands with what was in it: only the zero has moved (also: the cup is ready) */
    ANSWER_POURED, /* the difference is in the cup: it was poured (or had not been) */
};

/* Readings that agree. */
struct pouring_rest {
    int count;
    double low, high, sum, suspect_g;
    long long first_ms, suspect_ms;
    bool suspect;
};

enum { POURING_PATH = 24 };

/* The rise since the last rest, a point each POURING_SUDDEN_MS / 10 or slower. */
struct pouring_path {
    int count;
    bool full; /* it took longer than the path holds: not sudden */
    double g[POURING_PATH];
    long long ms[POURING_PATH];
    double last_g, fastest_g_s;
    long long last_ms;
};

struct pouring {
    size_t count;
    struct pouring_item items[POURING_MOST];
    enum pouring_state state;
    enum pouring_reason reason;
    bool ask_start; /* the cup must be confirmed */
    size_t at, at_taken;
    double zero_g;                  /* the reading at which items[at] would be 0 */
    double level_g;                 /* the last rest that is known to be the pot */
    double before_g;                /* the rest before it, of the same step; NAN when there is none */
    double rest_g;                  /* the rest it is at now, NAN when it moves */
    double now_g;                   /* the last reading without spikes */
    double step_g, step_least_g;    /* in use (0 until known), and what the caller said */
    double step_used_g, step_new_g; /* of the readings in use, and of the latest ones */
    int step_count;
    double followed_g;  /* drift followed for this toner */
    bool creep_is_pour; /* somebody said so for this toner */
    bool asked, said;   /* said: an answer waits for the next rest */
    enum pouring_answer said_answer;
    double said_g;
    long long last_ms;
    struct pouring_rest rest;
    struct pouring_path path;
    double last[3]; /* for the median of three */
    int last_count, falling;
};

/* items: what is wanted, with what is already in the pot (poured_g). step_g: the scale's step if known, else
 * 0. ask_start: somebody is there to say that the cup stands; otherwise the first rest is taken for it. */
void pouring_start(struct pouring *pouring, const struct pouring_item items[], size_t count, double step_g,
                   bool ask_start);
enum pouring_event pouring_read(struct pouring *pouring, const struct pouring_reading *reading);
/* An answer counts at the next rest, if that is where the scale rested when it was given: a question that was
 * shown may be older than what lies on the pan now. */
void pouring_say(struct pouring *pouring, enum pouring_answer answer);
/* What is in by all steps together. */
double pouring_in_cup(const struct pouring *pouring);
/* At the start of a pour that goes on: the scale shows somewhat more than that, as a tared scale does when it
 * broke off in the middle of a step. ANSWER_POURED then means that the difference is of this step. */
bool pouring_has_more(const struct pouring *pouring);
/* The stream broke off, or the scale said overload. */
enum pouring_event pouring_gap(struct pouring *pouring, enum pouring_reason reason);
/* New steps after a rescue: the old ones first, in their order, then what is to be poured more. What was
 * poured stays. */
void pouring_replan(struct pouring *pouring, const struct pouring_item items[], size_t count);

/* Another plan before anything of it was poured, or other windows for the same one: where the pour stands it
 * goes on. */
void pouring_plan_anew(struct pouring *pouring, const struct pouring_item items[], size_t count);

/* The amount of the toner at hand by the last reading, poured before included. */
double pouring_amount(const struct pouring *pouring);
/* 0..1, 1 at the want: the bar's length. Near the window a gram moves it further: r = want - amount left to
 * pour, 1 - ln(1 + r/window) / ln(1 + want/window), so that a bar that grows evenly is a pour that slows
 * down. */
double pouring_bar(double want_g, double window_g, double amount_g);

#endif
