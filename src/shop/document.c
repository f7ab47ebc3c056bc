#include "shop/document.h"
#include "shop/photographs.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

const char *document_text(const json_t *document, struct arena *arena) {
    char *dumped = json_dumps(document, JSON_COMPACT | JSON_REAL_PRECISION(15) | JSON_ENCODE_ANY);
    const char *text = arena_text(arena, dumped ? dumped : "null", dumped ? strlen(dumped) : 4);
    free(dumped);
    return text;
}

enum status document_read(const char *text, json_t **out, struct fault *fault) {
    *out = json_loads(text, JSON_DECODE_ANY | JSON_REJECT_DUPLICATES, NULL);
    return *out ? STATUS_OK : FAULT0(fault, BOOK_DOCUMENT_BROKEN);
}

static void digest_of(const json_t *document, char out[SHA256_TEXT + 7]) {
    struct arena *arena = arena_new();
    json_t *bare = json_copy((json_t *)(uintptr_t)document);
    json_object_del(bare, "digest");
    const char *text = document_text(bare, arena);
    memcpy(out, "sha256:", 8);
    sha256_of(text, strlen(text), out + 7);
    json_decref(bare);
    arena_free(arena);
}

void document_seal(json_t *document) {
    char digest[SHA256_TEXT + 7];
    digest_of(document, digest);
    json_object_set_new(document, "digest", json_string(digest));
}

bool document_seal_holds(const json_t *document) {
    char digest[SHA256_TEXT + 7];
    const char *said = json_string_value(json_object_get(document, "digest"));
    digest_of(document, digest);
    return said && strcmp(said, digest) == 0;
}
