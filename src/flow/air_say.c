#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say air_say;

void air_say(const json_t *reply, struct text *out) {
    say_paragraph(out, strcmp(say_string(reply, "verdict"), "go") == 0 ? "GO    " : "WAIT  ",
                  say_string(reply, "reason"));
    text_add(out, "\n");
    say_row(out, "dew point", "%.1f °C", say_number(reply, "dew_point_c"));
    say_row(out, "margin", "%.1f °C (%.1f °C needed)", say_number(reply, "margin_k"),
            say_number(reply, "margin_needed_k"));
    say_row(out, "drying", "%.2f times as fast as at 20 °C and 50 %% humidity",
            say_number(reply, "drying_index"));
    say_notes(reply, out);
}
