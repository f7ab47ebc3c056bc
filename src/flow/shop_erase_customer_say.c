#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_erase_customer_say;

void shop_erase_customer_say(const json_t *reply, struct text *out) {
    text_format(out,
                "Forgotten: customer %s, in %.0f places, with %.0f photographs. Recipes and numbers stay.\n",
                say_string(reply, "customer"), say_number(reply, "rows"), say_number(reply, "photographs"));
    say_notes(reply, out);
}
