/* What a shelf has learnt, told to its owner. */
#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

operation_say toners_learn_say;

void toners_learn_say(const json_t *reply, struct text *out) {
    const json_t *held_out = json_object_get(reply, "held_out");
    text_format(out,
                "Cards that were not shown to it are predicted within %.2f dE00 on average;\n"
                "before it was %.2f (%.0f readings).\n\n",
                say_number(held_out, "after_de00"), say_number(held_out, "before_de00"),
                say_number(held_out, "results"));
    size_t index;
    json_t *entry;
    text_add(out, "Strength of each lot against the drawdowns (19 of 20 lie in the brackets):\n");
    json_array_foreach(json_object_get(reply, "strengths"), index, entry) text_format(
        out, "  %-16s %-10s %.3f  (%.3f to %.3f)\n", say_string(entry, "toner"), say_string(entry, "lot"),
        say_number(entry, "strength"), say_number(entry, "low"), say_number(entry, "high"));
    say_notes(reply, out);
}
