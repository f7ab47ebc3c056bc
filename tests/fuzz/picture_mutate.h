/* Mutations of photographs that keep the container whole: a PNG's chunks with right lengths and checksums, a
 * JPEG's segments with right lengths, a TIFF's entries. */
#ifndef RUSSET_TESTS_PICTURE_MUTATE_H
#define RUSSET_TESTS_PICTURE_MUTATE_H

#include "mutate.h"

#ifdef __clang__
#pragma clang attribute push(__attribute__((no_sanitize("coverage"))), apply_to = function)
#endif

/* ---- PNG: length, kind, bytes, CRC-32 (ISO/IEC 15948, 5.3 and annex D) ---- */

static inline uint32_t big32(const uint8_t *at) {
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

static inline void put_big32(uint8_t *at, uint32_t v) {
    for (int i = 0; i < 4; i++) at[i] = (uint8_t)(v >> (24 - 8 * i));
}

static inline uint32_t png_sum(const uint8_t *data, size_t n) {
    uint32_t sum = 0xffffffffU;
    for (size_t i = 0; i < n; i++) {
        sum ^= data[i];
        for (int k = 0; k < 8; k++) sum = sum & 1 ? 0xedb88320U ^ sum >> 1 : sum >> 1;
    }
    return ~sum;
}

/* From its length to behind its checksum. */
static inline bool png_chunk(const uint8_t *data, size_t size, size_t at, struct range *out) {
    if (at + 12 > size || big32(data + at) > size - at - 12) return false;
    *out = (struct range){at, at + 12 + big32(data + at)};
    return true;
}

static inline bool png_any(const uint8_t *data, size_t size, struct luck *luck, struct range *out) {
    size_t many = 0, at;
    for (at = 8; png_chunk(data, size, at, out); at = out->to) many++;
    if (!many) return false;
    size_t left = luck_below(luck, many);
    for (at = 8; png_chunk(data, size, at, out) && left; at = out->to) left--;
    return true;
}

static inline void png_put_right(uint8_t *data, size_t size) {
    struct range chunk;
    for (size_t at = 8; png_chunk(data, size, at, &chunk); at = chunk.to)
        put_big32(data + chunk.to - 4, png_sum(data + at + 4, chunk.to - at - 8));
}

static inline size_t png_change_one(uint8_t *data, size_t size, size_t most, struct range chunk,
                                    struct luck *luck) {
    const size_t had = chunk.to - chunk.from - 12;
    const size_t now = mutate_part(data, size, most, chunk.from + 8, chunk.to - 4, mutate_bytes, luck);
    put_big32(data + chunk.from, (uint32_t)(had + now - size));
    return now;
}

static inline size_t mutate_png(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    struct range chunk, other;
    if (!png_any(data, size, luck, &chunk) || !png_any(data, size, luck, &other)) return 0;
    switch (luck_below(luck, 8)) {
    case 0:
        size = mutate_splice(data, size, most, chunk.from, chunk.to, "", 0);
        break;
    case 1:
        other.to = other.from;
        size = copy_range(data, size, most, chunk, other);
        break;
    case 2: /* IHDR: size, depth, colour, interlace */
        data[8 + 8 + luck_below(luck, 13)] = (uint8_t)luck_below(luck, luck_below(luck, 2) ? 18 : 256);
        break;
    default:
        size = png_change_one(data, size, most, chunk, luck);
    }
    png_put_right(data, size);
    return size;
}

/* ---- JPEG: marker, length, bytes (ITU-T T.81, B.1.1.4) ---- */

static inline bool jpeg_segment(const uint8_t *data, size_t size, size_t at, struct range *out) {
    if (at + 4 > size || data[at] != 0xff || data[at + 1] == 0xda) return false;
    const size_t n = (size_t)data[at + 2] << 8 | data[at + 3];
    if (n < 2 || n > size - at - 2) return false;
    *out = (struct range){at, at + 2 + n};
    return true;
}

static inline size_t mutate_jpeg(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    struct range one = {0, 0}, other;
    size_t many = 0, at;
    for (at = 2; jpeg_segment(data, size, at, &one); at = one.to) many++;
    if (!many || luck_below(luck, 5) == 0) /* what was coded */
        return mutate_part(data, size, most, at < size ? at : size, size, mutate_bytes, luck);
    size_t left = luck_below(luck, many);
    for (at = 2; jpeg_segment(data, size, at, &one) && left; at = one.to) left--;
    other = (struct range){2, 2};
    if (luck_below(luck, 8) == 0) return copy_range(data, size, most, one, other);
    if (luck_below(luck, 8) == 0) return mutate_splice(data, size, most, one.from, one.to, "", 0);
    const size_t had = one.to - one.from - 2;
    const size_t now = mutate_part(data, size, most, one.from + 4, one.to, mutate_bytes, luck);
    const size_t n = had + now - size;
    data[one.from + 2] = (uint8_t)(n >> 8), data[one.from + 3] = (uint8_t)n;
    return now;
}

/* ---- TIFF: tag, type, count, value (TIFF 6.0, section 2) ---- */

static inline uint32_t tiff_number(const uint8_t *at, int bytes, bool big) {
    uint32_t v = 0;
    for (int i = 0; i < bytes; i++) v |= (uint32_t)at[i] << 8 * (big ? bytes - 1 - i : i);
    return v;
}

static inline void tiff_put(uint8_t *at, int bytes, bool big, uint32_t v) {
    for (int i = 0; i < bytes; i++) at[i] = (uint8_t)(v >> 8 * (big ? bytes - 1 - i : i));
}

static inline void tiff_change_entry(uint8_t *entry, bool big, struct luck *luck) {
    static const uint16_t tags[] = {254,   256,   257,   258,   259,   262,   273,   274,   277,
                                    278,   279,   284,   317,   320,   322,   323,   324,   325,
                                    330,   338,   339,   347,   530,   33421, 33422, 34665, 34675,
                                    50706, 50708, 50714, 50717, 50721, 50728, 50778};
    static const uint32_t values[] = {0,     1,     2,     3,      4,          5,         6,
                                      7,     8,     12,    16,     32,         34712,     32773,
                                      32803, 34892, 65535, 100000, 0x7fffffff, 0xffffffff};
    switch (luck_below(luck, 6)) {
    case 0:
        tiff_put(entry, 2, big, tags[luck_below(luck, sizeof tags / sizeof *tags)]);
        break;
    case 1:
        tiff_put(entry + 2, 2, big, (uint32_t)luck_below(luck, 18));
        break;
    case 2:
        tiff_put(entry + 4, 4, big, values[luck_below(luck, sizeof values / sizeof *values)]);
        break;
    case 3:
        tiff_put(entry + 8, 4, big, tiff_number(entry + 8, 4, big) + (uint32_t)luck_below(luck, 65) - 32);
        break;
    default: /* a short stands in the first two bytes */
        tiff_put(entry + 8, luck_below(luck, 2) ? 2 : 4, big,
                 values[luck_below(luck, sizeof values / sizeof *values)]);
    }
}

static inline size_t mutate_tiff(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    const bool big = data[0] == 'M';
    if (size < 16) return 0;
    uint32_t at = tiff_number(data + 4, 4, big);
    for (size_t hops = luck_below(luck, 3); hops && at < size && size - at > 6;
         hops--) { /* the next directory, when there is one */
        const size_t next = at + 2 + 12 * (size_t)tiff_number(data + at, 2, big);
        if (next + 4 > size || !tiff_number(data + next, 4, big)) break;
        at = tiff_number(data + next, 4, big);
    }
    if (at > size || size - at < 14 || luck_below(luck, 4) == 0) return mutate_bytes(data, size, most, luck);
    const size_t count = tiff_number(data + at, 2, big), room = (size - at - 2) / 12;
    const size_t entries = count < room ? count : room;
    for (size_t times = 1 + luck_below(luck, 2); times && entries; times--)
        tiff_change_entry(data + at + 2 + 12 * luck_below(luck, entries), big, luck);
    return size;
}

static inline size_t mutate_picture(uint8_t *data, size_t size, size_t most, struct luck *luck) {
    if (size > 30 && memcmp(data, "\x89PNG\r\n\x1a\n", 8) == 0) return mutate_png(data, size, most, luck);
    if (size > 4 && data[0] == 0xff && data[1] == 0xd8) return mutate_jpeg(data, size, most, luck);
    if (size > 16 && (memcmp(data, "II*\0", 4) == 0 || memcmp(data, "MM\0*", 4) == 0))
        return mutate_tiff(data, size, most, luck);
    return 0;
}

#ifdef __clang__
#pragma clang attribute pop
#endif

#endif
