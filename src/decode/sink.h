/* Where decoded rows go: through the curve of the profile to linear light, turned as one looks at the
 * photograph, into memory that somebody else owns. */
#ifndef RUSSET_DECODE_SINK_H
#define RUSSET_DECODE_SINK_H

#include "decode/profile.h"
#include "formats/picture_wire.h"
#include <stdbool.h>
#include <stddef.h>

struct sink {
    /* Tells the head and gets the memory for width * height * 3 values; NULL ends the decoding. */
    uint16_t *(*begin)(struct sink *sink, const struct wire_record *head);
    int socket, memory; /* of the decoder proper */
    uint16_t *pixels;
    struct wire_record head; /* of the picture as it is looked at */
    int width, height;       /* as they lie in the file */
    int orientation;         /* EXIF 1..8 */
    const struct light *light;
    size_t given_back; /* bytes of pixels that need not stay mapped */
};

/* Checks the size, then begins: width x height as in the file. */
enum wire_refusal sink_begin(struct sink *sink, int width, int height, int orientation,
                             const struct light *light);
/* Rows y..y+rows-1 of the file; bands 3 or 4 values a pixel (the fourth is dropped), rows stride bytes apart.
 */
void sink_rows8(struct sink *sink, int y, int rows, const uint8_t *from, size_t stride, int bands);
void sink_rows16(struct sink *sink, int y, int rows, const uint16_t *from, size_t stride, int bands);

/* The sinks: over the wire, and in this process (for tests; free sink->pixels). */
void sink_to_wire(struct sink *sink, int socket, int memory);
void sink_to_memory(struct sink *sink);
void sink_say(int socket, enum wire_said said, enum wire_refusal refusal, const struct sink *sink);

#endif
