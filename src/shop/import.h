/* An export of a shop joined to this one, by keys: what is there already stays or, where rows may change, the
 * later change wins; logs grow together; numbers of the other shop's jobs, quotes and invoices are kept as
 * its own. All or nothing. The file is not trusted: names that are not those of an export, members that
 * unpack to far more than they hold, photographs that are not their name, rows of a newer version are
 * refused. */
#ifndef RUSSET_SHOP_IMPORT_H
#define RUSSET_SHOP_IMPORT_H

#include "base/work.h"
#include "shop/erase.h"

struct imported {
    unsigned long long added, renewed, kept; /* rows: new, changed later there, ours */
    size_t photographs;
    size_t lost;           /* photographs that the other shop had lost */
    struct erasure erased; /* rows of customers who have a tombstone here or there */
};
enum status import_read(struct book *book, const char *path, struct work *work, struct imported *out,
                        struct fault *fault) MUST_USE;

#endif
