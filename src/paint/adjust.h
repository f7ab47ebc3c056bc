/* Correction of a pot: what to add, never to take away.
 *
 * The shelf is first corrected by the test cards of this pot (calibrate.h). What is left of the pot then
 * stands among the toners as one more toner that must be in the recipe with at least (what is left) / (the
 * pot's limit); the match (match.h) finds the additions, and they are searched on the scale's grid with the
 * exact mix. What the corrected model still misses of the last card is carried to the target: the pot is
 * asked to become T R(model) / R(measured), band by band. */
#ifndef RUSSET_PAINT_ADJUST_H
#define RUSSET_PAINT_ADJUST_H

#include "paint/calibrate.h"
#include "paint/match.h"

enum { ADJUST_ADDITIONS_MOST = 5 };

struct adjust_task {
    struct match_task
        match; /* shelf, target, film, lights, scale step, exclude; its bounds and batch are set here */
    const double *pot_g;     /* [shelf count] weighed in since the pot was begun */
    double taken_g;          /* left the pot for dabs and coats */
    size_t additions_most;   /* toners that may be added at once; 0: up to four */
    double pot_limit_g;      /* what it may weigh at the end */
    const struct card *card; /* test cards of this pot, oldest first; card[].lot is not used. May be empty */
    size_t cards;
    double tolerance;    /* dE00 under the first light that is good enough */
    double refined_part; /* what is inside the tolerance as it is gets so much of its weight more at most; 0:
                            as much as the pot holds */
    double volume_costs; /* dE00 that an addition as heavy as the pot may cost; 0: the usual .15 */
    struct doubt doubt;
};

struct addition {
    int toner;
    double mass_g;
    double window_g; /* so much more or less moves the pot by at most ADJUST_WINDOW; never under half a step
                        of the scale */
};
#define ADJUST_REFINED 0.10 /* refined_part where a person is told what to add (common practice) */
#define ADJUST_WINDOW 0.15  /* dE00 under the first light */

struct adjust_result {
    size_t count; /* 0: nothing to add */
    struct addition addition[ADJUST_ADDITIONS_MOST];
    double remains_g, total_g;   /* before and after */
    double de00_now, de00_after; /* first light: now as measured (or as the model says, without a card), then
                                    as the model says */
    double de00_after_p95;       /* with what is unsure of strengths and film */
    bool reaches;                /* de00_after <= tolerance */
    double start_over_g; /* keep only this much of the pot and the target comes inside the limit; 0: none;
                            NAN: no need */
    size_t fresh_count;  /* with start_over_g: the additions to that much */
    struct addition fresh[ADJUST_ADDITIONS_MOST];
    double fresh_de00;
    int lacks;        /* a toner that a fresh recipe takes and these additions cannot use to the end, or -1 */
    struct lab error; /* L, a, b of what is still missing (target - after) under the first light */
    struct spectrum now, after;    /* as they will read */
    struct lab now_lab, after_lab; /* first light */
};

/* INPUT when the pot is empty, more was taken than was weighed in, or the limit is under what is left. */
enum status adjust_run(const struct adjust_task *task, struct work *work, struct arena *arena,
                       struct adjust_result *out, struct fault *fault) MUST_USE;

/* What is left of each toner: pot_g (1 - taken / sum). Returns the sum. */
double adjust_remains(const double pot_g[], size_t count, double taken_g, double out_g[]);

#endif
