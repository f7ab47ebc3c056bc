/* The ladder of sheens that a shop keeps, as the CSV text that was given. */
#ifndef RUSSET_FLOW_SHELF_LADDER_H
#define RUSSET_FLOW_SHELF_LADDER_H

#include "shop/book.h"

/* *text NULL: none is kept. */
enum status shelf_ladder_kept(struct book *book, struct arena *arena, const char **text,
                              struct fault *fault) MUST_USE;

#endif
