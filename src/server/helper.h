/* Photographs are worked on outside of the server: a run that decodes them is carried out by this program
 * started once more, as a helper that lives for the one run. A whole photograph in light takes 77 MB and more
 * (docs/pictures.md); the server, which is there for the scale and for the other phone too, stays small, and
 * what becomes of the helper is one sentence. It is no fence: a stranger's bytes are decoded by
 * russet-decode, which the helper starts as the command line does. */
#ifndef RUSSET_SERVER_HELPER_H
#define RUSSET_SERVER_HELPER_H

#include "server/run.h"

enum { HELPERS_AT_ONCE = 2, HELPER_MINUTES = 10, HELPER_MIB = 4096 };

bool helper_is_for(const struct operation *operation);
/* As run_here, in a helper: waits for a free one, passes its progress on, ends it when the run is cancelled,
 * when HELPER_MINUTES have passed, or when it lets nothing more be heard. The answer is a file. */
void helper_run(struct run *run, struct answer *answer);

/* The other side, in main: whether this process was started as a helper; it then does its run and returns the
 * exit code. */
bool helper_is_this(int argc, char **argv);
int helper_main(void);

#endif
