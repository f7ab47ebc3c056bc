#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_init_say;

void shop_init_say(const json_t *reply, struct text *out) {
    text_format(out, "The shop is ready in %s.\n", say_string(reply, "shop"));
    say_notes(reply, out);
}
