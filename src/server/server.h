/* The page's server: the operations of the table behind HTTP, on loopback, or with TLS for paired devices on
 * the van's hotspot. It adds nothing to what the command line can do. */
#ifndef RUSSET_SERVER_SERVER_H
#define RUSSET_SERVER_SERVER_H

#include "flow/operation.h"
#include "flow/serve_flow.h"
#include "server/call.h"

/* Serves until it is told to stop by the work of the surroundings (the serve_hook of the program). */
serve_hook server_serve;

/* ---- for the routes ---- */

/* Whether an operation is to be had over HTTP. */
bool server_serves(const struct operation *operation);
/* What an operation runs in when the page asks for it. */
void server_surroundings(struct server *server, const struct disk *disk, struct work *work,
                         struct arena *arena, struct surroundings *out);
/* Bytes that the shop keeps: kind "entry" or "photo". */
enum status server_shop_bytes(struct server *server, const char *kind, const char *id, struct arena *arena,
                              struct bytes *out, struct fault *fault) MUST_USE;
struct pairing *server_pairing(struct server *server);
bool server_has_tls(const struct server *server);

#endif
