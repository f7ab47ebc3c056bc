/* What a stream of lines amounts to: the habits of this scale are learnt from what it sends. Pure.
 *
 * - A scale that says "stable" is still only while it says so; one that only ever says "moving" is still
 * while it does not. One that says neither is judged by its numbers alone (paint/pouring.h).
 * - Some scales send the unit only when they are still: once a unit was seen, a bare number is a moving
 * reading in that unit. A scale that never sends a unit is not guessed at: it needs a pattern.
 * - A tare value is not a reading. While net lines come, gross ones beside them are left out.
 * - Overload, underload and trouble count when two lines in a row say so: one such line may be noise. */
#ifndef RUSSET_DEVICE_SCALE_WATCH_H
#define RUSSET_DEVICE_SCALE_WATCH_H

#include "device/scale_line.h"

enum scale_news {
    NEWS_NONE,
    NEWS_READING,
    NEWS_OVERLOAD,
    NEWS_UNDERLOAD,
    NEWS_TROUBLE,
    NEWS_NO_MASS,  /* it counts pieces or shows per cent */
    NEWS_NO_UNIT,  /* numbers come, but never a unit: a pattern is needed (said once) */
    NEWS_NONSENSE, /* nothing that comes can be read: wrong speed, or a pattern is needed (said once) */
};

struct scale_watch {
    bool tells_stable, tells_moving, net;
    double unit_g; /* 0 until one was seen */
    enum scale_sort odd;
    int odd_in_row, gross_in_row, bare_in_row, nonsense_in_row;
};

struct scale_heard {
    enum scale_news news;
    double mass_g, step_g;
    bool told, still; /* told: this scale says whether it is still */
    bool tared;       /* it went from gross to net with this line */
};

/* Zero-initialise the watch. */
struct scale_heard scale_watch_line(struct scale_watch *watch, const struct scale_said *said);

#endif
