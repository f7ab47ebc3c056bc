#include "flow/operation.h"
#include "flow/say.h"

extern operation_say grain_gun_say;

void grain_gun_say(const json_t *reply, struct text *out) {
    const json_t *next = json_object_get(reply, "next"), *expected = json_object_get(reply, "expected"),
                 *want = json_object_get(reply, "want");
    text_format(out, "Next test shot, after %.0f\n", say_number(reply, "shots"));
    say_row(out, "pressure", "%.2f bar", say_number(next, "pressure_bar"));
    say_row(out, "fluid", "%.2f turns", say_number(next, "fluid_turns"));
    say_row(out, "distance", "%.0f mm", say_number(next, "distance_mm"));
    say_row(out, "viscosity", "%.1f s (4 mm cup)", say_number(next, "viscosity_s"));
    say_row(out, "coats", "%.0f", say_number(next, "coats"));
    say_row(out, "expected", "Sal %.3f +/- %.3f mm, wanted %.3f", say_number(expected, "Sal_mm"),
            say_number(expected, "Sal_mm_u95"), say_number(want, "Sal_mm"));
    say_row(out, "", "Sa %.1f +/- %.1f µm, wanted %.1f", say_number(expected, "Sa_um"),
            say_number(expected, "Sa_um_u95"), say_number(want, "Sa_um"));
    say_notes(reply, out);
}
