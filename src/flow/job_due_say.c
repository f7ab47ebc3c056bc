#include "flow/operation.h"
#include "flow/say.h"
#include <stdio.h>
#include <string.h>

extern operation_say job_due_say;

void job_due_say(const json_t *reply, struct text *out) {
    const json_t *events = json_object_get(reply, "events");
    for (size_t i = 0; i < json_array_size(events); i++) {
        const json_t *event = json_array_get(events, i);
        char when[20];
        snprintf(when, sizeof when, "%.16s",
                 *say_string(event, "day") ? say_string(event, "day") : say_string(event, "at_local"));
        if (strlen(when) > 10) when[10] = ' ';
        say_row(out, when, "%s", say_string(event, "text"));
    }
}
