/* The page's files, built from web/ and kept inside the program. */
#ifndef RUSSET_SERVER_PAGES_H
#define RUSSET_SERVER_PAGES_H

#include "server/call.h"

/* False when the path is none of them. */
bool pages_answer(const struct call *call, struct answer *answer);

#endif
