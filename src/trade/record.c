#include "trade/record.h"
#include "trade/plan_rules.h"

static const struct {
    enum record_part part;
    enum word word;
    struct rule rule;
} rows[] = {
#define RECORD(part, word, materials, damages, needs, unless) \
    {RECORD_##part, WORD_##word, {materials, damages, needs, unless}},
#include "trade/record.def"
#undef RECORD
};

size_t record_words(const struct plan *plan, enum record_part part, enum word out[RECORD_WORDS_MOST]) {
    size_t n = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && n < RECORD_WORDS_MOST; i++)
        if (rows[i].part == part &&
            rule_holds(&rows[i].rule, plan->material, plan->damages, plan->conditions))
            out[n++] = rows[i].word;
    return n;
}
