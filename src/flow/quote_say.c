#include "flow/money_say.h"
#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say quote_say;

static void say_lines(const json_t *reply, struct text *out) {
    const json_t *lines = json_object_get(reply, "lines");
    for (size_t i = 0; i < json_array_size(lines); i++) {
        const json_t *line = json_array_get(lines, i);
        char low[MONEY_TEXT], high[MONEY_TEXT];
        text_add(out, "  ");
        text_add_column(out, say_string(line, "what"), 52);
        text_format(out, " %14s %14s\n", money_bare(reply, line, "low_minor", low),
                    money_bare(reply, line, "high_minor", high));
    }
}

static void say_total(const json_t *reply, struct text *out, const char *label, const char *key) {
    char low[MONEY_TEXT], high[MONEY_TEXT];
    text_format(out, "  %-52s %14s %14s\n", label, money_bare(reply, json_object_get(reply, "low"), key, low),
                money_bare(reply, json_object_get(reply, "high"), key, high));
}

void quote_say(const json_t *reply, struct text *out) {
    const json_t *job = json_object_get(reply, "job"), *customer = json_object_get(reply, "customer");
    const char *state = say_string(reply, "state");
    text_format(out, "Quote %.0f for job %.0f, %s%s%s (%s)\n", say_number(reply, "number"),
                say_number(job, "number"), say_string(job, "title"),
                *say_string(customer, "name") ? ", " : "", say_string(customer, "name"),
                strcmp(state, "accepted") == 0 ? "accepted: frozen" : state);
    text_format(out, "\n  %-52s %10s %s %10s %s\n", "", "from,", say_string(reply, "currency"), "to,",
                say_string(reply, "currency"));
    say_lines(reply, out);
    text_add(out, "\n");
    say_total(reply, out, "without tax", "net_minor");
    say_total(reply, out, "tax", "tax_minor");
    say_total(reply, out, "total", "gross_minor");
    text_add(out, "\n");
    const json_t *hours = json_object_get(reply, "hours");
    say_row(out, "hands", "%.1f to %.1f h", say_number(hours, "p50"), say_number(hours, "p80"));
    say_row(out, "valid until", "%s", say_string(reply, "valid_until"));
    text_add(out, "\n");
    say_paragraph(out, "  ", word_sentence(WORD_BILL_RANGE_TEXT));
    const char *choice = say_string(json_object_get(reply, "choice"), "text");
    if (*choice) say_paragraph(out, "  ", choice);
    const json_t *before = json_object_get(reply, "before");
    if (json_array_size(before)) say_paragraph(out, "  ", word_sentence(WORD_QUOTE_BEFORE));
    for (size_t i = 0; i < json_array_size(before); i++)
        say_paragraph(out, "    ", say_string(json_array_get(before, i), "text"));
    say_notes(reply, out);
}
