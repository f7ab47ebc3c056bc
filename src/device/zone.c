#include "device/zone.h"
#include "base/memory.h"
#include "device/wall_clock.h"
#include <stdio.h>
#include <string.h>

enum { HEADER = 44, TABLE_MOST = 1 << 16, MOMENTS_MOST = 4096, KINDS_MOST = 256, DAY_S = 86400 };

/* A day of the year by rule, and the second of that day. */
struct turn {
    char form; /* 'M' month.week.weekday, 'J' 1..365 without the leap day, 'n' 0..365 */
    int month, week, day;
    int second;
};

/* The footer: standard time, and summer time between two turns. */
struct footer {
    bool there, has_summer;
    int standard_s, summer_s;
    struct turn begins, ends;
};

struct zone {
    size_t count, kinds;
    long long moment_s[MOMENTS_MOST];
    unsigned char kind[MOMENTS_MOST];
    int offset_s[KINDS_MOST];
    struct footer footer;
};

/* -- the footer ----------------------------------------------------------------------------------------- */

static bool take_number(const char **at, int most, int *out) {
    int digits = 0;
    for (*out = 0; **at >= '0' && **at <= '9' && digits < 4; digits++) *out = 10 * *out + *(*at)++ - '0';
    return digits > 0 && *out <= most;
}

/* [+-]hh[:mm[:ss]] */
static bool take_clock(const char **at, int hours_most, int *out) {
    const int sign = **at == '-' ? -1 : 1;
    int hours, minutes = 0, seconds = 0;
    if (**at == '-' || **at == '+') ++*at;
    if (!take_number(at, hours_most, &hours)) return false;
    if (**at == ':' && (++*at, !take_number(at, 59, &minutes))) return false;
    if (**at == ':' && (++*at, !take_number(at, 59, &seconds))) return false;
    *out = sign * (3600 * hours + 60 * minutes + seconds);
    return true;
}

static bool take_name(const char **at) {
    const char *start = *at;
    if (**at == '<') {
        while (**at && **at != '>') ++*at;
        return *(*at)++ == '>';
    }
    while ((**at >= 'A' && **at <= 'Z') || (**at >= 'a' && **at <= 'z')) ++*at;
    return *at - start >= 3;
}

static bool take_turn(const char **at, struct turn *out) {
    *out = (struct turn){.form = 'n', .second = 7200};
    if (*(*at)++ != ',') return false;
    if (**at == 'M' || **at == 'J') out->form = *(*at)++;
    bool good = out->form == 'M' ? take_number(at, 12, &out->month) && out->month > 0 && *(*at)++ == '.' &&
                                       take_number(at, 5, &out->week) && out->week > 0 && *(*at)++ == '.' &&
                                       take_number(at, 6, &out->day)
                                 : take_number(at, 365, &out->day) && (out->form == 'n' || out->day > 0);
    if (good && **at == '/') good = ++*at, take_clock(at, 167, &out->second);
    return good;
}

/* The signs of POSIX count west as more than 0. */
static bool read_footer(const char *text, struct footer *out) {
    const char *at = text;
    *out = (struct footer){0};
    if (!*text) return true;
    int west;
    if (!take_name(&at) || !take_clock(&at, 24, &west)) return false;
    out->there = true;
    out->standard_s = -west;
    if (!*at) return true;
    out->has_summer = true;
    out->summer_s = out->standard_s + 3600;
    if (!take_name(&at)) return false;
    if (*at != ',') {
        if (!take_clock(&at, 24, &west)) return false;
        out->summer_s = -west;
    }
    return take_turn(&at, &out->begins) && take_turn(&at, &out->ends) && !*at;
}

static long long turn_day(const struct turn *turn, int year) {
    const long long first = wall_days_of(year, 1, 1);
    const bool leap = wall_days_of(year + 1, 1, 1) - first == 366;
    if (turn->form == 'n') return first + turn->day;
    if (turn->form == 'J') return first + turn->day - 1 + (leap && turn->day >= 60);
    const long long month = wall_days_of(year, turn->month, 1),
                    next = turn->month < 12 ? wall_days_of(year, turn->month + 1, 1)
                                            : wall_days_of(year + 1, 1, 1);
    /* 1970-01-01 was a Thursday */
    long long day = month + ((turn->day - (month + 4) % 7) + 7) % 7 + 7 * (turn->week - 1);
    while (day >= next) day -= 7;
    return day;
}

static int offset_by_footer(const struct footer *footer, long long utc_s) {
    if (!footer->has_summer) return footer->standard_s;
    const int year = wall_year_of((utc_s + footer->standard_s) / DAY_S);
    const long long begins =
                        turn_day(&footer->begins, year) * DAY_S + footer->begins.second - footer->standard_s,
                    ends = turn_day(&footer->ends, year) * DAY_S + footer->ends.second - footer->summer_s;
    const bool summer = begins < ends ? utc_s >= begins && utc_s < ends : utc_s >= begins || utc_s < ends;
    return summer ? footer->summer_s : footer->standard_s;
}

