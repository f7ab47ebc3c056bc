#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_export_say;

void shop_export_say(const json_t *reply, struct text *out) {
    text_format(out, "Exported to %s: %.0f rows in %.0f files, photographs %.1f MB.\n",
                say_string(reply, "file"), say_number(reply, "rows"), say_number(reply, "files"),
                say_number(reply, "photograph_bytes") / 1e6);
    say_notes(reply, out);
}
