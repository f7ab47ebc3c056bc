/* Time zones: from a moment in UTC to the offset of a place on that day.
 *
 * The tables are the machine's own (TZif, RFC 8536, versions 2 to 4), read from /usr/share/zoneinfo; after
 * the last moment that a table lists its footer holds (the TZ rule of POSIX, IEEE Std 1003.1, 8.3, with the
 * hours -167 to 167 of RFC 8536), before the first one its first kind of time. Leap seconds are not counted:
 * UTC here is POSIX time. At the hour that comes twice the moment tells which one is meant; the hour that is
 * left out has no moment. */
#ifndef RUSSET_DEVICE_ZONE_H
#define RUSSET_DEVICE_ZONE_H

#include <stdbool.h>
#include <stddef.h>

struct zone;

/* "Europe/Vienna"; NULL when the machine has no sound table of that name. zone_close takes NULL. */
struct zone *zone_open(const char *name);
void zone_close(struct zone *zone);
/* May it be the name of a zone at all? Letters, digits, / _ + -. */
bool zone_name_is_good(const char *name);

/* Seconds east of UTC at that moment; 0 for NULL. */
int zone_offset_s(const struct zone *zone, long long utc_ms);

/* For tests and hostile files: the bytes of a table; NULL when they are not sound. */
struct zone *zone_read(const unsigned char *data, size_t size);

#endif
