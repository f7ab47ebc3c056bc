/* Two phones: who saw an older state is told, and nothing is written over unseen. What is shown carries
 * `changed`, the time of its last change (null: never); what changes it may say so with --unchanged-since
 * ("none" for null). */
#ifndef RUSSET_FLOW_UNCHANGED_H
#define RUSSET_FLOW_UNCHANGED_H

#include "flow/operation.h"
#include "shop/book.h"

/* OK when the request does not ask, or saw it as it is now; else NO. what begins the sentence: "The time
 * zone". changed_ms 0: never. */
enum status unchanged_check(const struct request *request, struct book *book, const char *what,
                            long long changed_ms, struct fault *fault) MUST_USE;
/* Of something that has a name: "Colour coats" in quotes. */
enum status unchanged_check_named(const struct request *request, struct book *book, const char *name,
                                  long long changed_ms, struct fault *fault) MUST_USE;
/* The moment as the shop's clock shows it: "2026-03-14 16:09". */
const char *unchanged_time(struct book *book, long long ms, char out[WALL_TIME_TEXT]);
/* What --unchanged-since has to be. */
bool unchanged_is(const char *seen, long long changed_ms);

#endif
