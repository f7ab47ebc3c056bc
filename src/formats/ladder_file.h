/* The sheen ladder as CSV: a heading line `matte_fraction,gu20,gu60,gu85[,coats]` in any order and case, one
 * test patch per line after it. Blank cells were not measured. Separator , ; or tab, told by the heading; a
 * decimal comma only with ; or tab. Other columns, blank lines and lines that begin with # are passed over.
 */
#ifndef RUSSET_FORMATS_LADDER_FILE_H
#define RUSSET_FORMATS_LADDER_FILE_H

#include "base/memory.h"
#include "base/text.h"
#include "paint/sheen.h"

/* INPUT with file, line and column: no heading, a column twice, a cell that is no number or out of bounds
 * (fraction 0..1, gloss 0..150, coats 1..20 whole), a line with no gloss, more than SHEEN_ROWS_MOST lines.
 * Rows are the arena's. */
enum status ladder_read(const struct bytes *bytes, struct arena *arena, struct sheen_ladder *out,
                        struct fault *fault) MUST_USE;

#endif
