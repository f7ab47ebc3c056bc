/* Forgetting a customer. What was done and what it was made of stays (readings, recipes, pots, quotes,
 * invoices with their numbers); who it was for goes: name, telephone, e-mail, address, free words of the
 * customer's jobs, photographs and thumbnails. In quotes, invoices and handover twins the object under
 * "customer" becomes a pseudonym, and a document that carries a digest is sealed anew. The whole name, the
 * telephone, the e-mail address and the lines of the address are also looked for in every other row of the
 * book. A tombstone keeps the key, so that no import and no restored backup brings the customer back. */
#ifndef RUSSET_SHOP_ERASE_H
#define RUSSET_SHOP_ERASE_H

#include "shop/book.h"

struct erasure {
    size_t rows, photographs;
    bool owed; /* another program was reading: free pages and log are cleared by the next one */
};
/* The whole of it, in its own transaction, and the scrub afterwards. id: of a customer that is there; one
 * that was erased before is scrubbed again. */
enum status erase_customer(struct book *book, const char *id, struct erasure *out,
                           struct fault *fault) MUST_USE;

/* With the pen: the rows alone; scrub_owe is called. For imports and restores: every customer that has a
 * tombstone and is still known. */
enum status erase_rows(struct book *book, const char *id, struct erasure *out, struct fault *fault) MUST_USE;
enum status erase_tombstoned(struct book *book, struct erasure *out, struct fault *fault) MUST_USE;
/* Puts a tombstone for a key, whether or not the customer is here. With the pen. */
enum status erase_bury(struct book *book, const char *id, struct fault *fault) MUST_USE;

#endif
