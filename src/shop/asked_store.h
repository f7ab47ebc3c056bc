/* Requests that carry a key (struct book_how, asked): the first transaction that the book ends for such a
 * request keeps the key with what was made, so that the same request, sent again because its answer was
 * lost, makes nothing twice: book_begin then says BOOK_ASKED. */
#ifndef RUSSET_SHOP_ASKED_STORE_H
#define RUSSET_SHOP_ASKED_STORE_H

#include "shop/book.h"

enum { ASKED_KEY_LEAST = 16, ASKED_KEY_MOST = 64, ASKED_DAYS = 30 };
bool asked_key_is_good(const char *key); /* letters, digits and '-' */

struct asked_row {
    char made[ID_LENGTH + 1]; /* key of the numbered row that was made last; "" for none */
    long long number;         /* 0: none */
};
/* Whether that request was carried out. */
enum status asked_store_get(struct book *book, const char *key, struct asked_row *out, bool *found,
                            struct fault *fault) MUST_USE;

/* For book_begin and the stores of numbered rows; nothing happens when the request has no key. */
enum status asked_store_keep(struct book *book, const char *key, struct fault *fault) MUST_USE;
enum status asked_store_made(struct book *book, const char *id, long long number,
                             struct fault *fault) MUST_USE;

#endif
