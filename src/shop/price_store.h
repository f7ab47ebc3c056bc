/* Price lists; a price is never changed, a later one takes its place. Money is minor units of the list's
 * currency. Texts live in the arena that was given. */
#ifndef RUSSET_SHOP_PRICE_STORE_H
#define RUSSET_SHOP_PRICE_STORE_H

#include "shop/book.h"

struct price_list_row {
    char id[ID_LENGTH + 1];
    const char *name, *currency, *words, *about;
    long long created_ms, changed_ms;
};
enum status price_store_add_list(struct book *book, struct price_list_row *list,
                                 struct fault *fault) MUST_USE;
enum status price_store_change_list(struct book *book, struct price_list_row *list,
                                    struct fault *fault) MUST_USE;
/* By id, the beginning of an id, or name. */
enum status price_store_find_list(struct book *book, const char *text, struct arena *arena,
                                  struct price_list_row *out, struct fault *fault) MUST_USE;
enum status price_store_lists(struct book *book, struct arena *arena, struct price_list_row **out,
                              size_t *count, struct fault *fault) MUST_USE;

struct price_row {
    char id[ID_LENGTH + 1];
    const char *list, *item, *unit; /* unit: what one of it is: "h", "m2", "km", "" */
    long long minor;
    const char *from_day; /* YYYY-MM-DD; it holds from that day */
    const char *words;
    long long at_ms;
};
enum status price_store_add(struct book *book, struct price_row *price, struct fault *fault) MUST_USE;
/* The prices that hold on a day: of each item the one with the latest from_day not after it, the last said of
 * those. */
enum status price_store_on(struct book *book, const char *list, const char *day, struct arena *arena,
                           struct price_row **out, size_t *count, struct fault *fault) MUST_USE;

/* When each item of a list was spoken of last, whatever day its price holds from. */
struct price_said {
    const char *item;
    long long at_ms;
};
enum status price_store_said(struct book *book, const char *list, struct arena *arena,
                             struct price_said **out, size_t *count, struct fault *fault) MUST_USE;

#endif
