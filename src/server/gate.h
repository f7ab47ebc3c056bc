/* Who may ask. Every check is a pure question about strings; the answers are tried in tests one by one.
 *
 *     Host     must be a name this server was started under: a page of a stranger whose name was re-bound to
 * this address is refused (DNS rebinding). Origin   of everything that changes something must be this
 * server's own; a form or script of another page is refused. Cookies are SameSite=Strict besides. Cookie one
 * per device, 256 bits; only its SHA-256 is kept. */
#ifndef RUSSET_SERVER_GATE_H
#define RUSSET_SERVER_GATE_H

#include "base/memory.h"
#include <stdbool.h>

enum { GATE_TOKEN = 43 }; /* characters of 256 bits in base64url */

/* names: the allowed "host:port", ended by NULL. */
bool gate_host_is_ours(const char *host, const char *const *names);
/* origin NULL is fine for a question that changes nothing. */
bool gate_origin_is_ours(const char *origin, bool changes, bool tls, const char *const *names);
/* The value of one cookie out of a Cookie header; NULL when it is not there. */
const char *gate_cookie(const char *header, const char *name, struct arena *arena);

void gate_make_token(char token[GATE_TOKEN + 1]);
/* SHA-256 of a token in hex, which is all that is ever kept of it. */
void gate_digest(const char *token, char hex[65]);
bool gate_same(const char *a, const char *b); /* in constant time for equal lengths */

#endif
