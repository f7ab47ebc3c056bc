/* What of an export is for people and their other programs: CSV (RFC 4180) of customers, jobs, invoices,
 * stock and finishes; readings and finishes as CGATS. Nothing of it is read back. */
#ifndef RUSSET_SHOP_EXPORT_PEOPLE_H
#define RUSSET_SHOP_EXPORT_PEOPLE_H

#include "base/text.h"
#include "shop/book.h"

struct people_file {
    const char *name;
    struct text text; /* the caller's to free */
};
/* The list is the arena's. */
enum status export_people(struct book *book, struct arena *arena, struct people_file **out, size_t *count,
                          struct fault *fault) MUST_USE;
/* One cell: quoted when it must be; what a spreadsheet would take for a formula gets an apostrophe. */
void csv_add_cell(const char *value, struct text *out);

#endif
