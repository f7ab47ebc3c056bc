/* The handover record on paper, from its twin; photographs come out of the book. */
#ifndef RUSSET_FLOW_HANDOVER_PAPER_H
#define RUSSET_FLOW_HANDOVER_PAPER_H

#include "flow/operation.h"
#include "report/record_paper.h"
#include "shop/book.h"

struct handover_pictures {
    size_t count;
    struct page_picture picture[RECORD_PICTURES_MOST]; /* width 0: none there, or it cannot be shown */
    const char *caption[RECORD_PICTURES_MOST];
    json_t *not_shown; /* those that are damaged, by their hash; the caller's */
};
/* Decoded before anything is sealed. MACHINE without a decoder: then there is no paper. */
enum status handover_pictures(const struct surroundings *around, struct book *book, const json_t *reply,
                              struct handover_pictures *out, struct fault *fault) MUST_USE;

enum status handover_paper(const struct surroundings *around, const struct handover_pictures *pictures,
                           const json_t *reply, struct text *out, struct fault *fault) MUST_USE;

#endif
