#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_restore_say;

void shop_restore_say(const json_t *reply, struct text *out) {
    text_format(out, "Restored to %s from %s: ", say_string(reply, "shop"), say_string(reply, "from"));
    say_count(out, say_number(reply, "jobs"), "job");
    text_add(out, ", ");
    say_count(out, say_number(reply, "photographs"), "photograph");
    text_add(out, ".\n");
    if (*say_string(reply, "replaced_shop_in"))
        text_format(out, "The shop that was there is kept in %s.\n", say_string(reply, "replaced_shop_in"));
    say_notes(reply, out);
}
