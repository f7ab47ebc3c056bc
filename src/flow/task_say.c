#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say task_list_say, task_set_say;

static void say_minutes(const json_t *minutes, const char *unit, struct text *out) {
    const double low = json_number_value(json_array_get(minutes, 0)),
                 likely = json_number_value(json_array_get(minutes, 1)),
                 high = json_number_value(json_array_get(minutes, 2));
    if (high > 0) text_format(out, "      %4.0f, likely %.0f, at most %.0f min%s\n", low, likely, high, unit);
}

static const char *unit_of(const char *goes_by) {
    return strcmp(goes_by, "m2") == 0        ? " for each m2"
           : strcmp(goes_by, "dm") == 0      ? " for each 10 cm of crack"
           : strcmp(goes_by, "spot") == 0    ? " for each flap, hole or stain"
           : strcmp(goes_by, "colour") == 0  ? " for each colour"
           : strcmp(goes_by, "coat m2") == 0 ? " for each m2 of each coat"
                                             : "";
}

void task_list_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *task;
    json_array_foreach(json_object_get(reply, "tasks"), i, task) {
        text_format(out, "  %-12s %s%s\n", say_string(task, "task"), say_string(task, "name"),
                    json_is_true(json_object_get(task, "own")) ? "  (this shop's own)" : "");
        say_minutes(json_object_get(task, "fixed_min"), "", out);
        say_minutes(json_object_get(task, "each_min"), unit_of(say_string(task, "goes_by")), out);
        if (say_number(task, "months") > 0) {
            text_format(out, "      guaranteed %.0f months\n", say_number(task, "months"));
            if (*say_string(task, "excluded")) say_paragraph(out, "      ", say_string(task, "excluded"));
        }
    }
}

void task_set_say(const json_t *reply, struct text *out) {
    task_list_say(reply, out);
}
