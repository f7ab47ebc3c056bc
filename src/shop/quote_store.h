/* Quotes. A quote that was accepted is frozen, by the book itself. Numbers of our own have no gap. Texts live
 * in the arena that was given. */
#ifndef RUSSET_SHOP_QUOTE_STORE_H
#define RUSSET_SHOP_QUOTE_STORE_H

#include "shop/book.h"

struct quote_row {
    char id[ID_LENGTH + 1];
    const char *job;
    const char *origin; /* the book that gave the number; NULL on adding is ours */
    const char *series; /* NULL is "" */
    long long number;   /* quote_store_next, in the same transaction */
    const char *state;  /* open, accepted, declined, replaced; not read when adding: open */
    const char *currency;
    long long total_minor;
    const char *document;
    const char *replaces; /* an earlier quote of the job, which becomes "replaced" unless it is accepted */
    long long made_ms, accepted_ms, changed_ms; /* accepted_ms 0 until then */
    const char *zone;
};

/* The number that the next quote of ours takes. With the pen. */
enum status quote_store_next(struct book *book, const char *series, long long *number,
                             struct fault *fault) MUST_USE;
enum status quote_store_add(struct book *book, struct quote_row *quote, struct fault *fault) MUST_USE;
/* "accepted" or "declined". With the pen. */
enum status quote_store_settle(struct book *book, const char *id, const char *state,
                               struct fault *fault) MUST_USE;
enum status quote_store_get(struct book *book, const char *id, struct arena *arena, struct quote_row *out,
                            struct fault *fault) MUST_USE;
/* Of a job, oldest first. */
enum status quote_store_list(struct book *book, const char *job, struct arena *arena, struct quote_row **out,
                             size_t *count, struct fault *fault) MUST_USE;

#endif
