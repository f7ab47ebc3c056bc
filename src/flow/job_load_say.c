#include "flow/operation.h"
#include "flow/say.h"

extern operation_say job_load_say;

static void say_list(const json_t *job, const char *key, const char *label, struct text *out) {
    size_t i;
    json_t *item;
    json_array_foreach(json_object_get(job, key), i, item) {
        const char *name = *say_string(item, "toner") ? say_string(item, "toner") : say_string(item, "name");
        const double g = *say_string(item, "toner")
                             ? say_number(item, "g")
                             : say_number(item, "poured_g") - say_number(item, "taken_g");
        const char *colour = say_string(item, "colour");
        struct text column = {0};
        text_format(&column, "%s%s%s", name, *colour && *say_string(item, "toner") ? ", for " : "",
                    *say_string(item, "toner") ? colour : "");
        struct text padded = {0};
        text_add_column(&padded, column.data, 36);
        say_row(out, i ? "" : label, "%s %8.2f g", padded.data, g);
        text_free(&column);
        text_free(&padded);
    }
}

static void say_job(const json_t *job, struct text *out) {
    const json_t *customer = json_object_get(job, "customer");
    text_format(out, "\nJob %.0f  %s\n", say_number(job, "number"), say_string(job, "title"));
    if (json_is_object(customer))
        say_row(out, "customer", "%s  %s", say_string(customer, "name"), say_string(customer, "telephone"));
    if (*say_string(customer, "address")) say_row(out, "address", "%s", say_string(customer, "address"));
    if (*say_string(job, "place")) say_row(out, "place", "%s", say_string(job, "place"));
    say_list(job, "toners", "toners", out);
    say_list(job, "pots", "pots", out);
    size_t i;
    json_t *caution;
    json_array_foreach(json_object_get(job, "cautions"), i, caution)
        say_paragraph(out, i ? "    " : "  ! ",
                      json_is_string(caution) ? json_string_value(caution) : say_string(caution, "text"));
}

void job_load_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *job;
    text_format(out, "To take along for %s and what is due before\n", say_string(reply, "day"));
    if (json_array_size(json_object_get(reply, "jobs")) == 0)
        text_add(out, "Nothing is promised until then.\n");
    json_array_foreach(json_object_get(reply, "jobs"), i, job) say_job(job, out);
    say_notes(reply, out);
}
