/* The time of day: milliseconds UTC since 1970-01-01 and the zone in which it is told; a fake beside the real
 * one. */
#ifndef RUSSET_DEVICE_WALL_CLOCK_H
#define RUSSET_DEVICE_WALL_CLOCK_H

#include <stdbool.h>

enum { WALL_TIME_TEXT = 40, WALL_DAY_TEXT = 16 };

struct wall_clock {
    long long (*now_ms)(void *self);
    void *self;
    char zone[64]; /* IANA name, "UTC" when the machine does not say */
};

/* The machine's clock; the zone is $TZ or what /etc/localtime points to. SOURCE_DATE_EPOCH (seconds) stops it
 * there, so that the same work makes the same bytes. */
struct wall_clock wall_clock_real(void);
/* Shows *ms, which whoever owns it moves; zone NULL is UTC. */
struct wall_clock wall_clock_fake(long long *ms, const char *zone);
long long wall_clock_now_ms(const struct wall_clock *clock);

/* RFC 3339, years 1970 to 9999: "2026-03-14T15:09:26.535Z", "2026-03-14 15:09+02:00"; a day alone is its
 * midnight UTC. False when it is nothing of that kind. */
bool wall_time_read(const char *text, long long *ms) __attribute__((warn_unused_result));
/* "2026-03-14T15:09:26.535Z"; whole seconds without the fraction. */
const char *wall_time_write(long long ms, char out[WALL_TIME_TEXT]);
/* The same moment as the clock on the wall shows it, so many seconds east of UTC:
 * "2026-03-14T16:09:26.535+01:00". */
const char *wall_time_write_at(long long ms, int offset_s, char out[WALL_TIME_TEXT]);
/* The day in UTC: "2026-03-14". */
const char *wall_day_write(long long ms, char out[WALL_DAY_TEXT]);

/* Days since 1970-01-01, from 1970 to 9999; and the year of such a day. */
long long wall_days_of(int year, int month, int day);
int wall_year_of(long long days);

#endif
