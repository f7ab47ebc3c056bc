/* Customers. Texts live in the arena that was given; "" where nothing is known. */
#ifndef RUSSET_SHOP_CUSTOMER_STORE_H
#define RUSSET_SHOP_CUSTOMER_STORE_H

#include "shop/book.h"

struct customer_row {
    char id[ID_LENGTH + 1];
    const char *name, *telephone, *email, *address, *words;
    bool trade;
    const char *price_list; /* NULL for none */
    const char *about;      /* a JSON object; NULL is {} */
    long long created_ms, changed_ms;
    long long erased_ms; /* 0 while the customer is known */
};

/* Fills id (unless one is given) and times. With the pen. */
enum status customer_store_add(struct book *book, struct customer_row *customer,
                               struct fault *fault) MUST_USE;
/* All but id, created_ms and erased_ms. An erased customer stays erased: INPUT. */
enum status customer_store_change(struct book *book, struct customer_row *customer,
                                  struct fault *fault) MUST_USE;
/* By id, by the beginning of an id (8 or more of its signs), or by the whole name when only one has it. INPUT
 * when there is none or more than one. */
enum status customer_store_find(struct book *book, const char *text, struct arena *arena,
                                struct customer_row *out, struct fault *fault) MUST_USE;
/* By name; without the erased ones. words: in the name (ASCII letters of either case), NULL: any; most 0:
 * all. */
enum status customer_store_list(struct book *book, const char *words, size_t most, struct arena *arena,
                                struct customer_row **out, size_t *count, struct fault *fault) MUST_USE;

#endif
