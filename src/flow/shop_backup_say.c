#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_backup_say;

void shop_backup_say(const json_t *reply, struct text *out) {
    text_format(out, "Backed up to %s and looked through: %.0f jobs, %.0f photographs (%.1f MB).\n",
                say_string(reply, "file"), say_number(reply, "jobs"), say_number(reply, "photographs"),
                say_number(reply, "photograph_bytes") / 1e6);
    say_notes(reply, out);
}
