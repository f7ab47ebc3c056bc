#include "formats/ics.h"
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { LINE_OCTETS = 75 };

/* The next place to break: at most n octets, at the beginning of a character. */
static size_t piece_of(const char *s, size_t left, size_t n) {
    if (left <= n) return left;
    while (n > 1 && ((unsigned char)s[n] & 0xC0) == 0x80) n--;
    return n;
}

/* A content line; what continues it begins with a space, which counts. */
static void add_line(struct text *out, const char *line) {
    size_t left = strlen(line), most = LINE_OCTETS;
    do {
        const size_t n = piece_of(line, left, most);
        text_add_bytes(out, line, n);
        text_add(out, left > n ? "\r\n " : "\r\n");
        line += n, left -= n;
        most = LINE_OCTETS - 1;
    } while (left);
}

static void add_text(struct text *out, const char *name, const char *value) {
    struct text line = {0};
    text_format(&line, "%s:", name);
    for (; *value; value++) {
        if (*value == '\n')
            text_add(&line, "\\n");
        else if (strchr("\\;,", *value))
            text_format(&line, "\\%c", *value);
        else if ((unsigned char)*value >= 32 && *value != 127)
            text_add_bytes(&line, value, 1);
    }
    add_line(out, line.data);
    text_free(&line);
}

static void add_moment(struct text *out, const char *name, long long ms) {
    struct tm tm;
    const time_t seconds = (time_t)(ms / 1000);
    char line[128];
    gmtime_r(&seconds, &tm);
    snprintf(line, sizeof line, "%s:%04d%02d%02dT%02d%02d%02dZ", name, tm.tm_year + 1900, tm.tm_mon + 1,
             tm.tm_mday, tm.tm_hour, tm.tm_min, tm.tm_sec);
    add_line(out, line);
}

static void add_day(struct text *out, const char *day) {
    char line[48] = "DTSTART;VALUE=DATE:";
    size_t n = strlen(line);
    for (; *day && n < sizeof line - 1; day++)
        if (*day >= '0' && *day <= '9') line[n++] = *day;
    line[n] = 0;
    add_line(out, line);
}

void ics_write(const struct ics_event event[], size_t count, long long stamp_ms, struct text *out) {
    add_line(out, "BEGIN:VCALENDAR");
    add_line(out, "VERSION:2.0");
    add_line(out, "PRODID:-//russet//russet " RUSSET_VERSION "//EN");
    for (size_t i = 0; i < count; i++) {
        add_line(out, "BEGIN:VEVENT");
        add_text(out, "UID", event[i].uid);
        add_moment(out, "DTSTAMP", stamp_ms);
        if (event[i].day)
            add_day(out, event[i].day);
        else
            add_moment(out, "DTSTART", event[i].at_ms);
        add_text(out, "SUMMARY", event[i].summary);
        if (*event[i].words) add_text(out, "DESCRIPTION", event[i].words);
        add_line(out, event[i].day ? "TRANSP:TRANSPARENT" : "TRANSP:OPAQUE");
        add_line(out, "END:VEVENT");
    }
    add_line(out, "END:VCALENDAR");
}
