/* Which cautions go with a piece of work. The facts behind them are in docs/pour.md; each defers to the
 * product's safety data sheet. */
#ifndef RUSSET_TRADE_CAUTIONS_H
#define RUSSET_TRADE_CAUTIONS_H

#include "base/fault.h"
#include <stdbool.h>

enum { CAUTIONS_MOST = 12 };

enum crosslinker { CROSSLINKER_NONE, CROSSLINKER_UNKNOWN, CROSSLINKER_ISOCYANATE, CROSSLINKER_AZIRIDINE };

struct pour_work {
    bool thinned;
    enum crosslinker crosslinker;
};

/* The cautions of pouring and of what is done to the pot afterwards, most important first. Returns how many.
 */
size_t cautions_of_pour(const struct pour_work *work, enum word out[CAUTIONS_MOST]);

#endif
