/* The tables of the book as data, in an order in which nothing refers forward (but to its own table): what an
 * export holds, how an import joins it, and where an erasure looks. */
#ifndef RUSSET_SHOP_TABLES_H
#define RUSSET_SHOP_TABLES_H

#include "shop/query.h"

enum table_join {
    JOIN_LOG,   /* a row that is there stays as it is */
    JOIN_NEWER, /* the row that was changed later wins */
    JOIN_OURS,  /* what we have wins; what we lack is added */
    JOIN_NEVER, /* of this machine: in no export */
};

struct table {
    const char *name, *key; /* columns of the key, parted by ", " */
    const char *order;      /* of an export */
    const char *only;       /* what of it is exported; "1" for all */
    enum table_join join;
};
const struct table *tables_all(size_t *count);
const struct table *table_find(const char *name); /* NULL when there is none */

enum column_type { COLUMN_WHOLE, COLUMN_REAL, COLUMN_TEXT, COLUMN_JSON };
struct column {
    const char *name;
    enum column_type type;
    bool needed; /* never null */
    bool is_key;
};
/* The exported columns of a table, in their order. */
enum status table_columns(struct book *book, const struct table *table, struct arena *arena,
                          struct column **out, size_t *count, struct fault *fault) MUST_USE;

#endif
