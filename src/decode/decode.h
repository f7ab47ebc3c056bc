/* A stranger's file, wholly in memory, to rows in a sink. These run in the decoder's own process; the fuzzers
 * call them directly. */
#ifndef RUSSET_DECODE_DECODE_H
#define RUSSET_DECODE_DECODE_H

#include "decode/sink.h"

/* Loads what a library would load later (decoders of libheif): once the fence stands, nothing is opened. */
void decode_prepare(const unsigned char *data, size_t size);
/* By its content. NOTHING: every pixel was given to the sink. */
enum wire_refusal decode_any(const unsigned char *data, size_t size, struct sink *sink);

enum wire_refusal decode_jpeg(const unsigned char *data, size_t size, struct sink *sink);
enum wire_refusal decode_png(const unsigned char *data, size_t size, struct sink *sink);
enum wire_refusal decode_tiff(const unsigned char *data, size_t size, struct sink *sink);
enum wire_refusal decode_heic(const unsigned char *data, size_t size, struct sink *sink);
void decode_heic_prepare(void);
enum wire_refusal decode_raw(const unsigned char *data, size_t size, struct sink *sink);

#endif
