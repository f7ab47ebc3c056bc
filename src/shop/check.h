/* Is the book sound? Everything that can be wrong is looked at and told in a sentence; nothing is changed. */
#ifndef RUSSET_SHOP_CHECK_H
#define RUSSET_SHOP_CHECK_H

#include "base/work.h"
#include "shop/photographs.h"
#include <jansson.h>

struct checked {
    size_t problem_count;
    struct fault *problem; /* the arena's */
    struct photographs_state photographs;
    json_t *rows; /* table -> count; the caller's */
};
/* SQLite's own integrity_check and foreign_key_check; the schema against this program's; every photograph's
 * bytes against their hash; every document is JSON and every seal holds; our numbers have no gap; no
 * crosslinked pot stands on the shelf; no erasure is unfinished. */
enum status check_book(struct book *book, struct arena *arena, struct work *work, struct checked *out,
                       struct fault *fault) MUST_USE;
/* The book's tables, indexes and triggers are those of this version, no more and no other. */
enum status check_schema(struct book *book, bool *same, struct fault *fault) MUST_USE;

#endif
