/* The final checks of a job that still count, and what of it none of them has seen. A check
 * counts until all that it can have been about was checked again: the same piece and colour, or, when it
 * named none, each piece and poured colour of the job. A check that names neither is of the whole job when
 * that has one piece; with more, it proves those that its spots are named after ("back rest, seam"). */
#ifndef RUSSET_SHOP_JOB_CHECKS_H
#define RUSSET_SHOP_JOB_CHECKS_H

#include "base/fault.h"
#include "base/memory.h"
#include "shop/job_store.h"
#include <jansson.h>

struct job_checks {
    json_t *inspection; /* the first that did not pass, else the newest, with the spots of all; NULL: none was
                           made */
    const char *piece, *colour, *entry; /* of that one: ids, NULL where it named none; in the arena */
    json_t
        *missed; /* names of coated pieces and poured colours that no check has seen; never NULL once read */
};
/* left_alone: ids of pieces that were not coated, ended by NULL. The caller frees with job_checks_free in any
 * case. */
enum status job_checks_read(struct book *book, const struct job_row *job, const char *const left_alone[],
                            struct arena *arena, struct job_checks *out, struct fault *fault) MUST_USE;
void job_checks_free(struct job_checks *checks);
bool job_checks_passed(const struct job_checks *checks); /* those that were made */

#endif
