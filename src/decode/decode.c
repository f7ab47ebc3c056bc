#include "decode/decode.h"
#include "formats/picture_kind.h"

enum wire_refusal decode_any(const unsigned char *data, size_t size, struct sink *sink) {
    const enum picture_kind kind =
        picture_kind_of(data, size < PICTURE_KIND_BYTES ? size : PICTURE_KIND_BYTES);
    if (kind == PICTURE_JPEG) return decode_jpeg(data, size, sink);
    return WIRE_REFUSED_NO_LOADER;
}
