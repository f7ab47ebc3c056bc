#include "flow/money_say.h"
#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say price_list_say, price_set_say;

static void say_customers(const json_t *list, struct text *out) {
    size_t i;
    json_t *name;
    struct text all = {0};
    json_array_foreach(json_object_get(list, "customers"), i, name)
        text_format(&all, "%s%s", i ? ", " : "", json_string_value(name));
    say_row(out, "customers", "%s",
            all.length ? all.data : "none yet: russet customer change NAME --price-list ...");
    text_free(&all);
}

void price_list_say(const json_t *reply, struct text *out) {
    size_t i, k;
    json_t *list, *price;
    if (json_array_size(json_object_get(reply, "lists")) == 0)
        text_add(out, "No price list yet. `russet price set \"trade\" coat 60 --per m2` begins one.\n");
    json_array_foreach(json_object_get(reply, "lists"), i, list) {
        text_format(out, "%s, on %s, in %s\n", say_string(list, "name"), say_string(reply, "day"),
                    say_string(list, "currency"));
        json_array_foreach(json_object_get(list, "prices"), k, price) {
            char amount[MONEY_TEXT];
            text_add(out, "  ");
            text_add_column(out, say_string(price, "item"), 12);
            text_add(out, " ");
            text_add_column(out, say_string(price, "name"), 38);
            text_format(out, " %10s per %s\n", money_bare(list, price, "minor", amount),
                        say_string(price, "per"));
        }
        say_customers(list, out);
    }
}

void price_set_say(const json_t *reply, struct text *out) {
    price_list_say(reply, out);
}
