/* EXIF 2.32, 4.6.4 A, tag 274: what row 0 and column 0 of the file are to the eye. With x, y in the file and
 * W, H its size:  1 (x, y)  2 (W-1-x, y)  3 (W-1-x, H-1-y)  4 (x, H-1-y)  5 (y, x)  6 (H-1-y, x)
 * 7 (H-1-y, W-1-x)  8 (y, W-1-x). */
#include "decode/sink.h"
#include "surface/picture.h"
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>

void sink_say(int socket, enum wire_said said, enum wire_refusal refusal, const struct sink *sink) {
    struct wire_record record = sink->head;
    record.magic = WIRE_MAGIC;
    record.said = said;
    record.refusal = refusal;
    (void)!send(socket, &record, sizeof record, MSG_NOSIGNAL);
}

static size_t value_count(const struct wire_record *head) {
    return (size_t)head->width * head->height * 3;
}

static uint16_t *begin_on_wire(struct sink *sink, const struct wire_record *head) {
    char go = 0;
    sink_say(sink->socket, WIRE_HEAD, WIRE_REFUSED_NOTHING, sink);
    if (recv(sink->socket, &go, 1, 0) != 1 || go != 1) return NULL;
    void *at =
        mmap(NULL, value_count(head) * sizeof(uint16_t), PROT_READ | PROT_WRITE, MAP_SHARED, sink->memory, 0);
    return at == MAP_FAILED ? NULL : at;
}

static uint16_t *begin_in_memory(struct sink *sink, const struct wire_record *head) {
    (void)sink;
    return calloc(value_count(head), sizeof(uint16_t));
}

void sink_to_wire(struct sink *sink, int socket, int memory) {
    *sink = (struct sink){.begin = begin_on_wire, .socket = socket, .memory = memory};
}

void sink_to_memory(struct sink *sink) {
    *sink = (struct sink){.begin = begin_in_memory, .socket = -1, .memory = -1};
}

static void fill_head(struct sink *sink, const struct light *light) {
    const bool turned = sink->orientation >= 5;
    sink->head = (struct wire_record){.width = (uint32_t)(turned ? sink->height : sink->width),
                                      .height = (uint32_t)(turned ? sink->width : sink->height),
                                      .clip = light->clip,
                                      .reduced = (uint32_t)light->reduced,
                                      .raw = light->raw,
                                      .curve_known = light->curve_known,
                                      .note = light->note};
    memcpy(sink->head.to_srgb, light->to_srgb, sizeof light->to_srgb);
}

enum wire_refusal sink_begin(struct sink *sink, int width, int height, int orientation,
                             const struct light *light) {
    sink->width = width;
    sink->height = height;
    sink->orientation = orientation >= 1 && orientation <= 8 ? orientation : 1;
    sink->light = light;
    if (width < 1 || height < 1) return WIRE_REFUSED_DAMAGED;
    fill_head(sink, light);
    if (width > PICTURE_MOST_SIDE || height > PICTURE_MOST_SIDE ||
        (long long)width * height > PICTURE_MOST_MEGAPIXELS * 1000000LL)
        return WIRE_REFUSED_TOO_LARGE;
    sink->pixels = sink->begin(sink, &sink->head);
    return sink->pixels ? WIRE_REFUSED_NOTHING : WIRE_REFUSED_MEMORY;
}

/* Where pixel (0, y) of the file goes, and the step from one pixel of its row to the next. */
static uint16_t *row_place(const struct sink *sink, int y, ptrdiff_t *step) {
    const ptrdiff_t across = 3, down = 3 * (ptrdiff_t)sink->head.width;
    const ptrdiff_t right = sink->width - 1, bottom = sink->height - 1, row = y;
    switch (sink->orientation) {
    case 2:
        *step = -across;
        return sink->pixels + right * across + row * down;
    case 3:
        *step = -across;
        return sink->pixels + right * across + (bottom - row) * down;
    case 4:
        *step = across;
        return sink->pixels + (bottom - row) * down;
    case 5:
        *step = down;
        return sink->pixels + row * across;
    case 6:
        *step = down;
        return sink->pixels + (bottom - row) * across;
    case 7:
        *step = -down;
        return sink->pixels + (bottom - row) * across + right * down;
    case 8:
        *step = -down;
        return sink->pixels + row * across + right * down;
    default:
        *step = across;
        return sink->pixels + row * down;
    }
}

/* What was written in order stays in the shared memory, but need not count as ours any more. */
static void give_back(struct sink *sink, int rows_done) {
    enum { PIECE = 4 << 20 };
    if (sink->orientation != 1 || sink->socket < 0) return;
    const size_t done = (size_t)rows_done * (size_t)sink->width * 3 * sizeof(uint16_t);
    const size_t until = done / PIECE * PIECE;
    if (until <= sink->given_back) return;
    (void)madvise((char *)sink->pixels + sink->given_back, until - sink->given_back, MADV_DONTNEED);
    sink->given_back = until;
}

static void straight8(const struct light *light, uint16_t *to, const uint8_t *from, int n) {
    const uint16_t *r = light->curve8[0], *g = light->curve8[1], *b = light->curve8[2];
    for (int x = 0; x < n; x++, to += 3, from += 3) {
        to[0] = r[from[0]];
        to[1] = g[from[1]];
        to[2] = b[from[2]];
    }
}

static void row8(const struct sink *sink, int y, int from_x, int to_x, const uint8_t *from, int bands) {
    ptrdiff_t step;
    uint16_t *to = row_place(sink, y, &step) + from_x * step;
    from += (ptrdiff_t)from_x * bands;
    for (int x = from_x; x < to_x; x++, to += step, from += bands)
        for (int c = 0; c < 3; c++) to[c] = sink->light->curve8[c][from[c]];
}

static void row16(const struct sink *sink, int y, int from_x, int to_x, const uint16_t *from, int bands) {
    ptrdiff_t step;
    uint16_t *to = row_place(sink, y, &step) + from_x * step;
    from += (ptrdiff_t)from_x * bands;
    for (int x = from_x; x < to_x; x++, to += step, from += bands)
        for (int c = 0; c < 3; c++) to[c] = sink->light->curve16[c][from[c]];
}

/* A turned picture is written in tiles, so that what is near in memory is written at one time. */
enum { TILE = 32 };

void sink_rows8(struct sink *sink, int y, int rows, const uint8_t *from, size_t stride, int bands) {
    if (sink->orientation == 1 && bands == 3) {
        for (int i = 0; i < rows; i++) {
            ptrdiff_t step;
            straight8(sink->light, row_place(sink, y + i, &step), from + (size_t)i * stride, sink->width);
        }
    } else {
        for (int x = 0; x < sink->width; x += TILE)
            for (int i = 0; i < rows; i++)
                row8(sink, y + i, x, x + TILE < sink->width ? x + TILE : sink->width,
                     from + (size_t)i * stride, bands);
    }
    give_back(sink, y + rows);
}

void sink_rows16(struct sink *sink, int y, int rows, const uint16_t *from, size_t stride, int bands) {
    for (int x = 0; x < sink->width; x += TILE)
        for (int i = 0; i < rows; i++)
            row16(sink, y + i, x, x + TILE < sink->width ? x + TILE : sink->width,
                  from + (size_t)i * (stride / sizeof *from), bands);
    give_back(sink, y + rows);
}
