#include "flow/operation.h"
#include "flow/say.h"
#include <stdio.h>
#include <string.h>

extern operation_say plan_say;

static void say_gate(const json_t *reply, struct text *out) {
    const json_t *gate = json_object_get(reply, "gate"), *says = json_object_get(gate, "says");
    const char *answer = say_string(gate, "answer");
    const bool refused = *say_string(reply, "refused");
    text_format(out, "%s\n",
                strcmp(answer, "stop") == 0  ? "Stop: this is not worked on."
                : refused                    ? "Not like this: what stands in the way comes last."
                : strcmp(answer, "ask") == 0 ? "To be asked before anything is coated:"
                                             : "It may be worked on.");
    for (size_t i = 0; i < json_array_size(says); i++)
        say_paragraph(out, "  ! ", say_string(json_array_get(says, i), "text"));
}

static void say_wait(const json_t *step, struct text *out) {
    const double minutes = say_number(step, "wait_min");
    const char *wait = say_string(step, "wait");
    if (!*wait) return;
    const char *what = strcmp(wait, "pot") == 0    ? "the pot lives"
                       : strcmp(wait, "cure") == 0 ? "full cure"
                                                   : "wait";
    if (minutes >= 2880)
        text_format(out, "       %s: %.4g days\n", what, minutes / 1440);
    else if (minutes >= 120)
        text_format(out, "       %s: %.3g h\n", what, minutes / 60);
    else
        text_format(out, "       %s: %.0f min\n", what, minutes);
}

static void say_steps(const json_t *reply, struct text *out) {
    const json_t *steps = json_object_get(reply, "steps");
    const char *stage = "";
    for (size_t i = 0; i < json_array_size(steps); i++) {
        const json_t *step = json_array_get(steps, i);
        char lead[40];
        if (strcmp(stage, say_string(step, "step")) != 0)
            text_format(out, "\n%s\n", stage = say_string(step, "step"));
        snprintf(lead, sizeof lead, "  %2zu  ", i + 1);
        say_paragraph(out, lead, say_string(step, "text"));
        say_wait(step, out);
    }
}

void plan_say(const json_t *reply, struct text *out) {
    say_gate(reply, out);
    say_steps(reply, out);
    const json_t *hours = json_object_get(reply, "hours"), *cautions = json_object_get(reply, "cautions");
    if (hours) {
        text_add(out, "\n");
        say_row(out, "hands", "%.1f h or less in half of such jobs, %.1f h in four of five",
                say_number(hours, "p50"), say_number(hours, "p80"));
        say_row(out, "waits", "%.1f h, and the full cure %.4g days", say_number(reply, "wait_min") / 60,
                say_number(reply, "cure_days"));
        text_add(out, "\n");
    }
    for (size_t i = 0; i < json_array_size(cautions); i++)
        say_paragraph(out, "  ! ", say_string(json_array_get(cautions, i), "text"));
    say_notes(reply, out);
}
