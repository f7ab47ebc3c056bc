/* The tables of the machine read by ourselves against the C library's localtime_r, which reads the same files
 * with another reader (glibc): every eleventh hour from 1970 to 2100 and both sides of every change of the
 * clocks, in zones chosen for what is odd about them. */
#include "check.h"
#include "device/wall_clock.h"
#include "device/zone.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const char *const names[] = {"Europe/Vienna",       "America/New_York",
                                    "America/St_Johns",    /* half an hour */
                                    "Australia/Lord_Howe", /* summer is half an hour more */
                                    "Europe/Dublin",       /* winter is the odd time, by less */
                                    "America/Nuuk",        /* turns on the day before, at a negative hour */
                                    "Africa/Casablanca",   /* by the moon, listed to 2087 */
                                    "Pacific/Chatham",     "Pacific/Apia", /* a day was left out */
                                    "Antarctica/Troll",                    /* two hours */
                                    "Asia/Kathmandu",      "UTC"};

static int library_offset_s(long long utc_s) {
    const time_t time = (time_t)utc_s;
    struct tm tm;
    localtime_r(&time, &tm);
    return (int)tm.tm_gmtoff;
}

static size_t wrong_at(const struct zone *zone, const char *name, long long utc_s) {
    const int ours = zone_offset_s(zone, 1000 * utc_s), theirs = library_offset_s(utc_s);
    if (ours != theirs) fprintf(stderr, "  %s at %lld: %d, glibc %d\n", name, utc_s, ours, theirs);
    return ours != theirs;
}

/* Both sides of a change that lies between two moments, to the second. */
static size_t wrong_around(const struct zone *zone, const char *name, long long low, long long high) {
    while (high - low > 1) {
        const long long middle = (low + high) / 2;
        *(library_offset_s(middle) == library_offset_s(low) ? &low : &high) = middle;
    }
    return wrong_at(zone, name, low) + wrong_at(zone, name, high);
}

static void every_zone_agrees_with_the_library(void) {
    const long long step = 11 * 3600, end = wall_days_of(2100, 1, 1) * 86400;
    size_t moments = 0, changes = 0;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct zone *zone = zone_open(names[i]);
        CHECK(zone != NULL);
        setenv("TZ", names[i], 1);
        tzset();
        size_t wrong = 0;
        int before = library_offset_s(0);
        for (long long at = 0; at < end && wrong < 5; at += step, moments++) {
            const int now = library_offset_s(at);
            wrong += wrong_at(zone, names[i], at);
            if (now != before) wrong += wrong_around(zone, names[i], at - step, at), changes++;
            before = now;
        }
        CHECK(wrong == 0);
        zone_close(zone);
    }
    printf(
        "  figure: %zu moments and both sides of %zu changes of the clocks in %zu zones as glibc has them\n",
        moments, changes, sizeof names / sizeof *names);
}

/* 2026-03-29 01:00 UTC the clocks of Vienna go from 02:00 to 03:00; 2026-10-25 01:00 UTC back (2000/84/EC).
 */
static void the_clock_on_the_wall_across_both_changes(void) {
    static const struct {
        long long utc_ms;
        const char *shown;
    } cases[] = {
        {1774745999000LL, "2026-03-29T01:59:59+01:00"}, {1774746000000LL, "2026-03-29T03:00:00+02:00"},
        {1792889999000LL, "2026-10-25T02:59:59+02:00"}, {1792890000000LL, "2026-10-25T02:00:00+01:00"},
        {1774737000000LL, "2026-03-28T23:30:00+01:00"}, {1767223800500LL, "2026-01-01T00:30:00.500+01:00"}};
    struct zone *zone = zone_open("Europe/Vienna");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[WALL_TIME_TEXT];
        long long back;
        wall_time_write_at(cases[i].utc_ms, zone_offset_s(zone, cases[i].utc_ms), text);
        CHECK(strcmp(text, cases[i].shown) == 0);
        CHECK(wall_time_read(text, &back) && back == cases[i].utc_ms);
    }
    zone_close(zone);
}

static void an_unknown_zone_is_utc(void) {
    CHECK(zone_open("Nowhere/Nothing") == NULL && zone_open("../../../etc/passwd") == NULL &&
          zone_open("") == NULL && zone_open("/etc/localtime") == NULL);
    CHECK(zone_offset_s(NULL, 1774746000000LL) == 0);
}

/* Cut short anywhere, or a byte changed: refused, or read without harm. */
static void broken_tables_do_no_harm(void) {
    unsigned char data[8192], bent[8192];
    FILE *file = fopen("/usr/share/zoneinfo/Europe/Vienna", "rb");
    const size_t size = file ? fread(data, 1, sizeof data, file) : 0;
    unsigned long long seed = 5;
    size_t refused = 0;
    CHECK(size > 100);
    if (file) fclose(file);
    for (size_t n = 0; n < size; n++) CHECK(zone_read(data, n) == NULL);
    for (int i = 0; i < 4000; i++) {
        memcpy(bent, data, size);
        for (int k = 0; k < 3; k++)
            bent[(size_t)((double)size * check_random(&seed))] = (unsigned char)(256 * check_random(&seed));
        struct zone *zone = zone_read(bent, size);
        refused += zone == NULL;
        for (long long at = -3000; at < 5000; at += 500) {
            const int offset = zone_offset_s(zone, at * 1000000000LL);
            CHECK(offset >= -8 * 86400 && offset <= 8 * 86400);
        }
        zone_close(zone);
    }
    printf("  figure: %zu of 4000 tables with three bytes changed were refused\n", refused);
}

int main(void) {
    RUN(every_zone_agrees_with_the_library);
    RUN(the_clock_on_the_wall_across_both_changes);
    RUN(an_unknown_zone_is_utc);
    RUN(broken_tables_do_no_harm);
    return check_done();
}
