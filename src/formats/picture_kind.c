/* Signatures: JPEG ISO/IEC 10918-1 (SOI, marker), PNG ISO/IEC 15948 5.2, TIFF 6.0 section 2, HEIF ISO/IEC
 * 23008-12 and ISO/IEC 14496-12 (box `ftyp`, brands), the others from their public descriptions; the raw
 * kinds that are neither TIFF nor boxes are told as LibRaw tells them. */
#include "formats/picture_kind.h"
#include "base/text.h"
#include <string.h>

bool picture_kind_taken(enum picture_kind kind) {
    static const bool taken[] = {
#define KIND(name, is_taken, text) is_taken,
        PICTURE_KIND_LIST(KIND)
#undef KIND
    };
    return taken[kind];
}

const char *picture_kind_text(enum picture_kind kind) {
    static const char *const texts[] = {
#define KIND(name, taken, text) text,
        PICTURE_KIND_LIST(KIND)
#undef KIND
    };
    return texts[kind];
}

struct signature {
    enum picture_kind kind;
    unsigned at, length;
    const char *bytes;
};

static const struct signature signatures[] = {
    {PICTURE_JPEG, 0, 3, "\xff\xd8\xff"},
    {PICTURE_PNG, 0, 8, "\x89PNG\r\n\x1a\n"},
    {PICTURE_RAW, 0, 4, "IIRO"},
    {PICTURE_RAW, 0, 4, "IIRS"},
    {PICTURE_RAW, 0, 4, "MMOR"},
    {PICTURE_RAW, 0, 4, "IIU\0"},
    {PICTURE_RAW, 0, 15, "FUJIFILMCCD-RAW"},
    {PICTURE_RAW, 0, 4, "\0MRM"},
    {PICTURE_RAW, 0, 4, "FOVb"},
    {PICTURE_RAW, 6, 8, "HEAPCCDR"},
    {PICTURE_TIFF, 0, 4, "II*\0"},
    {PICTURE_TIFF, 0, 4, "MM\0*"},
    {PICTURE_TIFF, 0, 4, "II+\0"},
    {PICTURE_TIFF, 0, 4, "MM\0+"},
    {PICTURE_PDF, 0, 4, "%PDF"},
    {PICTURE_POSTSCRIPT, 0, 4, "%!PS"},
    {PICTURE_GIF, 0, 4, "GIF8"},
    {PICTURE_WEBP, 8, 4, "WEBP"},
    {PICTURE_VIDEO, 8, 4, "AVI "},
    {PICTURE_VIDEO, 0, 4, "\x1a\x45\xdf\xa3"},
    {PICTURE_BMP, 0, 2, "BM"},
    {PICTURE_JXL, 0, 2, "\xff\x0a"},
    {PICTURE_JXL, 4, 8, "JXL \r\n\x87\n"},
    {PICTURE_JP2, 4, 8, "jP  \r\n\x87\n"},
    {PICTURE_JP2, 0, 4, "\xff\x4f\xff\x51"},
    {PICTURE_EXR, 0, 4, "v/1\x01"},
    {PICTURE_PSD, 0, 4, "8BPS"},
    {PICTURE_ARCHIVE, 0, 4, "PK\3\4"},
    {PICTURE_ARCHIVE, 0, 2, "\x1f\x8b"},
    {PICTURE_ARCHIVE, 0, 6,
     "\xfd"
     "7zXZ"},
};

struct brand {
    const char *name;
    enum picture_kind kind;
};

/* The still pictures of HEVC, the raw files in boxes, and what else comes in them. */
static const struct brand brands[] = {
    {"heic", PICTURE_HEIC}, {"heix", PICTURE_HEIC}, {"heim", PICTURE_HEIC}, {"heis", PICTURE_HEIC},
    {"avif", PICTURE_AVIF}, {"avis", PICTURE_AVIF}, {"crx ", PICTURE_RAW},
};

static bool brand_kind(const unsigned char *at, enum picture_kind *kind) {
    for (size_t i = 0; i < sizeof brands / sizeof brands[0]; i++)
        if (memcmp(at, brands[i].name, 4) == 0) {
            *kind = brands[i].kind;
            return true;
        }
    return false;
}

/* The main brand tells; where it is a general one (mif1), the first compatible brand that is known. */
static enum picture_kind boxes_kind(const unsigned char *head, size_t n) {
    const size_t said = (size_t)head[0] << 24 | (size_t)head[1] << 16 | (size_t)head[2] << 8 | head[3];
    const size_t end = said < n ? said : n;
    enum picture_kind kind = PICTURE_VIDEO;
    if (n < 12 || brand_kind(head + 8, &kind)) return kind;
    for (size_t i = 16; i + 4 <= end; i += 4)
        if (brand_kind(head + i, &kind)) return kind;
    return PICTURE_VIDEO;
}

static bool is_plain_text(const unsigned char *head, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (head[i] < 9 || (head[i] > 13 && head[i] < 32) || head[i] == 127) return false;
    return n > 0;
}

/* XML may begin with a mark of its encoding, blanks or a comment. */
static enum picture_kind text_kind(const unsigned char *head, size_t n) {
    if (n >= 3 && memcmp(head, "\xef\xbb\xbf", 3) == 0) head += 3, n -= 3;
    if (!is_plain_text(head, n)) return PICTURE_UNKNOWN;
    size_t i = 0;
    while (i < n && (head[i] == ' ' || (head[i] >= 9 && head[i] <= 13))) i++;
    return i < n && head[i] == '<' ? PICTURE_SVG : PICTURE_TEXT;
}

enum picture_kind picture_kind_of(const unsigned char *head, size_t n) {
    for (size_t i = 0; i < sizeof signatures / sizeof signatures[0]; i++) {
        const struct signature *s = &signatures[i];
        if (n >= s->at + s->length && memcmp(head + s->at, s->bytes, s->length) == 0) return s->kind;
    }
    if (n >= 12 && memcmp(head + 4, "ftyp", 4) == 0) return boxes_kind(head, n);
    if (n >= 3 && head[0] == 'P' && head[1] >= '1' && head[1] <= '7' && head[2] <= ' ') return PICTURE_NETPBM;
    return text_kind(head, n);
}
