/* The second half of an erasure: what was deleted also leaves the free pages, the write-ahead log and the
 * folders. It is owed (a row in `local`) from the moment the deletion commits until it is done, so that a
 * power cut between the two does not leave anything behind: the next program that opens the book pays. */
#ifndef RUSSET_SHOP_SCRUB_H
#define RUSSET_SHOP_SCRUB_H

#include "shop/book.h"

enum status scrub_owe(struct book *book, struct fault *fault) MUST_USE; /* with the pen */
/* Pays what is owed. Others who use the book, or a full disk, are no error: then it stays owed, and the book
 * can be used. */
enum status scrub_finish(struct book *book, struct fault *fault) MUST_USE;
enum status scrub_is_owed(struct book *book, bool *owed, struct fault *fault) MUST_USE;

#endif
