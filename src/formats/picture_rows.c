/* EXIF 2.32, 4.6.4 A, tag 274: what row 0 and column 0 of the file are to the eye. With x, y in the file and
 * W, H its size:  1 (x, y)  2 (W-1-x, y)  3 (W-1-x, H-1-y)  4 (x, H-1-y)  5 (y, x)  6 (H-1-y, x)
 * 7 (H-1-y, W-1-x)  8 (y, W-1-x). */
#include "formats/picture_rows.h"
#include <string.h>

size_t picture_rows_stride(const struct wire_record *head) {
    return (size_t)head->width * 3 * (head->bits / 8);
}

uint32_t picture_rows_width(const struct wire_record *head) {
    return head->orientation >= 5 ? head->height : head->width;
}

uint32_t picture_rows_height(const struct wire_record *head) {
    return head->orientation >= 5 ? head->width : head->height;
}

/* Where pixel (0, row) of the file goes, and the step from one pixel of its row to the next. */
static uint16_t *row_place(const struct wire_record *head, ptrdiff_t row, uint16_t *pixels, ptrdiff_t *step) {
    const ptrdiff_t across = 3, down = 3 * (ptrdiff_t)picture_rows_width(head);
    const ptrdiff_t right = (ptrdiff_t)head->width - 1, bottom = (ptrdiff_t)head->height - 1;
    switch (head->orientation) {
    case 2:
        *step = -across;
        return pixels + right * across + row * down;
    case 3:
        *step = -across;
        return pixels + right * across + (bottom - row) * down;
    case 4:
        *step = across;
        return pixels + (bottom - row) * down;
    case 5:
        *step = down;
        return pixels + row * across;
    case 6:
        *step = down;
        return pixels + (bottom - row) * across;
    case 7:
        *step = -down;
        return pixels + (bottom - row) * across + right * down;
    case 8:
        *step = -down;
        return pixels + row * across + right * down;
    default:
        *step = across;
        return pixels + row * down;
    }
}

/* Pixels x..end-1 of one row, 8 bits through the curves. */
static void place8(const struct wire_record *head, const uint8_t *from, uint16_t *to, ptrdiff_t step,
                   uint32_t count) {
    const uint16_t *r = head->curve8[0], *g = head->curve8[1], *b = head->curve8[2];
    for (uint32_t i = 0; i < count; i++, to += step, from += 3) {
        to[0] = r[from[0]];
        to[1] = g[from[1]];
        to[2] = b[from[2]];
    }
}

static void place16(const uint16_t *from, uint16_t *to, ptrdiff_t step, uint32_t count) {
    for (uint32_t i = 0; i < count; i++, to += step, from += 3) memcpy(to, from, 3 * sizeof *to);
}

/* A turned picture is written in tiles, so that what is near in memory is written at one time. */
void picture_rows_place(const struct wire_record *head, uint32_t y, uint32_t rows, const void *from,
                        uint16_t *pixels) {
    const uint32_t tile = head->orientation >= 5 ? 32 : head->width;
    const size_t stride = picture_rows_stride(head), pixel = 3 * (head->bits / 8);
    for (uint32_t x = 0; x < head->width; x += tile) {
        const uint32_t count = head->width - x < tile ? head->width - x : tile;
        for (uint32_t i = 0; i < rows; i++) {
            ptrdiff_t step;
            uint16_t *to = row_place(head, (ptrdiff_t)y + i, pixels, &step);
            const void *at = (const char *)from + i * stride + x * pixel;
            to += (ptrdiff_t)x * step;
            if (head->bits == 8)
                place8(head, at, to, step, count);
            else
                place16(at, to, step, count);
        }
    }
}
