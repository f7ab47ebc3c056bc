#include "flow/operation.h"
#include "flow/say.h"

extern operation_say job_due_say;

void job_due_say(const json_t *reply, struct text *out) {
    const json_t *events = json_object_get(reply, "events");
    for (size_t i = 0; i < json_array_size(events); i++) {
        const json_t *event = json_array_get(events, i);
        say_row(out, *say_string(event, "day") ? say_string(event, "day") : say_string(event, "at"), "%s",
                say_string(event, "text"));
    }
}
