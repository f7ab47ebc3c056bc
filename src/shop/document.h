/* JSON documents as the book keeps them: one line, keys in their order, numbers with at most 15 digits (what
 * a double keeps of a decimal number), so that reading and writing again gives the same bytes; and the seal
 * of papers that must not be altered unseen. */
#ifndef RUSSET_SHOP_DOCUMENT_H
#define RUSSET_SHOP_DOCUMENT_H

#include "base/fault.h"
#include "base/memory.h"
#include <jansson.h>
#include <stdbool.h>

const char *document_text(const json_t *document, struct arena *arena);
/* From a row of the book; INTERNAL when it is no JSON. The caller owns *out. */
enum status document_read(const char *text, json_t **out, struct fault *fault) MUST_USE;

/* Sets "digest": "sha256:" and 64 hexadecimal digits over document_text of the object without that key. */
void document_seal(json_t *document);
bool document_seal_holds(const json_t *document);

#endif
