/* What a pour or an addition that is logged does to its pot and to the stock, and what is given back when its
 * entry is put right. All with the pen. */
#ifndef RUSSET_FLOW_POT_POUR_H
#define RUSSET_FLOW_POT_POUR_H

#include "shop/job_store.h"
#include "shop/pot_store.h"
#include <jansson.h>

struct pot_desk {
    struct book *book;
    struct arena *arena;
    json_t *low;       /* a list: toners that are running out */
    json_t *said;      /* an object whose notes ride along with the reply */
    const char *entry; /* that is being logged */
};

/* Every {toner, g} of the list goes into the pot. The stock falls, out of which lots shop/lot_choice.h says;
 * expired and frozen ones are said. What the book has in no lot is poured all the same, without a lot, and
 * said. */
enum status pot_pour_list(struct pot_desk *desk, const char *pot, const json_t *list,
                          struct fault *fault) MUST_USE;

/* The pot of the entry that is replaced is taken back: its stock returns. *old->id stays empty when that
 * entry had no pot; what it had poured into another one (a correction) then returns. */
enum status pot_take_back(struct pot_desk *desk, const char *replaced, struct pot_row *old,
                          struct fault *fault) MUST_USE;
/* It is the same cup under its right name: what went in after its first pour, and what happened to it, is of
 * the new pot. *added: something went in. */
enum status pot_carry(struct pot_desk *desk, const struct pot_row *old, const char *pot, bool *added,
                      struct fault *fault) MUST_USE;

/* INPUT for a pot that was emptied or taken back. */
enum status pot_is_there(const struct pot_row *pot, struct fault *fault) MUST_USE;

#endif
