/* Repeats: several readings of one spot become one, and those that do not belong are left out by name.
 *
 * The middle is the median band by band (of L, a, b where there are no spectra). A repeat is left out when it
 * lies farther from the middle than repeats_floor_de00 and than a multiple of the median distance that is
 * wider for few repeats (repeats.c); at least half of the repeats, and at least two of three, always stay.
 * With one or two nothing can be told and all stay. */
#ifndef RUSSET_COLOUR_REPEATS_H
#define RUSSET_COLOUR_REPEATS_H

#include "base/memory.h"
#include "colour/difference.h"
#include "colour/reading.h"

enum repeat_why { REPEAT_LIGHTER, REPEAT_DARKER, REPEAT_OTHER_COLOUR };

struct repeat_rejected {
    size_t index; /* among the readings handed in */
    double de00;  /* to the mean of the kept ones, D65/10 */
    enum repeat_why why;
    double by; /* how much lighter or darker in L*, or how far in a*b* */
};

struct repeats {
    struct reading mean; /* of the kept ones; id of the first kept */
    size_t kept;
    double mean_de00, max_de00; /* of the kept ones to their mean; 0 for a single one */
    size_t rejected_count;
    struct repeat_rejected *rejected; /* the arena's */
};

/* count >= 1. The geometry is the one that any of them says. INPUT: geometries that differ, spectra mixed
 * with Lab-only readings, readings so far apart (more than half of them over repeats_far_de00 from the
 * middle) that they are no repeats of one spot. */
enum status repeats_mean(const struct reading *reading, size_t count, struct arena *arena,
                         struct repeats *out, struct fault *fault) MUST_USE;

extern const double repeats_floor_de00; /* within this a repeat is never left out */
extern const double repeats_far_de00;   /* over this they are no repeats */
extern const double repeats_wide_de00;  /* a mean distance over this deserves a word */

#endif
