#include "base/status.h"

int status_exit_code(enum status status) {
    switch (status) {
#define STATUS(name, value, exit_code, http_code, text) \
    case STATUS_##name:                                 \
        return exit_code;
        STATUS_LIST(STATUS)
#undef STATUS
    }
    return 4;
}

int status_http_code(enum status status) {
    switch (status) {
#define STATUS(name, value, exit_code, http_code, text) \
    case STATUS_##name:                                 \
        return http_code;
        STATUS_LIST(STATUS)
#undef STATUS
    }
    return 500;
}

const char *status_text(enum status status) {
    switch (status) {
#define STATUS(name, value, exit_code, http_code, text) \
    case STATUS_##name:                                 \
        return text;
        STATUS_LIST(STATUS)
#undef STATUS
    }
    return "unknown status";
}
