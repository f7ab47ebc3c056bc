/* The whole shop as one ZIP file that another shop can import and anybody can read: rows as JSON, one object
 * a line; tables for people as CSV; readings and finishes as CGATS; the photographs as they were kept. The
 * same content makes the same bytes. */
#ifndef RUSSET_SHOP_EXPORT_H
#define RUSSET_SHOP_EXPORT_H

#include "base/work.h"
#include "shop/photographs.h"

struct exported {
    unsigned long long rows, bytes;
    size_t files;
    struct lost_photographs lost; /* not in it, because they are not in the shop any more */
};
enum status export_write(struct book *book, const char *path, struct work *work, struct exported *out,
                         struct fault *fault) MUST_USE;

#endif
