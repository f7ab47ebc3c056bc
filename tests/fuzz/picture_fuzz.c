/* A stranger's photograph, decoded in this process: whatever the bytes are, a refusal or rows that are all
 * there. Large ones are left out, they only take time. */
#include "decode/decode.h"
#include "formats/picture_rows.h"
#include "fuzz_help.h"

static bool (*begin_in_memory)(struct sink *sink);

static bool begin_small(struct sink *sink) {
    const struct wire_record *head = &sink->head;
    MUST(head->width >= 1 && head->height >= 1 && head->orientation >= 1 && head->orientation <= 8);
    MUST((head->bits == 8 || head->bits == 16) && head->clip >= 1 && head->clip <= 65535);
    MUST(head->reduced >= 1 && head->reduced <= 3);
    for (size_t i = 0; i < 9; i++) MUST(fabs(head->to_srgb[i]) < 1e6);
    return (uint64_t)head->width * head->height <= 1 << 18 && begin_in_memory(sink);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct sink sink;
    if (size == 0) return 0;
    sink_to_memory(&sink);
    begin_in_memory = sink.begin;
    sink.begin = begin_small;
    static bool prepared;
    if (!prepared) decode_heic_prepare();
    prepared = true;
    const enum wire_refusal refusal = decode_any(data, size, &sink);
    MUST(refusal <= WIRE_REFUSED_NO_LOADER);
    if (refusal == WIRE_REFUSED_NOTHING) MUST(sink.pixels && sink.next == sink.head.height);
    sink_end(&sink);
    return 0;
}
