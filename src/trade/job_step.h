/* The steps of a job, in the order of the bench: the one list of them. The plan, the book, `job log --step`
 * and the sentence that lists them are made from it. What SQL and the page must say once more stands in
 * CONTRIBUTING.md; shop_store_test and tools/check-house compare. */
#ifndef RUSSET_TRADE_JOB_STEP_H
#define RUSSET_TRADE_JOB_STEP_H

#include <stdbool.h>

/* first(SYMBOL, "name") for the first step, more(SYMBOL, "name") for each that follows. */
/* clang-format off */
#define JOB_STEP_TABLE(first, more) \
    first(LOOK, "look") \
    more(QUOTE, "quote") \
    more(PREPARE, "prepare") \
    more(COLOUR, "colour") \
    more(RECIPE, "recipe") \
    more(POUR, "pour") \
    more(DABS, "dabs") \
    more(COATS, "coats") \
    more(GRAIN, "grain") \
    more(SHEEN, "sheen") \
    more(CHECK, "check") \
    more(HANDOVER, "handover")
/* clang-format on */

#define JOB_STEP_SYMBOL(symbol, name) JOB_##symbol,
enum job_step { JOB_STEP_TABLE(JOB_STEP_SYMBOL, JOB_STEP_SYMBOL) JOB_STEPS };

#define JOB_STEP_FIRST(symbol, name) name
#define JOB_STEP_BAR(symbol, name) "|" name
#define JOB_STEP_COMMA(symbol, name) ", " name
#define JOB_STEP_CHOICE JOB_STEP_TABLE(JOB_STEP_FIRST, JOB_STEP_BAR) /* "look|quote|..." */
#define JOB_STEP_LIST JOB_STEP_TABLE(JOB_STEP_FIRST, JOB_STEP_COMMA) /* "look, quote, ..." */

const char *job_step_name(enum job_step step);
bool job_step_from_name(const char *name, enum job_step *out);

#endif
