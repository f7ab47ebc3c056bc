/* Heights as X3P (ISO 25178-72:2017): a ZIP with main.xml, bindata/data.bin and md5checksum.hex. Written from
 * the public schema of the format's reference library (ISO5436_2, 2007); lengths in metres, rows from the
 * top, x fastest, 64-bit floats, nothing compressed, no date: the same bytes every time. */
#ifndef RUSSET_FORMATS_X3P_OUT_H
#define RUSSET_FORMATS_X3P_OUT_H

#include "base/text.h"
#include "surface/areal.h"
#include <stdint.h>

/* Adds a whole file to bytes. */
void x3p_out(const struct relief *relief, struct text *bytes);

/* MD5 (RFC 1321) as 32 hexadecimal digits; CRC-32 of ZIP. What the container asks for: neither is a
 * safeguard. */
void md5_hex(const void *data, size_t n, char out[33]);
uint32_t crc32_of(const void *data, size_t n);

#endif
