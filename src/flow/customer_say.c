#include "flow/operation.h"
#include "flow/say.h"

extern operation_say customer_list_say, customer_add_say, customer_change_say;

static const char *or_dash(const char *text) {
    return *text ? text : "-";
}

void customer_list_say(const json_t *reply, struct text *out) {
    size_t i;
    json_t *customer;
    if (json_array_size(json_object_get(reply, "customers")) == 0)
        text_add(out, json_is_true(json_object_get(reply, "asked_for_some"))
                          ? "No customer fits those words.\n"
                          : "No customer is in the book yet.\n");
    json_array_foreach(json_object_get(reply, "customers"), i, customer) {
        text_add_column(out, say_string(customer, "name"), 22);
        text_add(out, " ");
        text_add_column(out, or_dash(say_string(customer, "telephone")), 16);
        text_format(out, " %s\n", say_string(customer, "id"));
        if (*say_string(customer, "price_list_name"))
            text_format(out, "    of the trade, by the price list \"%s\"\n",
                        say_string(customer, "price_list_name"));
        else if (json_is_true(json_object_get(customer, "trade")))
            text_add(out, "    of the trade\n");
    }
}

void customer_add_say(const json_t *reply, struct text *out) {
    customer_list_say(reply, out);
}

void customer_change_say(const json_t *reply, struct text *out) {
    customer_list_say(reply, out);
}
