#include "decode/decode.h"
#include "decode/exif.h"
#include "formats/picture_kind.h"

/* Raw files of most cameras are TIFF with the sensor's picture in a directory of its own, a small developed
 * picture first. */
static bool may_be_raw(const struct exif *first) {
    return first->dng || first->reduced || first->other || first->photometric == 32803 ||
           first->photometric == 34892 || first->photometric == 65535;
}

/* What LibRaw does not know may still be an ordinary picture, but never the small one of a raw file. */
static enum wire_refusal decode_tiff_or_raw(const unsigned char *data, size_t size, struct sink *sink) {
    struct exif first;
    exif_read(data, size, &first);
    const bool big = size > 3 && (data[2] == 43 || data[3] == 43); /* BigTIFF: no camera writes it */
    if (big || !may_be_raw(&first)) return decode_tiff(data, size, sink);
    const enum wire_refusal refusal = decode_raw(data, size, sink);
    const bool ordinary = !first.dng && !first.reduced && first.photometric <= 8;
    return refusal == WIRE_REFUSED_RAW_UNKNOWN && ordinary ? decode_tiff(data, size, sink) : refusal;
}

static enum picture_kind kind_of(const unsigned char *data, size_t size) {
    return picture_kind_of(data, size < PICTURE_KIND_BYTES ? size : PICTURE_KIND_BYTES);
}

void decode_prepare(const unsigned char *data, size_t size) {
    if (kind_of(data, size) == PICTURE_HEIC) decode_heic_prepare();
}

enum wire_refusal decode_any(const unsigned char *data, size_t size, struct sink *sink) {
    switch ((int)kind_of(data, size)) {
    case PICTURE_JPEG:
        return decode_jpeg(data, size, sink);
    case PICTURE_PNG:
        return decode_png(data, size, sink);
    case PICTURE_TIFF:
        return decode_tiff_or_raw(data, size, sink);
    case PICTURE_HEIC:
        return decode_heic(data, size, sink);
    case PICTURE_RAW:
        return decode_raw(data, size, sink);
    default:
        return WIRE_REFUSED_DAMAGED;
    }
}
