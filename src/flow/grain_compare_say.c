#include "flow/operation.h"
#include "flow/say.h"

extern operation_say grain_compare_say;

void grain_compare_say(const json_t *reply, struct text *out) {
    const json_t *row;
    size_t i;
    text_add(out, "Second grain against the first\n");
    json_array_foreach(json_object_get(reply, "parameters"), i, row) {
        say_row(out, say_string(row, "parameter"), "%-10s %.4g +/- %.2g against %.4g +/- %.2g",
                say_string(row, "verdict"), say_number(row, "b"), say_number(row, "b_u95"),
                say_number(row, "a"), say_number(row, "a_u95"));
    }
    say_notes(reply, out);
}