/* -- the table ------------------------------------------------------------------------------------------ */

static long long whole(const unsigned char *at, int bytes) {
    unsigned long long value = at[0] & 0x80 ? ~0ULL : 0;
    for (int i = 0; i < bytes; i++) value = value << 8 | at[i];
    return (long long)value;
}

struct counts {
    size_t utc, standard, leap, moments, kinds, signs;
};

static bool read_head(const unsigned char *data, size_t size, struct counts *out) {
    if (size < HEADER || memcmp(data, "TZif", 4) != 0 || data[4] < '2') return false;
    size_t *const to[] = {&out->utc, &out->standard, &out->leap, &out->moments, &out->kinds, &out->signs};
    for (size_t i = 0; i < 6; i++) {
        const long long count = whole(data + 20 + 4 * i, 4);
        if (count < 0 || count > TABLE_MOST) return false;
        *to[i] = (size_t)count;
    }
    return out->moments <= MOMENTS_MOST && out->kinds >= 1 && out->kinds <= KINDS_MOST;
}

static size_t block_size(const struct counts *n, size_t time) {
    return n->moments * (time + 1) + n->kinds * 6 + n->signs + n->leap * (time + 4) + n->standard + n->utc;
}

static bool read_block(const unsigned char *data, const struct counts *n, struct zone *zone) {
    const unsigned char *kind = data + 8 * n->moments, *kinds = kind + n->moments;
    zone->count = n->moments;
    zone->kinds = n->kinds;
    for (size_t i = 0; i < n->moments; i++) {
        zone->moment_s[i] = whole(data + 8 * i, 8);
        zone->kind[i] = kind[i];
        if (kind[i] >= n->kinds || (i && zone->moment_s[i] <= zone->moment_s[i - 1])) return false;
    }
    for (size_t i = 0; i < n->kinds; i++) {
        const long long offset = whole(kinds + 6 * i, 4);
        if (offset < -2 * DAY_S || offset > 2 * DAY_S) return false;
        zone->offset_s[i] = (int)offset;
    }
    return true;
}

static bool read_end(const unsigned char *data, size_t size, struct footer *out) {
    char text[256];
    if (size < 2 || size > sizeof text || data[0] != '\n' || data[size - 1] != '\n') return false;
    memcpy(text, data + 1, size - 2);
    text[size - 2] = 0;
    return strlen(text) == size - 2 && read_footer(text, out);
}

static bool read_table(const unsigned char *data, size_t size, struct zone *zone) {
    struct counts first, second;
    if (!read_head(data, size, &first)) return false;
    size_t at = HEADER + block_size(&first, 4); /* the old half, of 32 bits */
    if (at >= size || !read_head(data + at, size - at, &second)) return false;
    at += HEADER;
    if (block_size(&second, 8) > size - at || !read_block(data + at, &second, zone)) return false;
    at += block_size(&second, 8);
    return read_end(data + at, size - at, &zone->footer);
}

struct zone *zone_read(const unsigned char *data, size_t size) {
    struct zone *zone = memory_need(1, sizeof *zone);
    if (size <= TABLE_MOST && read_table(data, size, zone)) return zone;
    memory_free(zone);
    return NULL;
}

bool zone_name_is_good(const char *name) {
    return *name && *name != '/' && strlen(name) < 64 &&
           strspn(name, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789/_+-") == strlen(name);
}

struct zone *zone_open(const char *name) {
    char path[128];
    if (!zone_name_is_good(name)) return NULL;
    snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
    FILE *file = fopen(path, "rb");
    if (!file) return NULL;
    unsigned char *data = memory_need(TABLE_MOST, 1);
    const size_t size = fread(data, 1, TABLE_MOST, file);
    fclose(file);
    struct zone *zone = zone_read(data, size);
    memory_free(data);
    return zone;
}

void zone_close(struct zone *zone) {
    memory_free(zone);
}

int zone_offset_s(const struct zone *zone, long long utc_ms) {
    if (!zone) return 0;
    const long long utc_s = utc_ms >= 0 ? utc_ms / 1000 : -((999 - utc_ms) / 1000);
    size_t low = 0, high = zone->count; /* how many moments are not after it */
    while (low < high) {
        const size_t middle = (low + high) / 2;
        if (zone->moment_s[middle] <= utc_s)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == zone->count && zone->footer.there) return offset_by_footer(&zone->footer, utc_s);
    return zone->offset_s[low ? zone->kind[low - 1] : 0];
}
