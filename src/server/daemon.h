/* HTTP by libmicrohttpd: one thread a connection, bodies bounded and read whole before a route sees them, an
 * overall deadline for reading a request and not only an idle one, and the headers that every answer carries.
 */
#ifndef RUSSET_SERVER_DAEMON_H
#define RUSSET_SERVER_DAEMON_H

#include "server/call.h"
#include <microhttpd.h>

struct daemon_settings {
    const char *address;                   /* "127.0.0.1" or the address to listen on */
    unsigned port;                         /* 0: any free one */
    const char *key_pem, *certificate_pem; /* NULL: no TLS */
    route_answer *answer;                  /* everything that was read whole comes here */
    /* Before the body is read: 0, or the HTTP code to refuse with (wrong host, origin, not paired ...). */
    int (*refuse)(struct call *call);
    size_t (*body_most)(const struct call *call);
    int deadline_s;     /* within which a request must have come whole */
    size_t bodies_most; /* bytes of all bodies that are being read or acted on */
    struct server *server;
};

enum status daemon_start(const struct daemon_settings *settings, struct MHD_Daemon **out, unsigned *port,
                         struct fault *fault) MUST_USE;

#endif
