/* What stands behind the daemon: which request goes to which route, who may ask, how long its body may be.
 * struct server is for server.c, which starts and ends it, and for tests that ask without a network. */
#ifndef RUSSET_SERVER_ROUTES_H
#define RUSSET_SERVER_ROUTES_H

#include "flow/serve_flow.h"
#include "server/call.h"
#include "server/certificate.h"
#include "server/door.h"

enum { SERVER_NAMES = 4 };

struct server {
    const struct surroundings *around;
    const struct serve_settings *settings;
    struct pairing *pairing;
    struct scale_feed *scale;
    struct certificate certificate;
    unsigned port;
    const char *names[SERVER_NAMES + 1];
    const char *demo; /* the folder of the demo's shop */
    struct door door;
};

/* The daemon's three questions (daemon.h). routes_refuse says 0, or the code to refuse with, and fills in who
 * asks and in which shop; the others expect it to have been called. */
int routes_refuse(struct call *call);
size_t routes_body_most(const struct call *call);
route_answer routes_answer;

#endif
