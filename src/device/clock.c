#include "device/clock.h"
#include <time.h>

static long long real_now(void *self) {
    (void)self;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static long long fake_now(void *self) {
    return *(const long long *)self;
}

struct clock clock_real(void) {
    return (struct clock){real_now, 0};
}

struct clock clock_fake(long long *ms) {
    return (struct clock){fake_now, ms};
}
