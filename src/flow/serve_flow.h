/* `russet serve`. The server stands above the flows, so the program hands it in as a hook. */
#ifndef RUSSET_FLOW_SERVE_FLOW_H
#define RUSSET_FLOW_SERVE_FLOW_H

#include "base/fault.h"

struct surroundings;
struct serve_settings {
    const char *shop;   /* the shop's folder */
    const char *listen; /* NULL: loopback only, no TLS; else the address that devices on the hotspot use */
    unsigned port;      /* 0: any free one */
    const char *scale, *pattern; /* port of the scale and how an odd one writes; NULL for none */
    int baud;
};
typedef enum status serve_hook(const struct surroundings *around, const struct serve_settings *settings,
                               struct fault *fault);

#endif
