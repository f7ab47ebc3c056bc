/* The ring: small dabs around a pot, to be coated and held to the part in daylight. Each dab is a little of
 * the pot with a pinch of toner; the person names the nearest, or two between which the part lies, and the
 * pot is brought to where the part then most likely is: the dabs' mixes are known, so no instrument is
 * needed.
 *
 * What is likely (ring_guess.h): at first as far as the shelf is unsure of the pot, and as the usual error of
 * a pot; then what all answers so far leave of it. The dabs of each ring are laid where their answer is
 * expected to leave least to guess (ring_direction.h). Dab 0 is the pot as it is. */
#ifndef RUSSET_PAINT_RING_H
#define RUSSET_PAINT_RING_H

#include "paint/adjust.h"
#include "paint/ring_guess.h"

enum { RING_HEARD_MOST = 8 };
#define RING_LET_DOWN 0.1 /* of a let-down is toner */

struct dab {
    char says[40]; /* "lighter", "bluer", "as it is" */
    size_t count;
    struct addition addition[ADJUST_ADDITIONS_MOST]; /* into pot_g of the pot; grams of the toner itself */
    /* A pinch that the scale cannot weigh is poured as a let-down, 1 to 9 in binder: ten times its grams, and
     * its binder, comes_g of all of them, stands among the additions. */
    bool let_down[ADJUST_ADDITIONS_MOST];
    double comes_g;
    double pot_g;
    struct spectrum reflectance; /* predicted */
    struct lab lab;              /* D65/10 */
    double de00;                 /* from dab 0 */
    double doubt;                /* sd of where it really lies, dE00: the scale, and lots that drift */
};

struct ring {
    size_t count;
    struct dab dab[RING_DABS_MOST];
    double spends_g; /* all that the dabs take from the pot */
};

/* What the rings before this one were answered, oldest first. */
struct ring_story {
    const struct heard *heard;
    size_t count;
};

/* task as for adjust_run without a target: dabs of about dab_g. step: 0, or how far (dE00, D65/10) the
 * farthest dab shall lie from the pot. */
enum status ring_run(const struct adjust_task *task, double dab_g, double step, struct ring_story story,
                     struct work *work, struct arena *arena, struct ring *out, struct fault *fault) MUST_USE;

struct ring_answer {
    size_t count;
    struct addition addition[ADJUST_ADDITIONS_MOST]; /* to what is left: the task's pot less taken_g */
    struct heard heard;                              /* for the next ring's story */
    double rest_de00; /* root mean square of what the part may still be off then */
};

enum status ring_hear(const struct adjust_task *task, const struct ring *ring, struct ring_story story,
                      const int *nearest, size_t count, struct work *work, struct arena *arena,
                      struct ring_answer *out, struct fault *fault) MUST_USE;

#endif
