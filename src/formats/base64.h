/* Base 64 (RFC 4648, section 4): the standard alphabet with padding; line breaks are not taken. */
#ifndef RUSSET_FORMATS_BASE64_H
#define RUSSET_FORMATS_BASE64_H

#include "base/text.h"

void base64_add(struct text *out, const unsigned char *data, size_t n);
/* Exactly n bytes; false when the text is of another length or not base 64 (spare bits must be 0). */
bool base64_read(const char *text, unsigned char *out, size_t n) __attribute__((warn_unused_result));

#endif
