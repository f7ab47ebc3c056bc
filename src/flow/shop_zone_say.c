#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say shop_zone_say;

void shop_zone_say(const json_t *reply, struct text *out) {
    say_row(out, "time zone", "%s (%s)", say_string(reply, "zone"),
            strcmp(say_string(reply, "from"), "shop") == 0 ? "set for this shop" : "of this machine");
    if (!json_is_true(json_object_get(reply, "has_table")))
        say_row(out, "", "this machine has no table of that zone: days are UTC");
    say_row(out, "here it is", "%.10s %.5s", say_string(reply, "now_local"),
            strlen(say_string(reply, "now_local")) > 11 ? say_string(reply, "now_local") + 11 : "");
}
