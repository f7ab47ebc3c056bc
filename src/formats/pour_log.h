/* The log of a pour: one line of JSON for each thing that happened, added behind the last one and synced
 * before it is shown as done. This file turns records into lines and a whole file back into what was poured;
 * it opens nothing (device/append.h does).
 *
 *     {"russet_pour_log":1,"n":0,"batch_g":60,"want":{"white":12.7,"black":0.4},"crc":"1c291ca3"}
 *     {"n":1,"toner":"white","g":4.31,"done":false,"crc":"........"}     so far: the newest amount of a toner
 * counts
 *     {"n":2,"toner":"white","g":12.71,"done":true,"crc":"........"}
 *     {"n":3,"want":{"white":12.7,"black":0.45},"crc":"........"}        a rescue: new wants from here on
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
    size_t count;
    struct pouring_item
        items[RECIPE_TONERS_MOST];           /* id, want by the newest plan, poured; windows are not kept */
    double first_want_g[RECIPE_TONERS_MOST]; /* by the header: the recipe it is bound to */
    bool done[RECIPE_TONERS_MOST];
};

/* What the bytes of a log say. INPUT with the line when it is no log, is damaged, or is of a newer format. */
enum status pour_log_replay(const struct bytes *bytes, struct pour_log *log, struct fault *fault) MUST_USE;
/* Is it the log of this recipe (ids in order, batch and wants to .5e-6 g)? INPUT when not. */
enum status pour_log_check(const struct pour_log *log, double batch_g, const struct pouring_item items[],
                           size_t count, const char *file, struct fault *fault) MUST_USE;

/* Adds one line to out and steps log->next. */
void pour_log_header(struct pour_log *log, double batch_g, const struct pouring_item items[], size_t count,
                     struct text *out);
void pour_log_pour(struct pour_log *log, const struct pouring_item *item, bool done, struct text *out);
void pour_log_plan(struct pour_log *log, const struct pouring_item items[], size_t count, struct text *out);

unsigned pour_log_crc(const void *bytes, size_t n); /* CRC-32, IEEE 802.3 */

#endif
