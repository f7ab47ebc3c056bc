/* Where a job stands and what comes next: the one rule, for the book's own lists, the command line and the
 * page.
 *
 * The person at the bench goes on where the work stands: the next step is the one after the last that was
 * done. What was passed over on the way is no longer asked for, only named (`skipped`). Three things are not
 * passed over in silence (`owed`): the gate of a piece, once work has begun; a final check that did not pass,
 * which is then the next step again; and no check at all, when only the handing over is left.
 *
 * Of colours each stands for itself; what was logged without a colour counts for all of them. The job stands
 * where the least of its begun colours stands. */
#ifndef RUSSET_SHOP_JOB_NEXT_H
#define RUSSET_SHOP_JOB_NEXT_H

#include "shop/job_store.h"
#include "trade/job_step.h"

enum { JOB_OWED_MOST = 16 };
struct job_next {
    const char *next;      /* name of a step; NULL: handed over, ended or declined */
    const char *last_done; /* NULL: nothing was done */
    size_t skipped_count;
    const char *skipped[JOB_STEPS];
};
struct job_owed {
    size_t count;
    struct fault say[JOB_OWED_MOST];
};

/* colour: its id, or NULL for the job as a whole. */
enum status job_next_read(struct book *book, const struct job_row *job, const char *colour,
                          struct arena *arena, struct job_next *out, struct fault *fault) MUST_USE;
/* What must be said of the job though nobody asks for it; reads plans and checks. */
enum status job_owed_read(struct book *book, const struct job_row *job, struct arena *arena,
                          struct job_owed *out, struct fault *fault) MUST_USE;

#endif
