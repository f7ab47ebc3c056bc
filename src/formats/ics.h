/* Days and moments as a calendar file: iCalendar, RFC 5545. A day is DTSTART;VALUE=DATE (one whole day,
 * section 3.6.1), a moment is UTC. Lines end in CRLF and are folded after 75 octets, never inside a character
 * (3.1); texts are escaped (3.3.11). DTSTAMP is given, so the same calendar is the same bytes. */
#ifndef RUSSET_FORMATS_ICS_H
#define RUSSET_FORMATS_ICS_H

#include "base/text.h"

struct ics_event {
    const char *uid;     /* unique in the world, the same for the same event */
    const char *summary; /* UTF-8 */
    const char *words;   /* description, "" for none */
    const char *day;     /* "YYYY-MM-DD", or NULL for a moment */
    long long at_ms;     /* the moment, UTC since 1970 */
};

void ics_write(const struct ics_event event[], size_t count, long long stamp_ms, struct text *out);

#endif
