/* The log of a pour: one line of JSON for each thing that happened, added behind the last one and synced
 * before it is shown as done. This file turns records into lines and a whole file back into what was poured;
 * it opens nothing (device/append.h does).
 *
 *     {"russet_pour_log":1,"n":0,"batch_g":60,"step_g":0.01,
 *      "steps":[["white",1,12.7],["black",0.1,4]],"crc":"..."}
 *     {"n":1,"step":0,"toner":"white","g":4.31,"done":false,"crc":"........"}
 *     {"n":2,"step":0,"toner":"white","g":12.71,"done":true,"crc":"........"}
 *     {"n":3,"steps":[["white",1,12.71],["black",0.1,4],["white",1,0.6]],"crc":"........"}
 *
 * A step is toner, its fraction in what is poured (less than 1: a let-down), and the grams wanted of
 * that. The newest amount of a step counts; "done":false is one so far. New steps are a rescue. As long as
 * nothing was poured a second header may take the place of the first: the scale was coarser than the plan.
 * step_g, the scale's step that the plan was made for, may be missing (older logs).
 *
 * crc is CRC-32 (IEEE 802.3; check value cbf43926 of "123456789") of the line's bytes in front of `,"crc"`, n
 * counts from 0. A line that was torn by a pulled plug does not verify. It is passed over if it is the last
 * one, or if the record behind it carries the number that it would have had; a gap in the numbers is damage
 * and is refused. Empty lines are nothing. */
#ifndef RUSSET_FORMATS_POUR_LOG_H
#define RUSSET_FORMATS_POUR_LOG_H

#include "base/fault.h"
#include "base/text.h"
#include "paint/pouring.h"

struct pour_log {
    unsigned next; /* the number of the next record */
    bool empty;    /* nothing to replay, not even a header */
    bool torn;     /* a line was passed over at the end: begin with a line end */
    double batch_g;
    double step_g; /* of the scale that it was planned for; 0: not said */
    size_t count;
    struct pouring_item items[POURING_MOST]; /* by the newest plan; the windows are not kept */
    bool done[POURING_MOST];
    size_t first_count; /* by the header: the recipe that the log is bound to */
    struct pouring_item first[POURING_MOST];
};

/* What the bytes of a log say. INPUT with the line when it is no log, is damaged, or is of a newer format. */
enum status pour_log_replay(const struct bytes *bytes, struct pour_log *log, struct fault *fault) MUST_USE;
/* Is it the log of this recipe (the same steps, batch and wants to 1e-6 g)? INPUT when not. */
enum status pour_log_check(const struct pour_log *log, double batch_g, const struct pouring_item items[],
                           size_t count, const char *file, struct fault *fault) MUST_USE;

/* Adds one line to out and steps log->next. */
void pour_log_header(struct pour_log *log, double batch_g, const struct pouring_item items[], size_t count,
                     struct text *out);
void pour_log_pour(struct pour_log *log, size_t step, const struct pouring_item *item, bool done,
                   struct text *out);
void pour_log_plan(struct pour_log *log, const struct pouring_item items[], size_t count, struct text *out);

unsigned pour_log_crc(const void *bytes, size_t n); /* CRC-32, IEEE 802.3 */

#endif
