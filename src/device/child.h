/* A program of our own, run to do one piece of work that may go wrong: started with the few open files that
 * it needs and nothing else, ended by a deadline, told apart by how it ended. */
#ifndef RUSSET_DEVICE_CHILD_H
#define RUSSET_DEVICE_CHILD_H

#include "base/work.h"
#include <limits.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

enum { CHILD_MOST_FILES = 4 };

struct child {
    pid_t pid;
};

enum child_end { CHILD_LEFT, CHILD_CRASHED, CHILD_FORBIDDEN, CHILD_OUT_OF_TIME };
/* SAID a record; BABBLED something else; SILENT: it has closed its end, mostly because it is no more; LATE:
 * until_s has passed; STOPPED: the user wants no more. */
enum child_heard { CHILD_SAID, CHILD_BABBLED, CHILD_SILENT, CHILD_LATE, CHILD_STOPPED };

/* Where a helper program of that name is: beside this program, one folder up (the build's tests), or in
 * ../libexec/russet (installed). False when it is in none. */
bool child_find(const char *name, char path[PATH_MAX]);

/* Starts the program under that name (its argument 0, and the only one) with files[i] open as 3 + i, standard
 * output and error closed to it (the null device), an environment of its own and its own process group. False
 * with errno set. */
bool child_start(const char *path, const char *name, const int *files, size_t count, struct child *out);

/* Seconds of a clock that only runs forward. */
double child_clock_s(void);
/* Waits for one record of exactly size bytes on the socket, until that time. */
enum child_heard child_hear(int socket, void *record, size_t size, double until_s, const struct work *work);

/* Ends the child when it still runs (kill), waits, and tells how it ended; *code is its exit code or signal.
 */
enum child_end child_finish(struct child *child, bool kill_it, int *code);

#endif
