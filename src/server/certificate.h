/* The server's own key and certificate (X.509, ECDSA P-256, by GnuTLS): made on first use, kept in the shop's
 * folder, made anew when the address has changed, because its name stands in it. */
#ifndef RUSSET_SERVER_CERTIFICATE_H
#define RUSSET_SERVER_CERTIFICATE_H

#include "base/memory.h"
#include "device/disk.h"

struct certificate {
    const char *key_pem, *certificate_pem; /* in the arena */
    char fingerprint[96];                  /* SHA-256, as "AB:CD:..." */
};
enum status certificate_get(const char *folder, const char *address, const struct disk *disk,
                            struct arena *arena, struct certificate *out, struct fault *fault) MUST_USE;

#endif
