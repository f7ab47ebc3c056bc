#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say units_say;

void units_say(const json_t *reply, struct text *out) {
    const json_t *grit = json_object_get(reply, "grit"), *values = json_object_get(reply, "values");
    if (grit && strcmp(say_string(grit, "scale"), "CAMI") == 0)
        text_format(out, "CAMI %.0f is about P%.0f: median grain %.1f µm\n", say_number(grit, "number"),
                    say_number(grit, "fepa_p"), say_number(grit, "median_um"));
    else if (grit)
        text_format(out, "P%.0f: median grain %.1f µm\n", say_number(grit, "number"),
                    say_number(grit, "median_um"));
    for (size_t i = 0; i < json_array_size(values); i++) {
        const json_t *value = json_array_get(values, i);
        text_format(out, "%.7g %s\n", say_number(value, "value"), say_string(value, "unit"));
    }
}
