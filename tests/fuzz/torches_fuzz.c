/* lights.json and a grain's JSON: what is accepted can be reckoned with. */
#include "formats/grain_json.h"
#include "fuzz_help.h"
#include "mutate.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const photo[] = {"a.jpg", "b.jpg"};
    struct stereo_light light[2];
    struct torch_mark mark[2];
    struct grain grain;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    enum status status = torches_read(&bytes, photo, 2, light, mark, &fault);
    if (status != STATUS_OK) must_be_sentence(status, &fault);
    for (int i = 0; i < 2 && status == STATUS_OK; i++) {
        MUST(light[i].distance_mm >= 0);
        MUST(mark[i].kind != TORCH_TOLD ? mark[i].size >= 1
                                        : light[i].elevation_deg >= 5 && light[i].elevation_deg <= 90);
    }
    status = grain_read(&bytes, &grain, &fault);
    if (status != STATUS_OK) must_be_sentence(status, &fault);
    if (status == STATUS_OK) MUST(grain.value.value[AREAL_SA] > 0 && grain.value.value[AREAL_SAL] > 0);
    return 0;
}

MUTATE_BY(mutate_json);
CROSS_JSON;
