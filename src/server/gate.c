#include "server/gate.h"
#include "base/text.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

bool gate_host_is_ours(const char *host, const char *const *names) {
    for (; host && *names; names++)
        if (text_same_ignoring_case(host, *names)) return true;
    return false;
}

bool gate_origin_is_ours(const char *origin, bool changes, bool tls, const char *const *names) {
    if (!origin) return !changes;
    const char *scheme = tls ? "https://" : "http://";
    return text_starts(origin, scheme) && gate_host_is_ours(origin + strlen(scheme), names);
}

const char *gate_cookie(const char *header, const char *name, struct arena *arena) {
    const size_t n = strlen(name);
    for (const char *at = header; at && *at;) {
        at += strspn(at, " ;");
        const size_t length = strcspn(at, ";");
        if (length > n && strncmp(at, name, n) == 0 && at[n] == '=')
            return arena_text(arena, at + n + 1, length - n - 1);
        at += length;
    }
    return NULL;
}

void gate_make_token(char token[GATE_TOKEN + 1]) {
    unsigned char bytes[32];
    randombytes_buf(bytes, sizeof bytes);
    sodium_bin2base64(token, GATE_TOKEN + 1, bytes, sizeof bytes, sodium_base64_VARIANT_URLSAFE_NO_PADDING);
    sodium_memzero(bytes, sizeof bytes);
}

void gate_digest(const char *token, char hex[65]) {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, (const unsigned char *)token, strlen(token));
    sodium_bin2hex(hex, 65, digest, sizeof digest);
}

bool gate_same(const char *a, const char *b) {
    const size_t n = strlen(a);
    return n == strlen(b) && sodium_memcmp(a, b, n) == 0;
}
