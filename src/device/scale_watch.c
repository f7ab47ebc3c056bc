#include "device/scale_watch.h"

enum { ODD_NEEDED = 2, GROSS_NEEDED = 4, BARE_NEEDED = 20, NONSENSE_NEEDED = 40 };

static enum scale_news news_of(enum scale_sort sort) {
    switch (sort) {
    case SCALE_OVERLOAD:
        return NEWS_OVERLOAD;
    case SCALE_UNDERLOAD:
        return NEWS_UNDERLOAD;
    case SCALE_TROUBLE:
        return NEWS_TROUBLE;
    case SCALE_NO_MASS:
        return NEWS_NO_MASS;
    case SCALE_NONSENSE:
    case SCALE_WEIGHT:
        return NEWS_NONE;
    }
    return NEWS_NONE;
}

static struct scale_heard hear_odd(struct scale_watch *watch, enum scale_sort sort) {
    watch->odd_in_row = watch->odd == sort ? watch->odd_in_row + 1 : 1;
    watch->odd = sort;
    return (struct scale_heard){.news = watch->odd_in_row >= ODD_NEEDED ? news_of(sort) : NEWS_NONE};
}

static struct scale_heard hear_nonsense(struct scale_watch *watch) {
    return (struct scale_heard){.news =
                                    ++watch->nonsense_in_row == NONSENSE_NEEDED ? NEWS_NONSENSE : NEWS_NONE};
}

/* Net beside gross: the gross line of a pair is left out, until only gross lines come. */
static bool left_out(struct scale_watch *watch, enum scale_net net, bool *tared) {
    *tared = false;
    if (net == NET_TARE) return true;
    if (net == NET_NET) {
        *tared = !watch->net && watch->gross_in_row > 0;
        watch->net = true;
        watch->gross_in_row = 0;
    }
    if (net != NET_GROSS) return false;
    if (++watch->gross_in_row >= GROSS_NEEDED) watch->net = false;
    return watch->net;
}

static struct scale_heard hear_bare(struct scale_watch *watch, const struct scale_said *said) {
    if (watch->unit_g <= 0)
        return (struct scale_heard){.news = ++watch->bare_in_row == BARE_NEEDED ? NEWS_NO_UNIT : NEWS_NONE};
    return (struct scale_heard){.news = NEWS_READING,
                                .mass_g = said->mass_g * watch->unit_g,
                                .step_g = said->step_g * watch->unit_g,
                                .told = true};
}

struct scale_heard scale_watch_line(struct scale_watch *watch, const struct scale_said *said) {
    if (said->sort == SCALE_NONSENSE) return hear_nonsense(watch);
    watch->nonsense_in_row = 0;
    if (said->sort != SCALE_WEIGHT) return hear_odd(watch, said->sort);
    watch->odd_in_row = 0;
    bool tared;
    if (left_out(watch, said->net, &tared)) return (struct scale_heard){.news = NEWS_NONE};
    if (said->motion == MOTION_STABLE) watch->tells_stable = true;
    if (said->motion == MOTION_MOVING) watch->tells_moving = true;
    if (!said->has_unit) return hear_bare(watch, said);
    watch->unit_g = said->unit_g;
    const bool still =
        said->motion == MOTION_STABLE || (said->motion == MOTION_UNTOLD && !watch->tells_stable);
    return (struct scale_heard){.news = NEWS_READING,
                                .mass_g = said->mass_g,
                                .step_g = said->step_g,
                                .told = watch->tells_stable || watch->tells_moving,
                                .still = still,
                                .tared = tared};
}
