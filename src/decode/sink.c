#include "decode/sink.h"
#include "formats/picture_rows.h"
#include "surface/picture.h"
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>

void sink_say(struct sink *sink, enum wire_said said, enum wire_refusal refusal) {
    sink->head.magic = WIRE_MAGIC;
    sink->head.said = said;
    sink->head.refusal = refusal;
    (void)!send(sink->socket, &sink->head, sizeof sink->head, MSG_NOSIGNAL);
}

static bool hear_go(struct sink *sink) {
    char go = 0;
    return recv(sink->socket, &go, 1, 0) == 1 && go == 1;
}

static bool begin_on_wire(struct sink *sink) {
    sink_say(sink, WIRE_HEAD, WIRE_REFUSED_NOTHING);
    return hear_go(sink);
}

static void *slot_on_wire(struct sink *sink) {
    while (sink->sent - sink->taken >= WIRE_SLOTS) {
        if (!hear_go(sink)) return NULL;
        sink->taken++;
    }
    return sink->at + (size_t)(sink->sent % WIRE_SLOTS) * WIRE_SLOT_BYTES;
}

static bool send_on_wire(struct sink *sink, uint32_t rows) {
    sink->head.y = sink->next;
    sink->head.rows = rows;
    sink_say(sink, WIRE_ROWS, WIRE_REFUSED_NOTHING);
    sink->sent++;
    return true;
}

bool sink_to_wire(struct sink *sink, int socket, int memory) {
    *sink =
        (struct sink){.begin = begin_on_wire, .slot = slot_on_wire, .send = send_on_wire, .socket = socket};
    void *at =
        mmap(NULL, (size_t)WIRE_SLOTS * WIRE_SLOT_BYTES, PROT_READ | PROT_WRITE, MAP_SHARED, memory, 0);
    sink->at = at == MAP_FAILED ? NULL : at;
    return sink->at != NULL;
}

static bool begin_in_memory(struct sink *sink) {
    sink->pixels = calloc((size_t)sink->head.width * sink->head.height, 3 * sizeof(uint16_t));
    sink->at = malloc(WIRE_SLOT_BYTES);
    return sink->pixels && sink->at;
}

static void *slot_in_memory(struct sink *sink) {
    return sink->at;
}

static bool place_in_memory(struct sink *sink, uint32_t rows) {
    picture_rows_place(&sink->head, sink->next, rows, sink->at, sink->pixels);
    return true;
}

void sink_to_memory(struct sink *sink) {
    *sink = (struct sink){
        .begin = begin_in_memory, .slot = slot_in_memory, .send = place_in_memory, .socket = -1};
}

void sink_end(struct sink *sink) {
    if (sink->socket >= 0) return;
    free(sink->pixels);
    free(sink->at);
    sink->pixels = NULL;
    sink->at = NULL;
}

static void fill_head(struct sink *sink, int orientation, int bits, const struct file_light *light) {
    sink->head.orientation = orientation >= 1 && orientation <= 8 ? (uint32_t)orientation : 1;
    sink->head.bits = (uint32_t)bits;
    sink->head.clip = light->clip;
    sink->head.reduced = (uint32_t)light->reduced;
    sink->head.raw = light->raw;
    sink->head.curve_known = light->curve_known;
    sink->head.note = light->note;
    memcpy(sink->head.to_srgb, light->to_srgb, sizeof light->to_srgb);
    memcpy(sink->head.curve8, light->curve8, sizeof light->curve8);
}

enum wire_refusal sink_begin(struct sink *sink, long long width, long long height, int orientation, int bits,
                             const struct file_light *light) {
    if (width < 1 || height < 1 || width > UINT32_MAX || height > UINT32_MAX) return WIRE_REFUSED_DAMAGED;
    sink->head.width = (uint32_t)width;
    sink->head.height = (uint32_t)height;
    fill_head(sink, orientation, bits, light);
    if (width > PICTURE_MOST_SIDE || height > PICTURE_MOST_SIDE ||
        width * height > PICTURE_MOST_MEGAPIXELS * 1000000LL)
        return WIRE_REFUSED_TOO_LARGE;
    return sink->begin(sink) ? WIRE_REFUSED_NOTHING : WIRE_REFUSED_MEMORY;
}

void *sink_room(struct sink *sink, int *rows) {
    const uint32_t fit = (uint32_t)(WIRE_SLOT_BYTES / picture_rows_stride(&sink->head));
    const uint32_t left = sink->head.height - sink->next;
    *rows = (int)(fit < left ? fit : left);
    return left > 0 ? sink->slot(sink) : NULL;
}

bool sink_send(struct sink *sink, int rows) {
    if (!sink->send(sink, (uint32_t)rows)) return false;
    sink->next += (uint32_t)rows;
    return true;
}

/* Rows in pieces that fit a slot; copy knows the kind of values. */
typedef void row_copy(void *to, const void *from, size_t count, int bands, const struct file_light *light);

static bool rows_through(struct sink *sink, int rows, const void *from, size_t stride, int bands,
                         const struct file_light *light, row_copy *copy) {
    const unsigned char *at = from;
    const size_t out = picture_rows_stride(&sink->head);
    while (rows > 0) {
        int fit;
        unsigned char *to = sink_room(sink, &fit);
        if (!to) return false;
        if (fit > rows) fit = rows;
        for (int i = 0; i < fit; i++, at += stride, to += out) copy(to, at, sink->head.width, bands, light);
        if (!sink_send(sink, fit)) return false;
        rows -= fit;
    }
    return true;
}

static void copy8(void *to, const void *from, size_t count, int bands, const struct file_light *light) {
    (void)light;
    uint8_t *t = to;
    const uint8_t *f = from;
    if (bands == 3) {
        memcpy(t, f, 3 * count);
        return;
    }
    for (size_t i = 0; i < count; i++, t += 3, f += bands) memcpy(t, f, 3);
}

static void copy16(void *to, const void *from, size_t count, int bands, const struct file_light *light) {
    uint16_t *t = to;
    const uint16_t *f = from;
    if (!light) {
        memcpy(t, f, 3 * count * sizeof *t);
        return;
    }
    for (size_t i = 0; i < count; i++, t += 3, f += bands)
        for (int c = 0; c < 3; c++) t[c] = light->curve16[c][f[c]];
}

bool sink_rows8(struct sink *sink, int rows, const uint8_t *from, size_t stride, int bands) {
    return rows_through(sink, rows, from, stride, bands, NULL, copy8);
}

bool sink_rows16(struct sink *sink, int rows, const uint16_t *from, size_t stride, int bands,
                 const struct file_light *light) {
    return rows_through(sink, rows, from, stride, bands, light, copy16);
}
