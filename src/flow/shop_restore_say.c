#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_restore_say;

void shop_restore_say(const json_t *reply, struct text *out) {
    text_format(out, "Restored to %s from %s: %.0f jobs, %.0f photographs.\n", say_string(reply, "shop"),
                say_string(reply, "from"), say_number(reply, "jobs"), say_number(reply, "photographs"));
    if (*say_string(reply, "replaced_shop_in"))
        text_format(out, "The shop that was there is kept in %s.\n", say_string(reply, "replaced_shop_in"));
    say_notes(reply, out);
}
