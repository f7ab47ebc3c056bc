#include "flow/operation.h"
#include "flow/say.h"

extern operation_say shelf_ladder_say;

/* As a file, so that it can be sent into one. */
void shelf_ladder_say(const json_t *reply, struct text *out) {
    const char *csv = say_string(reply, "csv");
    text_add(out, *csv ? csv : "No ladder is kept yet: russet shelf ladder ladder.csv keeps one.\n");
}
