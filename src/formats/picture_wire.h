/* What russet and its decoder say to each other: fixed records over a socket that keeps them whole.
 *
 *     decoder  -> HEAD (size and what is known of the values)   or REFUSED (why)
 *     russet   -> one byte, once the shared memory has exactly the size for it and is sealed
 *     decoder  -> DONE (every pixel is written)                 or REFUSED
 *
 * The decoder gets three open files: the photograph (read only), the socket, the memory. Everything that
 * comes back is a stranger's word and is checked. */
#ifndef RUSSET_FORMATS_PICTURE_WIRE_H
#define RUSSET_FORMATS_PICTURE_WIRE_H

#include <stdint.h>

enum { WIRE_FILE_FD = 3, WIRE_SOCKET_FD = 4, WIRE_MEMORY_FD = 5, WIRE_MAGIC = 0x72757373 };

enum wire_said { WIRE_HEAD = 1, WIRE_DONE, WIRE_REFUSED };

/* REFUSAL(name, word): why the decoder will not; the sentence is the catalogue's. NOTHING: it does. */
#define WIRE_REFUSAL_LIST(REFUSAL)            \
    REFUSAL(NOTHING, NONE)                    \
    REFUSAL(DAMAGED, PICTURE_DAMAGED)         \
    REFUSAL(TOO_LARGE, PICTURE_TOO_LARGE)     \
    REFUSAL(GREY, PICTURE_GREY)               \
    REFUSAL(INKS, PICTURE_INKS)               \
    REFUSAL(SAMPLES, PICTURE_SAMPLES)         \
    REFUSAL(RAW_UNKNOWN, PICTURE_RAW_UNKNOWN) \
    REFUSAL(RAW_PATTERN, PICTURE_RAW_PATTERN) \
    REFUSAL(MEMORY, PICTURE_MEMORY)           \
    REFUSAL(NO_FENCE, PICTURE_NO_FENCE)       \
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
    uint32_t width, height; /* also with REFUSED TOO_LARGE: what the file says */
    uint32_t clip, reduced;
    uint32_t raw, curve_known, note;
    double to_srgb[9];
};

#endif
