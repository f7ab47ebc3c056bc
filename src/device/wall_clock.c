/* Days are counted by the civil calendar (proleptic Gregorian, RFC 3339 section 5), so that neither the C
 * library's zone nor its locale can bend a time that is stored. */
#include "device/wall_clock.h"
#include "base/text.h"
#include "device/zone.h"
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { DAY_MS = 86400000 };

static long long real_now(void *self) {
    (void)self;
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static long long epoch_ms;

static long long shown(void *self) {
    return *(const long long *)self;
}

/* Debian keeps the zone as a link into the zone tables. */
static void find_zone(char zone[64]) {
    static const char tables[] = "/zoneinfo/";
    char target[PATH_MAX];
    const char *name = getenv("TZ");
    if (name && *name == ':') name++;
    if (!name || !zone_name_is_good(name)) {
        const ssize_t n = readlink("/etc/localtime", target, sizeof target - 1);
        target[n > 0 ? n : 0] = 0;
        const char *found = strstr(target, tables);
        name = found ? found + sizeof tables - 1 : "UTC";
    }
    snprintf(zone, 64, "%.63s", zone_name_is_good(name) && strcmp(name, "Etc/UTC") != 0 ? name : "UTC");
}

struct wall_clock wall_clock_real(void) {
    struct wall_clock clock = {.now_ms = real_now};
    find_zone(clock.zone);
    const char *epoch = getenv("SOURCE_DATE_EPOCH");
    unsigned long long seconds;
    if (epoch && text_to_count(epoch, 253402300799ULL, &seconds)) {
        epoch_ms = (long long)seconds * 1000;
        clock.now_ms = shown;
        clock.self = &epoch_ms;
    }
    return clock;
}

struct wall_clock wall_clock_fake(long long *ms, const char *zone) {
    struct wall_clock clock = {.now_ms = shown, .self = ms};
    snprintf(clock.zone, sizeof clock.zone, "%s", zone ? zone : "UTC");
    return clock;
}

long long wall_clock_now_ms(const struct wall_clock *clock) {
    return clock->now_ms(clock->self);
}

/* Days since 1970-01-01; the year is counted from March, so that the leap day is its last. */
long long wall_days_of(int year, int month, int day) {
    const long long y = month > 2 ? year : year - 1, m = month > 2 ? month - 3 : month + 9;
    return y * 365 + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719468;
}

static bool is_leap(int year) {
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int days_in(int year, int month) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year));
}

/* Exactly n digits at *at, which moves behind them. */
static bool take(const char **at, int n, int low, int high, int *out) {
    *out = 0;
    for (int i = 0; i < n; i++) {
        if (**at < '0' || **at > '9') return false;
        *out = *out * 10 + *(*at)++ - '0';
    }
    return *out >= low && *out <= high;
}

static bool skip(const char **at, const char *any) {
    return **at && strchr(any, **at) ? ++*at, true : false;
}

static bool take_day(const char **at, long long *ms) {
    int year, month, day;
    if (!take(at, 4, 1970, 9999, &year) || !skip(at, "-") || !take(at, 2, 1, 12, &month)) return false;
    if (!skip(at, "-") || !take(at, 2, 1, 31, &day) || day > days_in(year, month)) return false;
    *ms = wall_days_of(year, month, day) * DAY_MS;
    return true;
}

static bool take_fraction(const char **at, long long *ms) {
    long long scale = 100;
    if (**at < '0' || **at > '9') return false;
    for (; **at >= '0' && **at <= '9'; scale /= 10) *ms += (*(*at)++ - '0') * scale;
    return true;
}

static bool take_clock(const char **at, long long *ms) {
    int hour, minute, second = 0;
    if (!take(at, 2, 0, 23, &hour) || !skip(at, ":") || !take(at, 2, 0, 59, &minute)) return false;
    if (skip(at, ":") && !take(at, 2, 0, 60, &second)) return false;
    *ms += ((hour * 60LL + minute) * 60 + second) * 1000;
    return !skip(at, ".") || take_fraction(at, ms);
}

static bool take_offset(const char **at, long long *ms) {
    int hours, minutes;
    if (skip(at, "Zz")) return true;
    const long long sign = **at == '-' ? 1 : -1;
    if (!skip(at, "+-") || !take(at, 2, 0, 23, &hours) || !skip(at, ":") || !take(at, 2, 0, 59, &minutes))
        return false;
    *ms += sign * (hours * 60LL + minutes) * 60000;
    return true;
}

bool wall_time_read(const char *text, long long *ms) {
    const char *at = text;
    long long found;
    if (!take_day(&at, &found)) return false;
    if (*at && !(skip(&at, "Tt ") && take_clock(&at, &found) && take_offset(&at, &found))) return false;
    if (*at || found < 0) return false;
    *ms = found;
    return true;
}

int wall_year_of(long long days) {
    int year = (int)(days / 366) + 1970;
    while (wall_days_of(year + 1, 1, 1) <= days) year++;
    return year;
}

/* The inverse of wall_days_of, for days from 1970. */
static void civil_of(long long days, int *year, int *month, int *day) {
    const int y = wall_year_of(days);
    long long rest = days - wall_days_of(y, 1, 1);
    int m = 1;
    for (; rest >= days_in(y, m); m++) rest -= days_in(y, m);
    *year = y, *month = m, *day = (int)rest + 1;
}

const char *wall_day_write(long long ms, char out[WALL_DAY_TEXT]) {
    int year, month, day;
    civil_of(ms / DAY_MS, &year, &month, &day);
    snprintf(out, WALL_DAY_TEXT, "%04u-%02u-%02u", (unsigned)year % 10000, (unsigned)month % 100,
             (unsigned)day % 100);
    return out;
}

/* Where the clocks are set by whole minutes, as everywhere since 1972. */
const char *wall_time_write_at(long long ms, int offset_s, char out[WALL_TIME_TEXT]) {
    char day[WALL_DAY_TEXT], fraction[8] = "", zone[12] = "Z";
    const long long local = ms + 1000LL * offset_s;
    const int rest = (int)(local % DAY_MS), seconds = rest / 1000, east = offset_s < 0 ? -offset_s : offset_s;
    if (rest % 1000) snprintf(fraction, sizeof fraction, ".%03u", (unsigned)rest % 1000);
    if (offset_s)
        snprintf(zone, sizeof zone, "%c%02u:%02u", offset_s < 0 ? '-' : '+', (unsigned)east / 3600 % 100,
                 (unsigned)east / 60 % 60);
    snprintf(out, WALL_TIME_TEXT, "%sT%02d:%02d:%02d%s%s", wall_day_write(local, day), seconds / 3600 % 24,
             seconds / 60 % 60, seconds % 60, fraction, zone);
    return out;
}

const char *wall_time_write(long long ms, char out[WALL_TIME_TEXT]) {
    return wall_time_write_at(ms, 0, out);
}
