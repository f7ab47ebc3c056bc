/* Out of which lots a pour comes: the one rule for what is named at the scale and what falls when it is
 * logged.
 *
 * One lot that holds all of it, the one that expires first; else several are emptied in that order. Lots that
 * have expired or were frozen come last: they are used up only where nothing else is there. */
#ifndef RUSSET_SHOP_LOT_CHOICE_H
#define RUSSET_SHOP_LOT_CHOICE_H

#include "shop/toner_store.h"

struct lot_share {
    struct lot_row lot;
    long long mg;
    bool expired, frozen;
};
struct lot_choice {
    struct lot_share *share; /* in the arena */
    size_t count;
    long long short_mg; /* more than the lots in the book hold */
    bool any;           /* the toner has a lot at all */
};
/* Of so much of a toner; nothing is moved. */
enum status lot_choose(struct book *book, const char *toner, long long mg, struct arena *arena,
                       struct lot_choice *out, struct fault *fault) MUST_USE;

#endif
