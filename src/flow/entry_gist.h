/* What an entry of a job says, in one short line for the list: "dE00 0.30, 60.0 g". */
#ifndef RUSSET_FLOW_ENTRY_GIST_H
#define RUSSET_FLOW_ENTRY_GIST_H

#include "base/text.h"
#include "shop/entry_store.h"

/* Adds the line, or nothing where a kind has no figure that tells more than its name. */
void entry_gist(const struct entry_row *entry, struct text *out);

#endif
