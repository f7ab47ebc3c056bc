/* A table of a time zone, whatever its bytes: it is sound and tells an offset under a week for every moment,
 * or it is not read. */
#include "device/zone.h"
#include "fuzz_help.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct zone *zone = zone_read(data, size);
    if (!zone) return 0;
    for (long long ms = -62135596800000LL; ms < 253402300800000LL; ms += 3155692597470LL) {
        const int offset = zone_offset_s(zone, ms);
        MUST(offset > -7 * 86400 && offset < 7 * 86400);
    }
    zone_close(zone);
    return 0;
}
