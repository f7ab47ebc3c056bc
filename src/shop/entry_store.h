/* The memory of a job: entries are added and never changed; a later one may say that it replaces an earlier
 * one. Texts live in the arena that was given. */
#ifndef RUSSET_SHOP_ENTRY_STORE_H
#define RUSSET_SHOP_ENTRY_STORE_H

#include "shop/photographs.h"
#include "trade/job_step.h"
#include <jansson.h>

struct entry_row {
    char id[ID_LENGTH + 1];
    const char *job, *piece, *colour; /* piece and colour may be NULL */
    enum job_step step;
    const char *kind; /* of the document, or of our own: "note" ... */
    const char *words;
    const char *document; /* JSON, one line (shop/document.h); NULL on adding is {} */
    const char *replaces; /* NULL for none */
    long long at_ms;
    const char *zone; /* NULL on adding is the book's */
    size_t photograph_count;
    const char *const *photograph; /* SHA-256 */
};

/* Fills id, zone and time where they are left out; the photographs must have been kept. With the pen. */
enum status entry_store_add(struct book *book, struct entry_row *entry, struct fault *fault) MUST_USE;
/* By key or the beginning of one; INPUT when there is none or more than one. */
enum status entry_store_get(struct book *book, const char *id, struct arena *arena, struct entry_row *out,
                            struct fault *fault) MUST_USE;

struct entry_filter {
    const char *job, *piece, *colour, *kind; /* NULL: any */
    const enum job_step *step;               /* NULL: any */
    bool with_replaced;                      /* also those that a later entry replaces */
};
/* In the order they were logged. */
enum status entry_store_list(struct book *book, struct entry_filter filter, struct arena *arena,
                             struct entry_row **out, size_t *count, struct fault *fault) MUST_USE;
/* What stands in the steps of a job: each step, kind and colour once, without the documents. */
struct entry_mark {
    enum job_step step;
    const char *kind, *colour; /* colour NULL for none */
};
enum status entry_store_marks(struct book *book, const char *job, struct arena *arena,
                              struct entry_mark **out, size_t *count, struct fault *fault) MUST_USE;
/* The newest one that fits; *found tells whether there is one. */
enum status entry_store_last(struct book *book, struct entry_filter filter, struct arena *arena,
                             struct entry_row *out, bool *found, struct fault *fault) MUST_USE;

#endif
