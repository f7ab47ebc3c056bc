/* What the handover record tells the customer about a piece: what to expect (better, not new), how to care
 * for it, what to mind. Table: record.def; CP, in our words. The guarantee per kind of work is that of its
 * tasks (tasks.def), the cure is plan->cure_days (words CURE_UNTIL). */
#ifndef RUSSET_TRADE_RECORD_H
#define RUSSET_TRADE_RECORD_H

#include "trade/plan.h"

enum record_part { RECORD_EXPECT, RECORD_CARE, RECORD_CAUTION };
enum { RECORD_WORDS_MOST = 16 };

/* The sentences of one part, most important first. Returns how many. */
size_t record_words(const struct plan *plan, enum record_part part, enum word out[RECORD_WORDS_MOST]);

#endif
