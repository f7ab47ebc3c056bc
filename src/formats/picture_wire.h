/* What russet and its decoder say to each other: fixed records over a socket that keeps them whole.
 *
 *     decoder -> HEAD (size, curves and what else is known of the values)      or REFUSED (why)
 *     russet  -> one byte: the picture has its memory
 *     decoder -> ROWS (the next rows lie in the next slot of the shared memory) or REFUSED
 *     russet  -> one byte: these rows are taken, their slot is free              ... again and again
 *     decoder -> DONE (that was the last row)                                    or REFUSED
 *
 * The decoder gets three open files: the photograph (read only), the socket, and the shared memory, a ring of
 * slots whose size is sealed. Rows come in order, three values a pixel without gaps: 8 bits that still go
 * through the curves of the head, or 16 bits of linear light. Everything that comes is a stranger's word and
 * is checked; the values themselves cannot harm. */
#ifndef RUSSET_FORMATS_PICTURE_WIRE_H
#define RUSSET_FORMATS_PICTURE_WIRE_H

#include <stdint.h>

enum { WIRE_FILE_FD = 3, WIRE_SOCKET_FD = 4, WIRE_MEMORY_FD = 5, WIRE_MAGIC = 0x72757373 };
enum { WIRE_SLOTS = 4, WIRE_SLOT_BYTES = 1 << 20 };

enum wire_said { WIRE_HEAD = 1, WIRE_ROWS, WIRE_DONE, WIRE_REFUSED };

/* REFUSAL(name, word): why the decoder will not; the sentence is the catalogue's. NOTHING: it does. */
#define WIRE_REFUSAL_LIST(REFUSAL)              \
    REFUSAL(NOTHING, NONE)                      \
    REFUSAL(DAMAGED, PICTURE_DAMAGED)           \
    REFUSAL(TOO_LARGE, PICTURE_TOO_LARGE)       \
    REFUSAL(GREY, PICTURE_GREY)                 \
    REFUSAL(INKS, PICTURE_INKS)                 \
    REFUSAL(SAMPLES, PICTURE_SAMPLES)           \
    REFUSAL(RAW_UNKNOWN, PICTURE_RAW_UNKNOWN)   \
    REFUSAL(RAW_PATTERN, PICTURE_RAW_PATTERN)   \
    REFUSAL(BRIGHT_CURVE, PICTURE_BRIGHT_CURVE) \
    REFUSAL(MEMORY, PICTURE_MEMORY)             \
    REFUSAL(NO_FENCE, PICTURE_NO_FENCE)         \
    REFUSAL(NO_LOADER, PICTURE_NO_LOADER)

enum wire_refusal {
#define REFUSAL(name, word) WIRE_REFUSED_##name,
    WIRE_REFUSAL_LIST(REFUSAL)
#undef REFUSAL
};

/* NOTE(name, word): what was assumed. */
#define WIRE_NOTE_LIST(NOTE)               \
    NOTE(NONE, NONE)                       \
    NOTE(NO_PROFILE, PICTURE_NO_PROFILE)   \
    NOTE(BAD_PROFILE, PICTURE_BAD_PROFILE) \
    NOTE(RAW_LINEAR, PICTURE_RAW_LINEAR)

enum wire_note {
#define NOTE(name, word) WIRE_NOTE_##name,
    WIRE_NOTE_LIST(NOTE)
#undef NOTE
};

struct wire_record {
    uint32_t magic, said;
    uint32_t refusal;
    uint32_t width, height; /* as the rows lie in the file; also with TOO_LARGE */
    uint32_t orientation;   /* EXIF 1..8: how they are looked at */
    uint32_t bits;          /* 8 or 16 */
    uint32_t clip, reduced; /* as struct picture */
    uint32_t raw, curve_known, note;
    uint32_t y, rows; /* of ROWS */
    double to_srgb[9];
    uint16_t curve8[3][256];
};

#endif
