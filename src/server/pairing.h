/* How a device comes in: by the token of the printed address (once), or by the six digits beside the QR
 * picture. Devices last in the shop's book, as digests of their cookies. */
#ifndef RUSSET_SERVER_PAIRING_H
#define RUSSET_SERVER_PAIRING_H

#include "device/clock.h"
#include "server/gate.h"
#include "shop/book.h"
#include <jansson.h>

enum { PAIRING_CODE = 6, PAIRING_TRIES = 5, PAIRING_MINUTES = 5, PAIRING_SLEEP_DAYS = 30 };

struct pairing;
enum status pairing_open(const char *shop, struct book_how how, struct clock clock, struct pairing **out,
                         struct fault *fault) MUST_USE;
void pairing_close(struct pairing *pairing);

/* A token for an address; it lets in one device, once. */
const char *pairing_ticket(struct pairing *pairing, struct arena *arena);
/* A new code of six digits, for PAIRING_MINUTES and one device; the one before ends. */
void pairing_new_code(struct pairing *pairing, char code[PAIRING_CODE + 1]);

/* Trades a ticket or a code for a cookie. NO when it is wrong, was used or is too old; after PAIRING_TRIES
 * wrong codes the code is dead. MACHINE when the device could not be kept. */
enum status pairing_admit(struct pairing *pairing, const char *ticket_or_code, const char *name,
                          char cookie[GATE_TOKEN + 1], struct fault *fault) MUST_USE;
/* The id of the device with this cookie, in the arena; NULL: unknown or revoked. One that was not here for
 * PAIRING_SLEEP_DAYS is revoked (OWASP ASVS 4.0.3, 3.3.2). */
const char *pairing_device(struct pairing *pairing, const char *cookie, struct arena *arena);
json_t *pairing_list(struct pairing *pairing, const char *own_id); /* [{id, name, paired, seen, own}] */
enum status pairing_revoke(struct pairing *pairing, const char *id, struct fault *fault) MUST_USE;

#endif
