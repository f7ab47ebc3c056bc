#include "trade/gate.h"
#include <string.h>

static void say(struct gate *gate, enum gate_answer at_least, enum word word) {
    if (gate->answer < at_least) gate->answer = at_least;
    if (gate->count < GATE_WORDS_MOST) gate->word[gate->count++] = word;
}

static void judge_airbag(const struct gate_case *in, unsigned place, struct gate *gate) {
    if (in->airbag == AIRBAG_UNKNOWN) {
        say(gate, GATE_STOP, WORD_GATE_AIRBAG_UNKNOWN);
    } else if (in->airbag == AIRBAG_YES && (place & TRAIT_COVER)) {
        say(gate, GATE_STOP, WORD_GATE_AIRBAG_LID);
    } else if (in->airbag == AIRBAG_YES) {
        gate->airbag_near = true;
        say(gate, GATE_OPEN, WORD_GATE_AIRBAG_MANUAL);
        say(gate, GATE_OPEN, WORD_GATE_AIRBAG_SEAM);
        say(gate, GATE_OPEN, WORD_GATE_AIRBAG_HEAT);
    }
}

void gate_judge(const struct gate_case *in, struct gate *out) {
    const unsigned craft = craft_traits(in->craft), place = place_of_work_traits(in->place);
    struct gate gate = {.answer = GATE_OPEN};
    if (craft & TRAIT_DECLINED) say(&gate, GATE_STOP, WORD_GATE_CRAFT_DECLINED);
    if (place & TRAIT_NEVER_COATED)
        say(&gate, GATE_STOP, in->place == PLACE_CHILD_SEAT ? WORD_GATE_CHILD_SEAT : WORD_GATE_BELT);
    /* An airbag that is known counts wherever it is; one that is not known counts where there may be one. */
    const bool may_hold_one = (craft & TRAIT_AIRBAGS) && (place & TRAIT_AIRBAGS);
    if (may_hold_one || in->airbag == AIRBAG_YES) judge_airbag(in, place, &gate);
    if ((craft & TRAIT_FIRE_RATED) && in->fire == FIRE_NOT_ASKED) say(&gate, GATE_ASK, WORD_GATE_FIRE_ASK);
    if (in->fire == FIRE_NEEDED) say(&gate, GATE_OPEN, WORD_GATE_FIRE_RATED);
    gate.high_voltage = (craft & TRAIT_HIGH_VOLTAGE) != 0;
    if (gate.high_voltage) say(&gate, GATE_OPEN, WORD_GATE_HIGH_VOLTAGE);
    if (may_hold_one && (place & TRAIT_TOUCHED) && in->airbag != AIRBAG_UNKNOWN)
        say(&gate, GATE_OPEN, WORD_GATE_SENSORS);
    *out = gate;
}

static const char *const airbag_texts[] = {"unknown", "no", "yes"};

bool airbag_read(const char *text, enum airbag *out) {
    if (!text || !*text) return *out = AIRBAG_UNKNOWN, true;
    for (int i = 0; i < 3; i++)
        if (strcmp(text, airbag_texts[i]) == 0) return *out = (enum airbag)i, true;
    return false;
}

const char *airbag_text(enum airbag airbag) {
    return airbag_texts[airbag];
}
