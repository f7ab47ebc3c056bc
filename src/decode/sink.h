/* Where decoded rows go: three values a pixel, 8 bits as they stand in the file or 16 bits of linear light,
 * in order, a strip at a time. */
#ifndef RUSSET_DECODE_SINK_H
#define RUSSET_DECODE_SINK_H

#include "decode/profile.h"
#include "formats/picture_wire.h"
#include <stdbool.h>
#include <stddef.h>

struct sink {
    bool (*begin)(struct sink *sink); /* the head is made; false ends the decoding */
    void *(*slot)(struct sink *sink); /* WIRE_SLOT_BYTES to write to; NULL ends the decoding */
    bool (*send)(struct sink *sink, uint32_t rows);
    struct wire_record head;
    uint32_t next;     /* the row that comes next */
    int socket;        /* over the wire */
    unsigned char *at; /* the ring, or one slot */
    unsigned sent, taken;
    uint16_t *pixels; /* in this process */
};

/* The sinks: over the wire, and in this process (for tests; sink_end frees the pixels too). */
bool sink_to_wire(struct sink *sink, int socket, int memory);
void sink_to_memory(struct sink *sink);
void sink_end(struct sink *sink);

/* Checks the size, then begins. bits 8: rows still go through light's curves; 16: they are linear. */
enum wire_refusal sink_begin(struct sink *sink, long long width, long long height, int orientation, int bits,
                             const struct file_light *light);
/* Room for the next *rows rows (at least one, none beyond the last); NULL: nobody takes them any more. */
void *sink_room(struct sink *sink, int *rows);
bool sink_send(struct sink *sink, int rows);

/* A strip of any rows, as most libraries give them: bands 3 or 4 values a pixel (the fourth is dropped), rows
 * stride bytes apart. 16 bits go through light's wide curves; NULL: they are
 * linear already (bands 3). */
bool sink_rows8(struct sink *sink, int rows, const uint8_t *from, size_t stride, int bands);
bool sink_rows16(struct sink *sink, int rows, const uint16_t *from, size_t stride, int bands,
                 const struct file_light *light);

void sink_say(struct sink *sink, enum wire_said said, enum wire_refusal refusal);

#endif
