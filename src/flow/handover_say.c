#include "flow/operation.h"
#include "flow/say.h"

extern operation_say handover_say;

void handover_say(const json_t *reply, struct text *out) {
    const json_t *job = json_object_get(reply, "job"), *photographs = json_object_get(reply, "photographs");
    text_format(out, "Handover record of job %.0f, %s, %s\n", say_number(job, "number"),
                say_string(job, "title"), say_string(reply, "day"));
    if (*say_string(reply, "proof")) say_paragraph(out, "  ", say_string(reply, "proof"));
    if (*say_string(reply, "cured_day")) say_row(out, "full cure", "%s", say_string(reply, "cured_day"));
    if (*say_string(reply, "cure")) say_paragraph(out, "    ", say_string(reply, "cure"));
    say_row(out, "photographs", "%zu before, %zu after",
            json_array_size(json_object_get(photographs, "before")),
            json_array_size(json_object_get(photographs, "after")));
    text_format(out, "  digest of the twin\n    %s\n", say_string(reply, "digest"));
    say_notes(reply, out);
}
