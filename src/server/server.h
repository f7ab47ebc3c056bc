/* The page's server: the operations of the table behind HTTP, on loopback, or with TLS for paired devices on
 * the van's hotspot. It adds nothing to what the command line can do. */
#ifndef RUSSET_SERVER_SERVER_H
#define RUSSET_SERVER_SERVER_H

#include "flow/operation.h"
#include "flow/serve_flow.h"
#include "server/call.h"
#include "shop/asked_store.h"

/* Serves until it is told to stop by the work of the surroundings (the serve_hook of the program). */
serve_hook server_serve;

/* ---- for the routes ---- */

/* Whether an operation is to be had over HTTP. */
bool server_serves(const struct operation *operation);
/* What an operation runs in when the page asks for it, in the shop of that call. */
void server_surroundings(const struct call *call, const struct disk *disk, struct work *work,
                         struct arena *arena, struct surroundings *out);
enum status server_book(const struct call *call, struct book **out, struct fault *fault) MUST_USE;
/* The document of an entry, in the arena. */
enum status server_entry_bytes(const struct call *call, const char *id, struct arena *arena,
                               struct bytes *out, struct fault *fault) MUST_USE;
/* A photograph that the shop keeps, or one that arrived in pieces, as an open file for the caller to close.
 */
enum status server_photo_file(const struct call *call, const char *sha256, bool upload, int *fd,
                              struct fault *fault) MUST_USE;
/* Whether the request with that key was carried out, and what it made. */
bool server_asked(const struct call *call, const char *key, struct asked_row *made);
struct pairing *server_pairing(struct server *server);
const char *server_demo(const struct server *server); /* the folder of the demo's shop */
bool server_has_tls(const struct server *server);

#endif
