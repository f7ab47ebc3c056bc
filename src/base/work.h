/* What a long calculation is given from outside: threads, a place to report progress, a flag to stop.
 * Results never depend on the number of threads: a calculation is cut into fixed chunks, each chunk writes
 * only its own slot, and the caller adds the slots in order. A NULL struct work means one thread, no report.
 */
#ifndef RUSSET_BASE_WORK_H
#define RUSSET_BASE_WORK_H

#include <stdbool.h>
#include <stddef.h>

struct work;
typedef void work_progress(void *user, double done); /* done 0..1; called from the thread that reports */
typedef void work_task(void *context, size_t chunk);

struct work *work_new(unsigned threads, work_progress *progress,
                      void *user); /* threads 0: one per core, at most 16 */
void work_free(struct work *work);

/* Runs task(context, 0..chunks-1), each once, in any order; returns when all are done. Chunks that were not
 * started when the work is cancelled are left out. */
void work_run(struct work *work, size_t chunks, work_task *task, void *context);
void work_report(struct work *work, double done);
void work_cancel(struct work *work); /* safe in a signal handler */
bool work_is_cancelled(const struct work *work);
/* For work that is done when it is told to stop (a server): takes the cancellation, so that it ends well. */
bool work_take_cancel(struct work *work);

#endif
