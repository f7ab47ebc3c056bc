/* The ring: small dabs around a pot, to be coated and held to the part in daylight. Each dab is a little of
 * the pot with a pinch of toner; the person names the nearest, or two between which the part lies, and the
 * pot is brought there: the dab's mix is known, so no instrument is needed.
 *
 * Directions of a first ring: both ways along three axes that are square to each other as the eye measures
 * (ring_direction.h). A second ring, told which way the first one went, lies across that way: what is still
 * off lies mostly there. Dab 0 is the pot as it is.
 */
#ifndef RUSSET_PAINT_RING_H
#define RUSSET_PAINT_RING_H

#include "paint/adjust.h"

enum { RING_DABS_MOST = 8 };

struct dab {
    char says[40]; /* "lighter", "bluer", "as it is" */
    size_t count;
    struct addition addition[ADJUST_ADDITIONS_MOST]; /* into pot_g of the pot */
    double pot_g;
    struct spectrum reflectance; /* predicted */
    struct lab lab;              /* D65/10 */
    double de00;                 /* from dab 0 */
};

struct ring {
    size_t count;
    struct dab dab[RING_DABS_MOST];
    double spends_g; /* all that the dabs take from the pot */
};

/* task as for adjust_run without a target: dabs of about dab_g that differ from the pot by radius dE00
 * (D65/10). along: the Lab direction in which the last ring's answer moved the pot, or NULL for a first ring.
 */
enum status ring_run(const struct adjust_task *task, double dab_g, double radius, const double along[3],
                     struct work *work, struct arena *arena, struct ring *out, struct fault *fault) MUST_USE;

/* The additions to what is left (the task's pot less taken_g) that make all of it the named dab, or the
 * middle of two or more. */
enum status ring_answer(const struct adjust_task *task, const struct ring *ring, const int *nearest,
                        size_t count, struct addition out[ADJUST_ADDITIONS_MOST * 2], size_t *additions,
                        struct fault *fault) MUST_USE;

#endif
