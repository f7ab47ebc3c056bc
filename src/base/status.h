/* How a call ended. The numbers are pinned: scripts see the exit codes, the page will see the HTTP codes.
 *
 * STATUS(name, value, exit code, HTTP code, text) */
#ifndef RUSSET_BASE_STATUS_H
#define RUSSET_BASE_STATUS_H

#define STATUS_LIST(STATUS)                                    \
    STATUS(OK, 0, 0, 200, "done")                              \
    STATUS(NO, 1, 1, 200, "the work ran and the answer is no") \
    STATUS(USAGE, 2, 2, 400, "wrong usage")                    \
    STATUS(INPUT, 3, 3, 422, "bad input")                      \
    STATUS(MACHINE, 4, 4, 503, "the machine failed")           \
    STATUS(CANCELLED, 5, 130, 409, "stopped by the user")      \
    STATUS(INTERNAL, 6, 4, 500, "a defect in russet itself")

enum status {
#define STATUS(name, value, exit_code, http_code, text) STATUS_##name = value,
    STATUS_LIST(STATUS)
#undef STATUS
};

int status_exit_code(enum status status);
int status_http_code(enum status status);
const char *status_text(enum status status);

#define MUST_USE __attribute__((warn_unused_result))

#endif
