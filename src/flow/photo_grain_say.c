#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_say photo_grain_say;

static void say_one(const json_t *reply, struct text *out, const char *label, const char *key,
                    const char *unit, int digits) {
    char doubt[32];
    snprintf(doubt, sizeof doubt, "%s_u95", key);
    say_row(out, label, "%-5.*s %.*f +/- %.*f%s%s", (int)strcspn(key, "_"), key, digits,
            say_number(reply, key), digits, say_number(reply, doubt), unit[0] ? " " : "", unit);
}

void photo_grain_say(const json_t *reply, struct text *out) {
    if (!json_object_get(reply, "Sa_um")) return;
    text_format(out, "Grain, from %.0f photographs (95 times in 100 within what is behind +/-)\n",
                say_number(reply, "lights"));
    say_one(reply, out, "how deep", "Sa_um", "µm", 1);
    say_one(reply, out, "", "Sq_um", "µm", 1);
    say_one(reply, out, "", "Sz_um", "µm", 0);
    say_one(reply, out, "how coarse", "Sal_mm", "mm", 3);
    say_one(reply, out, "how round", "Str", "", 2);
    if (say_number(reply, "Str") < .5) say_one(reply, out, "direction", "Std_deg", "degrees", 0);
    say_one(reply, out, "hills or valleys", "Ssk", "", 2);
    say_one(reply, out, "", "Sku", "", 2);
    say_one(reply, out, "slopes", "Sdq", "", 4);
    say_one(reply, out, "", "Sdr", "", 5);
    say_row(out, "waves", "%.2f to %.2f mm", say_number(reply, "s_filter_mm"),
            say_number(reply, "l_filter_mm"));
    const json_t *field = json_object_get(reply, "field_mm");
    say_row(out, "field", "%.1f x %.1f mm, %.0f Sal", json_number_value(json_array_get(field, 0)),
            json_number_value(json_array_get(field, 1)), say_number(reply, "field_in_sal"));
    say_notes(reply, out);
}
