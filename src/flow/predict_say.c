/* A prediction, told to people. */
#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

extern operation_say predict_say;

static void say_parts(const json_t *reply, struct text *out) {
    const json_t *parts = json_object_get(reply, "parts");
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        say_row(out, say_string(part, "toner"), "%8.2f g  %6.2f %%", say_number(part, "g"),
                100 * say_number(part, "mass_fraction"));
    }
}

static void say_colour(const json_t *reply, struct text *out) {
    const json_t *lab = json_object_get(reply, "lab");
    double value[3];
    for (size_t i = 0; i < 3; i++) value[i] = json_number_value(json_array_get(lab, i));
    say_row(out, "colour (D65/10)", "L* %.2f  a* %.2f  b* %.2f", value[0], value[1], value[2]);
}

static void say_hiding(const json_t *reply, struct text *out) {
    const double film_um = say_number(reply, "film_um"), ratio = say_number(reply, "contrast_ratio");
    const double to_hide = say_number(reply, "film_um_to_hide"), coats = say_number(reply, "coats_to_hide");
    if (!isnan(film_um)) say_row(out, "film", "%.1f µm dry, over the backing", film_um);
    if (isnan(film_um)) say_row(out, "film", "opaque");
    if (!isnan(film_um) && !isnan(ratio)) say_row(out, "contrast ratio", "%.4f at that film", ratio);
    if (isnan(to_hide)) return;
    say_row(out, "hides from", "%.1f µm dry: %.0f %s of %.4g µm", to_hide, coats,
            coats > 1 ? "coats" : "coat", say_number(reply, "coat_um"));
}

void predict_say(const json_t *reply, struct text *out) {
    text_add(out, "The mix\n");
    say_parts(reply, out);
    text_format(out, "will read (%s)\n", say_string(reply, "geometry"));
    say_colour(reply, out);
    say_hiding(reply, out);
    say_notes(reply, out);
}
