/* The trade against general libraries from npm (tests/outside/package.json): calendars read by ical.js 2.2.1,
 * exponents of ISO 4217 as currency-codes 2.2.0 ships the list of 2024-06-25. Needs nodejs and once `npm ci
 * --ignore-scripts` in tests/outside. */
#include "check.h"
#include "formats/ics.h"
#include "trade/money.h"

static FILE *node(const char *what, const char *file) {
    char command[1200];
    snprintf(command, sizeof command, "node %s/../outside/trade.mjs %s %s", TEST_DATA, what, file);
    return popen(command, "r");
}

static void every_exponent_is_that_of_the_published_list(void) {
    FILE *list = node("iso", "");
    char code[8];
    int digits, seen = 0;
    while (list && fscanf(list, "%7s %d", code, &digits) == 2) {
        static const char none[] = "XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA X"
                                   "XX"; /* no minor unit */
        const bool counts = strstr(none, code) == NULL;
        CHECK(money_exponent(code) == (counts ? digits : -1));
        seen += counts;
    }
    CHECK(list && pclose(list) == 0);
    size_t ours = 0;
    while (money_currency_at(ours)) ours++;
    CHECK(seen == (int)ours);
    printf("  figure: %d currencies of ISO 4217 agree with currency-codes 2.2.0\n", seen);
}

/* JSON strings of the script: as C would write them, with \n \" \\ and \uXXXX only for control characters. */
static void check_line(FILE *read, const char *uid, const char *kind, const char *start, const char *summary,
                       const char *words) {
    char line[4000] = "", want[4000];
    if (!fgets(line, sizeof line, read)) line[0] = 0;
    snprintf(want, sizeof want, "\"%s\" \"%s\" \"%s\" \"%s\" \"%s\"\n", uid, kind, start, summary, words);
    CHECK_TEXT(line, want);
}

static void a_calendar_is_read_as_it_was_meant(void) {
    char longest[600] = "";
    while (strlen(longest) < 500) strcat(longest, "l\u00e4nger \u6f22 ");
    longest[strlen(longest) - 1] = 0;
    const struct ics_event event[] = {
        {"a-1@russet", "Promised: seat; two, three\\four", "", "2026-03-01", 0},
        {"a-2@russet", longest, "first line\nsecond, line", "2028-02-29", 0},
        {"a-3@russet", "Pot ends", "", NULL, 1773502200000LL},
        {"a-4@russet",
         "\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8"
         "\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8"
         "\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8"
         "\xF0\x9F\x8E\xA8\xF0\x9F\x8E\xA8",
         "", "1999-12-31", 0}};
    struct text ics = {0};
    ics_write(event, 4, 1773496800000LL, &ics);
    size_t column = 0;
    for (size_t i = 0; i < ics.length;
         i++) { /* RFC 5545 section 3.1: at most 75 octets, CRLF, whole characters */
        if (ics.data[i] == '\n') {
            CHECK(i > 0 && ics.data[i - 1] == '\r' && column <= 76);
            column = 0;
            CHECK(i + 2 >= ics.length || ((unsigned char)ics.data[i + 2] & 0xC0) != 0x80);
        } else
            column++;
    }
    char path[] = "/tmp/russet-ics-XXXXXX";
    const int fd = mkstemp(path);
    CHECK(fd >= 0);
    FILE *file = fdopen(fd, "wb");
    CHECK(file && fwrite(ics.data, 1, ics.length, file) == ics.length);
    if (file) fclose(file);
    FILE *read = node("ics", path);
    CHECK(read != NULL);
    if (read) {
        check_line(read, "a-1@russet", "day", "2026-03-01", "Promised: seat; two, three\\\\four", "");
        check_line(read, "a-2@russet", "day", "2028-02-29", longest, "first line\\nsecond, line");
        check_line(read, "a-3@russet", "moment", "2026-03-14T15:30:00Z", "Pot ends", "");
        check_line(read, "a-4@russet", "day", "1999-12-31", event[3].summary, "");
        CHECK(pclose(read) == 0);
    }
    remove(path);
    text_free(&ics);
}

int main(void) {
    RUN(every_exponent_is_that_of_the_published_list);
    RUN(a_calendar_is_read_as_it_was_meant);
    return check_done();
}
