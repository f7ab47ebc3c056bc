/* What happens at the door, one line each on standard error (in the journal, when the bench is a service):
 * who was let in or sent away, what was refused, from which address.
 *
 *     2026-11-26T14:40:02Z 192.168.4.7: let in "bench phone".
 *
 * How many were refused since the server began, and when the last was, the page tells in its settings.
 * No ticket, code, cookie, path or name of a customer stands in a line. Whoever knocks without end fills no
 * disk: after thirty lines in a minute the rest are counted, and told as one. */
#ifndef RUSSET_SERVER_DOOR_H
#define RUSSET_SERVER_DOOR_H

#include "device/wall_clock.h"
#include "server/call.h"
#include <pthread.h>

struct door {
    pthread_mutex_t lock;
    long long minute;
    unsigned told, untold; /* in that minute */
    unsigned refused;      /* since the server began */
    long long refused_ms;  /* the last */
};

void door_open(struct door *door);
void door_close(struct door *door);
/* Counts a refusal, besides what door_say says of it. */
void door_refuse(struct door *door, const struct wall_clock *clock);
/* {"count", "last": wall time, or null} */
json_t *door_refusals(struct door *door);
/* what: a sentence of the catalogue (SERVER_SAID_...). */
void door_say(struct door *door, const struct wall_clock *clock, const struct call *call,
              const struct fault *what);

#endif
