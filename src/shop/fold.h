/* Words as they are searched: without case and without marks, so that "e" finds "É" and "strasse" finds
 * "Straße".
 *
 * Unicode 15, chapters 3.13 and 5.18: compatibility decomposition (NFKD, UAX #15), combining marks taken
 * away, full case folding, decomposed again. GLib does it; ASCII goes without it. What is no UTF-8 is folded
 * as ASCII. */
#ifndef RUSSET_SHOP_FOLD_H
#define RUSSET_SHOP_FOLD_H

#include "base/memory.h"
#include <sqlite3.h>

/* In the arena; "" for NULL. */
const char *fold_words(const char *text, struct arena *arena);

/* The same with its way back: what text[i] is made of begins at from[i] of the original; from[length] is the
 * original's end. Runs of blanks of any kind are one blank. A mark belongs to the sign that it stands on. */
struct folded {
    char *text;
    size_t length, *from, room;
};
void fold_tracked(const char *text, struct folded *out);
void folded_free(struct folded *folded);

/* Gives a connection has_words(text, folded): does the text, folded, hold that folded text? An SQLite code.
 */
int fold_install(sqlite3 *database);

#endif
