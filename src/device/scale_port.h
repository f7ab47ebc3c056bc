/* Where a scale's bytes come from: a small struct of function pointers, with a fake beside the real ones. */
#ifndef RUSSET_DEVICE_SCALE_PORT_H
#define RUSSET_DEVICE_SCALE_PORT_H

#include "base/fault.h"
#include <stdbool.h>
#include <stddef.h>

enum port_came {
    PORT_BYTES,
    PORT_QUIET, /* nothing within the wait, or interrupted by a signal */
    PORT_GONE,  /* unplugged: close it and try to open it again */
    PORT_ENDED, /* the stream is over for good (a pipe or a file) */
};

struct scale_port {
    enum status (*open)(void *self, struct fault *fault);
    enum port_came (*read)(void *self, void *to, size_t most, int wait_ms, size_t *came);
    void (*close)(void *self);
    void *self;
};

/* name: "-" for standard input; a serial port (opened by libserialport); a pseudo-terminal; a pipe or a file.
 * baud is for a serial port: 8 data bits and no parity, or 7 and even. Copied. Free with scale_port_free. */
struct scale_port scale_port_real(const char *name, int baud, bool seven_even);
void scale_port_free(struct scale_port port); /* closes it too */

/* Speeds that a serial port may have, lowest first, ended by 0. */
const int *scale_port_bauds(void);

/* The fake: a script of what comes, piece by piece. The pieces are borrowed. */
struct port_piece {
    enum port_came came;
    const char *bytes;
    size_t size;
};
struct port_script {
    const struct port_piece *pieces;
    size_t count, at, offset;
    int refuse_opens; /* the next so many opens fail */
    int opens, closes;
};
struct scale_port scale_port_fake(struct port_script *script);

#endif
