/* What kind of file its first bytes say it is. Names are never asked. */
#ifndef RUSSET_FORMATS_PICTURE_KIND_H
#define RUSSET_FORMATS_PICTURE_KIND_H

#include <stdbool.h>
#include <stddef.h>

/* KIND(name, taken, text): taken kinds are decoded, the others refused by that text. */
#define PICTURE_KIND_LIST(KIND)                      \
    KIND(UNKNOWN, false, "")                         \
    KIND(JPEG, true, "a JPEG picture")               \
    KIND(PNG, true, "a PNG picture")                 \
    KIND(TIFF, true, "a TIFF picture or raw file")   \
    KIND(HEIC, true, "a HEIC picture")               \
    KIND(RAW, true, "a raw file")                    \
    KIND(SVG, false, "an SVG or XML text")           \
    KIND(PDF, false, "a PDF document")               \
    KIND(POSTSCRIPT, false, "a PostScript document") \
    KIND(GIF, false, "a GIF picture")                \
    KIND(WEBP, false, "a WebP picture")              \
    KIND(BMP, false, "a BMP picture")                \
    KIND(AVIF, false, "an AVIF picture")             \
    KIND(JXL, false, "a JPEG XL picture")            \
    KIND(JP2, false, "a JPEG 2000 picture")          \
    KIND(EXR, false, "an OpenEXR picture")           \
    KIND(PSD, false, "a layered picture (PSD)")      \
    KIND(NETPBM, false, "a PBM, PGM or PPM picture") \
    KIND(VIDEO, false, "a video")                    \
    KIND(ARCHIVE, false, "an archive")               \
    KIND(TEXT, false, "a text")

enum picture_kind {
#define KIND(name, taken, text) PICTURE_##name,
    PICTURE_KIND_LIST(KIND)
#undef KIND
};

enum { PICTURE_KIND_BYTES = 512 }; /* so many first bytes are enough */

/* From the first n bytes of the file (fewer only when the file is shorter). */
enum picture_kind picture_kind_of(const unsigned char *head, size_t n);
bool picture_kind_taken(enum picture_kind kind);
const char *picture_kind_text(enum picture_kind kind);

#endif
