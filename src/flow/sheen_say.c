#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

extern operation_say sheen_say;

static double item(const json_t *array, size_t i) {
    return json_number_value(json_array_get(array, i));
}

static void say_strip(const json_t *strip, struct text *out) {
    const bool told = !isnan(say_number(json_array_get(strip, 0), "expected_gu"));
    text_format(out, "  %3s  %10s  %10s%s\n", "dab", "matte, ml", "gloss, ml", told ? "  expected" : "");
    for (size_t i = 0; i < json_array_size(strip); i++) {
        const json_t *dab = json_array_get(strip, i);
        const double gu = say_number(dab, "expected_gu");
        text_format(out, "  %3.0f  %10.2f  %10.2f", say_number(dab, "dab"), say_number(dab, "matte_ml"),
                    say_number(dab, "gloss_ml"));
        if (!isnan(gu)) text_format(out, "  %.1f GU", gu);
        text_add(out, "\n");
    }
}

static void say_shift(const json_t *shift, struct text *out) {
    if (!shift) return;
    say_row(out, "colour", "%.2f dE00 from %.1f to %.1f GU (L %+.2f)", say_number(shift, "de00"),
            say_number(shift, "from_gu"), say_number(shift, "to_gu"), say_number(shift, "dL"));
}

static void say_mix(const json_t *reply, struct text *out) {
    say_row(out, "mix", "%.1f ml matte + %.1f ml gloss (matte part %.3f)", say_number(reply, "matte_ml"),
            say_number(reply, "gloss_ml"), say_number(reply, "matte_fraction"));
    const json_t *interval = json_object_get(reply, "interval_gu"),
                 *next = json_object_get(reply, "next_between");
    if (interval)
        say_row(out, "expected", "%.1f GU at %.0f degrees, %.1f to %.1f in 19 of 20 mixes",
                say_number(reply, "expected_gu"), say_number(reply, "angle"), item(interval, 0),
                item(interval, 1));
    if (next) say_row(out, "finer", "--by-eye --between %g,%g", item(next, 0), item(next, 1));
    const json_t *curve = json_object_get(reply, "curve");
    if (say_number(curve, "left_out_in_turn") > 0)
        say_row(out, "ladder", "%.0f rows; left out in turn, the worst misses by %.1f GU",
                say_number(curve, "rows"), say_number(curve, "worst_gu"));
    say_shift(json_object_get(reply, "colour_shift"), out);
}

void sheen_say(const json_t *reply, struct text *out) {
    const json_t *strip = json_object_get(reply, "strip");
    if (strip)
        say_strip(strip, out);
    else
        say_mix(reply, out);
    say_notes(reply, out);
}
