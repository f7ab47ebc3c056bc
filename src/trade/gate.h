/* The gate at first look: may this piece be worked on at all?
 *
 * Airbag: yes, no, unknown, and unknown stops. Nothing is glued, filled, coated or stitched over a deployment
 * seam or label; a part that is itself the airbag's lid is not worked on when there is one; belts and
 * pretensioners never. Aircraft and rail are declined. Where trim has to pass a fire test, the rating is
 * asked before anything is coated. Sources: vehicle makers' manuals (ignition off, battery off, wait), 49 USC
 * 30122 (no safety device made inoperative), FMVSS 302 for covers; that a hybrid's 12 V battery is not its
 * high-voltage procedure is common practice. The maker's manual goes before everything here. */
#ifndef RUSSET_TRADE_GATE_H
#define RUSSET_TRADE_GATE_H

#include "trade/piece.h"

enum airbag { AIRBAG_UNKNOWN, AIRBAG_NO, AIRBAG_YES };
enum fire_rating { FIRE_NOT_ASKED, FIRE_NONE_NEEDED, FIRE_NEEDED /* and the products are rated for it */ };

struct gate_case {
    enum craft craft;
    enum place_of_work place;
    enum airbag airbag;
    enum fire_rating fire;
};

enum gate_answer {
    GATE_OPEN,
    GATE_ASK /* looked at and quoted, not coated before it is answered */,
    GATE_STOP
};

enum { GATE_WORDS_MOST = 12 };
struct gate {
    enum gate_answer answer;
    size_t count;                    /* reasons first, then cautions */
    enum word word[GATE_WORDS_MOST]; /* sentences that explain the answer, most important first */
    bool airbag_near;                /* work goes on beside an airbag: the plan begins with its steps */
    bool high_voltage;
};

void gate_judge(const struct gate_case *in, struct gate *out);

/* "yes" | "no" | "unknown"; "" and NULL are unknown. */
bool airbag_read(const char *text, enum airbag *out);
const char *airbag_text(enum airbag airbag);

#endif
