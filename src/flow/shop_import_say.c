#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_import_say;

void shop_import_say(const json_t *reply, struct text *out) {
    text_format(
        out,
        "Joined %s: %.0f rows new, %.0f changed later there, %.0f kept as they were; %.0f photographs.\n",
        say_string(reply, "file"), say_number(reply, "rows_added"), say_number(reply, "rows_renewed"),
        say_number(reply, "rows_kept"), say_number(reply, "photographs"));
    say_notes(reply, out);
}
