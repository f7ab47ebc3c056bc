/* Where the shop is, and opening its book for an operation that has ARGUMENTS_OF_A_SHOP. */
#ifndef RUSSET_FLOW_SHOP_PLACE_H
#define RUSSET_FLOW_SHOP_PLACE_H

#include "flow/operation.h"
#include "shop/book.h"

/* The surroundings' own, else --shop, else $RUSSET_SHOP, else $XDG_DATA_HOME/russet, else
 * $HOME/.local/share/russet. */
enum status shop_place(const struct surroundings *around, const struct request *request, const char **dir,
                       struct fault *fault) MUST_USE;
/* How a book is opened here: this disk, these ids, and --now as its clock when it is given. */
enum status shop_how(const struct surroundings *around, const struct request *request, struct book_how *how,
                     struct fault *fault) MUST_USE;
/* Both, and opens. */
enum status shop_open(const struct surroundings *around, const struct request *request, struct book **book,
                      struct fault *fault) MUST_USE;
/* The same, but no shop is no fault where nobody named one: *book is NULL then. */
enum status shop_open_if_there(const struct surroundings *around, const struct request *request,
                               struct book **book, struct fault *fault) MUST_USE;
/* The clock of the request: --now when it is given, else the surroundings'. */
enum status shop_clock(const struct surroundings *around, const struct request *request,
                       struct wall_clock *clock, struct fault *fault) MUST_USE;

/* Is it a day like 2026-12-04? NULL is fine. name: of the option, for the sentence. */
enum status shop_day_check(const char *name, const char *day, struct fault *fault) MUST_USE;

#endif
