/* A stranger's photograph, decoded in this process: whatever the bytes are, a refusal or rows that are all
 * there. Large ones are left out, they only take time. */
#include "decode/decode.h"
#include "decode/profile.h"
#include "formats/picture_rows.h"
#include "fuzz_help.h"
#include "picture_mutate.h"
#include <sanitizer/lsan_interface.h>

enum { PIXELS_MOST = 1 << 12, PIXELS_SELDOM = 1 << 18, LARGE_ONE_IN = 64 };

static bool (*begin_in_memory)(struct sink *sink);
static bool thorough;

/* The tables for 16-bit values take longer than the decoding: mostly those for 8-bit values stand in, and are
 * kept. */
static uint16_t coarse[3][65536];
static struct file_light coarse_of;

void __real_light_widen(struct file_light *light);
void __wrap_light_widen(struct file_light *light);
void __real_light_end(struct file_light *light);
void __wrap_light_end(struct file_light *light);

void __wrap_light_widen(struct file_light *light) {
    if (thorough) {
        __real_light_widen(light);
        return;
    }
    const bool same = memcmp(coarse_of.curve8, light->curve8, sizeof light->curve8) == 0;
    for (int c = 0; c < 3; c++) {
        for (int i = 0; !same && i < 65536; i++) coarse[c][i] = light->curve8[c][i >> 8];
        light->curve16[c] = coarse[c];
    }
    memcpy(coarse_of.curve8, light->curve8, sizeof light->curve8);
}

void __wrap_light_end(struct file_light *light) {
    for (int c = 0; c < 3; c++)
        if (light->curve16[c] == coarse[c]) light->curve16[c] = NULL;
    __real_light_end(light);
}

/* LibRaw lets go of what libjpeg had when a lossy DNG breaks off (lossy_dng_load_raw): not ours to mend, and
 * the decoder lives for one photograph. */
enum wire_refusal __real_decode_raw(const unsigned char *data, size_t size, struct sink *sink);
enum wire_refusal __wrap_decode_raw(const unsigned char *data, size_t size, struct sink *sink);
enum wire_refusal __wrap_decode_raw(const unsigned char *data, size_t size, struct sink *sink) {
    __lsan_disable();
    const enum wire_refusal refusal = __real_decode_raw(data, size, sink);
    __lsan_enable();
    return refusal;
}

static bool begin_small(struct sink *sink) {
    const struct wire_record *head = &sink->head;
    MUST(head->width >= 1 && head->height >= 1 && head->orientation >= 1 && head->orientation <= 8);
    MUST((head->bits == 8 || head->bits == 16) && head->clip >= 1 && head->clip <= 65535);
    MUST(head->reduced >= 1 && head->reduced <= 3);
    for (size_t i = 0; i < 9; i++) MUST(fabs(head->to_srgb[i]) < 1e6);
    return (uint64_t)head->width * head->height <= (thorough ? PIXELS_SELDOM : PIXELS_MOST) &&
           begin_in_memory(sink);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct sink sink;
    if (size == 0) return 0;
    thorough = fuzz_is_chosen(LARGE_ONE_IN, data, size);
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

MUTATE_BY(mutate_picture);
