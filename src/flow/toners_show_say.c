#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <stdint.h>

extern operation_say toners_show_say;

static void say_lab(const json_t *lab, struct text *out) {
    if (!json_is_array(lab)) {
        text_format(out, "  %5s%12s", "-", "");
        return;
    }
    text_format(out, "  %5.1f %5.1f %5.1f", json_number_value(json_array_get(lab, 0)),
                json_number_value(json_array_get(lab, 1)), json_number_value(json_array_get(lab, 2)));
}

void toners_show_say(const json_t *reply, struct text *out) {
    const json_t *toners = json_object_get(reply, "toners"), *surface = json_object_get(reply, "surface");
    text_format(out,
                "%zu toners, read %s; the surface throws back %.1f %% of light from outside,\n%.1f %% "
                "from inside\n",
                json_object_size(toners), say_string(reply, "geometry"), 100 * say_number(surface, "k1"),
                100 * say_number(surface, "k2"));
    text_format(out, "  %-14s %-6s  %-17s  %-17s  %-7s  %s\n", "toner", "role", "alone: L*, a*, b*",
                "1 to 15 in white", "hides", "strength");
    const char *id;
    json_t *toner;
    json_object_foreach((json_t *)(uintptr_t)toners, id, toner) {
        text_format(out, "  %-14s %-6s", id, say_string(toner, "role"));
        say_lab(json_object_get(toner, "lab"), out);
        say_lab(json_object_get(toner, "tint_lab"), out);
        const double film = say_number(toner, "film_um_to_hide"), sd = say_number(toner, "strength_sd");
        if (isnan(film))
            text_format(out, "  %4s   ", "-");
        else
            text_format(out, "  %4.0f µm", film);
        if (isnan(sd))
            text_add(out, "  -\n");
        else
            text_format(out, "  +/-%.1f %%\n", 100 * sd);
    }
    if (json_is_true(json_object_get(reply, "relative_s")))
        text_add(out, "  Only opaque films were drawn: scattering is relative, hiding is not known.\n");
    say_notes(reply, out);
}
