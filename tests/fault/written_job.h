/* A job as it is written down, one transaction after the other, and the question afterwards whether what was
 * acknowledged is there. All invented. */
#ifndef RUSSET_TESTS_WRITTEN_JOB_H
#define RUSSET_TESTS_WRITTEN_JOB_H

#include "shop/book.h"

/* Step 0 makes customer, job, toner and lot; every later one writes an entry with a photograph, a pot with
 * its pour, or an invoice, in turn. */
enum status written_job_step(struct book *book, size_t step, struct fault *fault) MUST_USE;
/* Is all of steps 0..count-1 there, with the photographs' bytes? Prints what is missing. */
bool written_job_is_there(struct book *book, size_t count);
/* Steps that are there, without a hole. */
size_t written_job_steps(struct book *book);

#endif
