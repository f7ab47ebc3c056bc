/* What the stores share: new keys and times, "exactly one", growing lists. */
#ifndef RUSSET_SHOP_ROWS_H
#define RUSSET_SHOP_ROWS_H

#include "shop/query.h"
#include <string.h>

const char *rows_text(const char *text);   /* "" for NULL */
const char *rows_about(const char *about); /* "{}" for NULL and "" */

/* Needs the pen. A new key, the time and the book's zone, each unless one is given; zone NULL: the row has
 * none. */
void rows_begin(struct book *book, char id[ID_LENGTH + 1], long long *at_ms, const char **zone);
/* Now, but always later than what it was: the later change wins when two books are merged. */
long long rows_changed_ms(const struct book *book, long long before_ms);

/* Runs a change that returns the keys it found; INPUT when there was none. */
enum status rows_need_one(struct query *query, const char *noun, const char *text) MUST_USE;
/* Ends a search that found so many. */
enum status rows_exactly_one(struct query *query, size_t found, const char *noun, const char *text) MUST_USE;

/* 1 and the last number of ours in that series of quotes or invoices. With the pen, which keeps it ours. */
enum status rows_next_number(struct book *book, const char *table, const char *series, long long *number,
                             struct fault *fault) MUST_USE;

/* Room for one row more in a list of the arena; what was there is moved. */
void *rows_grow(struct arena *arena, void *list, size_t count, size_t size);

/* Reads all rows of a query into *out (a list in the arena) with read(query, arena, row). */
#define ROWS_READ(query, arena, out, count, read)                          \
    do {                                                                   \
        *(out) = NULL;                                                     \
        *(count) = 0;                                                      \
        while (query_row(query)) {                                         \
            *(out) = rows_grow((arena), *(out), *(count), sizeof **(out)); \
            read((query), (arena), &(*(out))[(*(count))++]);               \
        }                                                                  \
    } while (0)

/* By the key in that column, or by its beginning, 8 or more of its signs; ?1 is the text. */
#define ROWS_BY_KEY(column) \
    "(" column " = ?1 OR (length(?1) >= 8 AND " column " >= ?1 AND " column " < ?1 || 'g'))"

/* Ends a search for one row into *out; INPUT, with what was looked for, when there is none or more than one.
 */
#define ROWS_READ_ONE(status, query, arena, out, read, noun, text)         \
    do {                                                                   \
        size_t rows_found = 0;                                             \
        while (query_row(query))                                           \
            if (rows_found++ == 0) read((query), (arena), (out));          \
        *(status) = rows_exactly_one((query), rows_found, (noun), (text)); \
    } while (0)

#endif
