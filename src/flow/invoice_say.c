#include "flow/money_say.h"
#include "flow/operation.h"
#include "flow/say.h"

extern operation_say invoice_say;

static void say_sum(const json_t *reply, struct text *out, const char *label, const json_t *object,
                    const char *key) {
    char amount[MONEY_TEXT];
    text_format(out, "  %-52s %14s\n", label, money_bare(reply, object, key, amount));
}

void invoice_say(const json_t *reply, struct text *out) {
    const json_t *job = json_object_get(reply, "job"), *customer = json_object_get(reply, "customer"),
                 *lines = json_object_get(reply, "lines"), *total = json_object_get(reply, "total");
    text_format(out, "%s %.0f for job %.0f, %s%s%s, %s\n\n",
                *say_string(reply, "cancels") ? "Credit note" : "Invoice", say_number(reply, "number"),
                say_number(job, "number"), say_string(job, "title"),
                *say_string(customer, "name") ? ", " : "", say_string(customer, "name"),
                say_string(reply, "day"));
    for (size_t i = 0; i < json_array_size(lines); i++)
        say_sum(reply, out, say_string(json_array_get(lines, i), "what"), json_array_get(lines, i), "minor");
    text_add(out, "\n");
    say_sum(reply, out, "without tax", total, "net_minor");
    say_sum(reply, out, "tax", total, "tax_minor");
    say_sum(reply, out, "total", total, "gross_minor");
    if (*say_string(reply, "cancels"))
        say_row(out, "cancels invoice", "%s", say_string(reply, "cancels"));
    else
        say_row(out, "pay until", "%s", say_string(reply, "pay_until"));
    say_notes(reply, out);
}
