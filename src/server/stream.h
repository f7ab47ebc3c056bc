/* Server-sent events (WHATWG HTML, "server-sent events") from one writer to one reader, in their order. */
#ifndef RUSSET_SERVER_STREAM_H
#define RUSSET_SERVER_STREAM_H

#include "base/text.h"

struct stream;
/* Two hold it: the writer and the reader; each lets go once. gone (may be NULL) is called once, in the
 * reader's thread, when the reader leaves before the end. */
struct stream *stream_new(void (*gone)(void *context), void *context) __attribute__((returns_nonnull));
void stream_let_go(struct stream *stream);

/* data is one line (JSON). Dropped when nobody reads any more. */
void stream_send(struct stream *stream, const char *event, const char *data);
/* The bytes of an open file (one line). Waits for the reader, so that little of them is in memory at a time.
 */
void stream_send_file(struct stream *stream, const char *event, int fd);
void stream_end(struct stream *stream);

/* The reader: waits up to wait_ms for bytes; 0 when there are none yet, -1 at the end. */
long stream_take(struct stream *stream, char *to, size_t most, int wait_ms);
void stream_leave(struct stream *stream);   /* the reader has gone */
bool stream_is_left(struct stream *stream); /* for the writer */

#endif
