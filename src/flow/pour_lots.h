/* What the shop's shelf has for a pour (part of flow/pour_flow): out of which lots each toner comes, and what
 * does not suffice. */
#ifndef RUSSET_FLOW_POUR_LOTS_H
#define RUSSET_FLOW_POUR_LOTS_H

#include "flow/operation.h"
#include "paint/pour.h"
#include "shop/lot_choice.h"

struct pour_lots {
    bool known;  /* a shop was looked at */
    bool rescue; /* for the pours of a rescue, not for the rest of the plan */
    struct fault
        closed; /* why it could not be, though nobody named it; no text: it could, or there is none */
    size_t count;
    struct toner_lots {
        const char *toner;
        double in_g, need_g; /* in the cup, which the book does not know yet; still to be poured */
        bool kept;           /* the shop's shelf knows the toner */
        long long stock_mg, warn_mg;
        struct lot_choice choice;
    } of[RECIPE_TONERS_MOST];
};

/* The shop of the request or the surroundings, else the usual one when there is one. Only a shop that was
 * named and cannot be read ends the pour. */
enum status pour_lots_find(const struct surroundings *around, const struct request *request,
                           const struct pour_task *task, const struct pour_plan *plan, struct pour_lots *out,
                           struct fault *fault) MUST_USE;
/* The same for what a rescue adds (grams by toner of the recipe, let-downs by what is in them). */
enum status pour_lots_for_rescue(const struct surroundings *around, const struct request *request,
                                 const struct pour_task *task, const struct pour_state *state,
                                 const double add_g[], struct pour_lots *out, struct fault *fault) MUST_USE;
/* "lot W-1", "lots W-1, W-2"; NULL when there is none to name. In the arena. */
const char *pour_lots_name(const struct pour_lots *lots, const char *toner, struct arena *arena);
/* Grams that the lots of a toner still hold once in_g of it are in the cup; false where nobody knows. */
bool pour_lots_left(const struct pour_lots *lots, const char *toner, double in_g, double *left_g);
/* `lots`, the `lot` of each step, and what must be said. */
void pour_lots_put(const struct pour_lots *lots, struct arena *arena, json_t *reply);

#endif
