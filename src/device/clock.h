/* Time that only goes forward, in milliseconds from an arbitrary start; a fake beside the real one. */
#ifndef RUSSET_DEVICE_CLOCK_H
#define RUSSET_DEVICE_CLOCK_H

struct clock {
    long long (*now_ms)(void *self);
    void *self;
};

struct clock clock_real(void); /* the machine's monotonic clock */

/* Shows *ms; whoever owns the number moves it. */
struct clock clock_fake(long long *ms);

#endif
