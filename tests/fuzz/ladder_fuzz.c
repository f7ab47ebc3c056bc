/* The sheen ladder: what is read is drawn at every angle, and never rises. */
#include "formats/ladder_file.h"
#include "fuzz_help.h"
#include "mutate.h"

static void never_rises(const struct sheen_curve *curve) {
    double before = 1e300, matte;
    for (int i = 0; i <= 64; i++) {
        const struct sheen_value value = sheen_at(curve, i / 64.0);
        MUST(value.gu >= 0 && value.gu <= before && value.low_gu <= value.gu && value.gu <= value.high_gu);
        before = value.gu;
    }
    struct fault fault = {0};
    for (double gu = 0; gu < 160; gu += 13) {
        const enum status status = sheen_find(curve, gu, &matte, &fault);
        MUST(status == STATUS_OK || status == STATUS_NO);
        MUST(matte >= 0 && matte <= 1);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    struct arena *arena = arena_new();
    struct sheen_ladder ladder;
    struct sheen_curve curve;
    struct fault fault = {0};
    const struct bytes bytes = {data, size, "f"};
    const enum status status = ladder_read(&bytes, arena, &ladder, &fault);
    if (status != STATUS_OK) must_be_sentence(status, &fault);
    for (int angle = 0; status == STATUS_OK && angle < GLOSS_ANGLES; angle++) {
        const enum status fitted = sheen_fit(&ladder, (enum gloss_angle)angle, SHEEN_COATS, &curve, &fault);
        if (fitted != STATUS_OK)
            must_be_sentence(fitted, &fault);
        else
            never_rises(&curve);
    }
    arena_free(arena);
    return 0;
}

MUTATE_BY(mutate_words);
