/* The log of a pour: what is replayed is sound, and can be gone on with. "fixed" lines (a first byte '!') get
 * their checksums put right, so that the records behind them are reached. */
#include "formats/pour_log.h"
#include "fuzz_run.h"
#include "mutate.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static void put_right(const uint8_t *data, size_t size, struct text *out) {
    for (const uint8_t *at = data, *end = data + size; at < end;) {
        const uint8_t *stop = memchr(at, '\n', (size_t)(end - at));
        const size_t n = (size_t)((stop ? stop : end) - at);
        text_add_bytes(out, at, n);
        text_format(out, ",\"crc\":\"%08x\"}\n", pour_log_crc(at, n));
        at = stop ? stop + 1 : end;
    }
}

static void check(const void *data, size_t size) {
    struct pour_log log, again;
    struct fault fault;
    struct text more = {0};
    const struct bytes bytes = {data, size, "log"};
    if (pour_log_replay(&bytes, &log, &fault) != STATUS_OK || log.empty) return;
    MUST(log.count > 0 && log.count <= POURING_MOST && log.first_count > 0 && log.first_count <= log.count);
    for (size_t i = 0; i < log.count; i++)
        MUST(isfinite(log.items[i].poured_g) && log.items[i].poured_g >= 0);
    text_add_bytes(&more, data, size);
    struct pouring_item item = log.items[0];
    item.poured_g = 1.25;
    pour_log_pour(&log, 0, &item, true, &more);
    const struct bytes longer = {(unsigned char *)more.data, more.length, "log"};
    const enum status status = pour_log_replay(&longer, &again, &fault);
    MUST(status == STATUS_OK && again.next == log.next && again.done[0]);
    text_free(&more);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct text fixed = {0};
    if (size > 0 && data[0] == '!') {
        put_right(data + 1, size - 1, &fixed);
        check(fixed.data ? fixed.data : "", fixed.length);
    } else {
        check(data, size);
    }
    text_free(&fixed);
    return 0;
}

MUTATE_BY(mutate_words);
