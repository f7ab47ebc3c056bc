/* GET /api/scale: what the scale at the server's port says, as server-sent events.
 *
 *     event: reading  {"g": 12.34, "step_g": 0.01, "still": true}     still is null when the scale does not
 * tell event: state    {"state": "here" | "gone" | "overload" | "underload" | "trouble" | "no mass" |
 * "unread"}
 *
 * One thread reads the port for all who look; a port that is gone is opened again every half second. */
#ifndef RUSSET_SERVER_SCALE_ROUTE_H
#define RUSSET_SERVER_SCALE_ROUTE_H

#include "device/scale_port.h"
#include "server/call.h"

struct scale_feed;
/* port_name NULL: there is no scale, and the route says so (404). pattern: NULL, or what --pattern said. */
enum status scale_feed_start(const char *port_name, const char *pattern, int baud, struct scale_feed **out,
                             struct fault *fault) MUST_USE;
/* Ends the reading and every stream; whoever asks afterwards is sent away. NULL is fine. */
void scale_feed_stop(struct scale_feed *feed);
/* Once nobody can ask any more. */
void scale_feed_free(struct scale_feed *feed);
void scale_feed_answer(struct scale_feed *feed, struct answer *answer);

#endif
