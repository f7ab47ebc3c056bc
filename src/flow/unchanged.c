#include "flow/unchanged.h"
#include "device/wall_clock.h"
#include <string.h>

const char *unchanged_time(struct book *book, long long ms, char out[WALL_TIME_TEXT]) {
    if (!ms) return "a time that the book does not have";
    wall_time_write_at(ms, book_offset_s(book, ms), out);
    out[10] = ' '; /* where the day ends */
    out[16] = 0;   /* whole minutes */
    return out;
}

bool unchanged_is(const char *seen, long long changed_ms) {
    char now[WALL_TIME_TEXT];
    return strcmp(seen, changed_ms ? wall_time_write(changed_ms, now) : "none") == 0;
}

enum status unchanged_check(const struct request *request, struct book *book, const char *what,
                            long long changed_ms, struct fault *fault) {
    char now[WALL_TIME_TEXT];
    const char *seen = request_text(request, "--unchanged-since");
    if (!seen || unchanged_is(seen, changed_ms)) return STATUS_OK;
    return FAULT(fault, CHANGED_SINCE, what, unchanged_time(book, changed_ms, now));
}

enum status unchanged_check_named(const struct request *request, struct book *book, const char *name,
                                  long long changed_ms, struct fault *fault) {
    struct text quoted = {0};
    text_format(&quoted, "\"%s\"", name);
    const enum status status = unchanged_check(request, book, quoted.data, changed_ms, fault);
    text_free(&quoted);
    return status;
}
