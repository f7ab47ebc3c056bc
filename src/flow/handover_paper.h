/* The handover record on paper, from its twin; photographs come out of the book. */
#ifndef RUSSET_FLOW_HANDOVER_PAPER_H
#define RUSSET_FLOW_HANDOVER_PAPER_H

#include "flow/operation.h"
#include "shop/book.h"

enum status handover_paper(const struct surroundings *around, struct book *book, const json_t *reply,
                           struct text *out, struct fault *fault) MUST_USE;

#endif
