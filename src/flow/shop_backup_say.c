#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shop_backup_say;

void shop_backup_say(const json_t *reply, struct text *out) {
    text_format(out, "Backed up to %s and looked through: ", say_string(reply, "file"));
    say_count(out, say_number(reply, "jobs"), "job");
    text_add(out, ", ");
    say_count(out, say_number(reply, "photographs"), "photograph");
    text_format(out, " (%.1f MB).\n", say_number(reply, "photograph_bytes") / 1e6);
    say_notes(reply, out);
}
