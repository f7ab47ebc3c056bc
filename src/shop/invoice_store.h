/* Invoices. One is never changed and never deleted; a wrong one is cancelled by another. Numbers of our own
 * have no gap: the book refuses any but the next. Texts live in the arena that was given.
 *
 *     book_begin; invoice_store_next(book, series, &number); ... make the document with it ...
 *     invoice_store_add(book, &invoice); book_end */
#ifndef RUSSET_SHOP_INVOICE_STORE_H
#define RUSSET_SHOP_INVOICE_STORE_H

#include "shop/book.h"

struct invoice_row {
    char id[ID_LENGTH + 1];
    const char *job, *quote; /* quote NULL for none */
    const char *origin;      /* the book that gave the number; NULL on adding is ours */
    const char *series;      /* NULL is "" */
    long long number;
    const char *issued_day; /* YYYY-MM-DD */
    const char *currency;
    long long total_minor;
    const char *document;
    const char *cancels; /* the invoice that this one cancels; NULL for none */
    long long made_ms;
    const char *zone;
};

enum status invoice_store_next(struct book *book, const char *series, long long *number,
                               struct fault *fault) MUST_USE;
enum status invoice_store_add(struct book *book, struct invoice_row *invoice, struct fault *fault) MUST_USE;
enum status invoice_store_get(struct book *book, const char *id, struct arena *arena, struct invoice_row *out,
                              struct fault *fault) MUST_USE;
/* Of a job (NULL: all), by series and number. */
enum status invoice_store_list(struct book *book, const char *job, struct arena *arena,
                               struct invoice_row **out, size_t *count, struct fault *fault) MUST_USE;

#endif
