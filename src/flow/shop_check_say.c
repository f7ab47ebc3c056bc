#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_check_say;

void shop_check_say(const json_t *reply, struct text *out) {
    const json_t *problems = json_object_get(reply, "problems"), *rows = json_object_get(reply, "rows");
    if (json_is_true(json_object_get(reply, "clean")))
        text_format(out, "The book in %s is sound.\n", say_string(reply, "shop"));
    else
        text_format(out, "Something is wrong in %s:\n", say_string(reply, "shop"));
    for (size_t i = 0; i < json_array_size(problems); i++)
        say_paragraph(out, "- ", say_string(json_array_get(problems, i), "text"));
    say_row(out, "customers", "%.0f", say_number(rows, "customer"));
    say_row(out, "jobs", "%.0f, with %.0f entries", say_number(rows, "job"), say_number(rows, "entry"));
    say_row(out, "finishes", "%.0f", say_number(rows, "finish"));
    say_row(out, "photographs", "%.0f (%.1f MB), each compared with its hash",
            say_number(reply, "photographs"), say_number(reply, "photograph_bytes") / 1e6);
    say_notes(reply, out);
}
