#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

extern operation_say coats_say;

static void say_gun(const json_t *reply, struct text *out) {
    const json_t *gun = json_object_get(reply, "gun"), *distance = json_object_get(gun, "distance_mm");
    if (!gun) return;
    say_row(out, "gun", "%.0f ml/min, fan %.0f mm, overlap %.0f %%", say_number(gun, "flow_ml_min"),
            say_number(gun, "fan_mm"), 100 * say_number(gun, "overlap"));
    say_row(out, "off the work", "%.0f to %.0f mm", json_number_value(json_array_get(distance, 0)),
            json_number_value(json_array_get(distance, 1)));
    say_row(out, "strokes", "%.0f a coat, %.0f mm apart, each in %.1f s (%.2f m/s)",
            say_number(gun, "strokes"), say_number(gun, "step_mm"), say_number(gun, "stroke_s"),
            say_number(gun, "speed_m_s"));
}

static void clock_text(char out[32], double seconds) {
    const long s = lround(seconds);
    if (s < 3600)
        snprintf(out, 32, "%ld:%02ld min", s / 60, s % 60);
    else
        snprintf(out, 32, "%ld:%02ld h", s / 3600, s / 60 % 60);
}

static void say_coat(const json_t *coat, double hides_at, struct text *out) {
    char at[32], spray[32], flash[32];
    clock_text(at, say_number(coat, "start_s"));
    clock_text(spray, say_number(coat, "spray_s"));
    clock_text(flash, say_number(coat, "flash_s"));
    const char *start = say_string(coat, "start");
    text_format(out, "  %4.0f  %-10s %-10s %-10s %7.1f µm", say_number(coat, "coat"), *start ? start : at,
                spray, say_number(coat, "flash_s") > 0 ? flash : "-", say_number(coat, "film_um"));
    if (json_object_get(coat, "pot")) text_format(out, "   pot %.0f", say_number(coat, "pot"));
    if (say_number(coat, "coat") == hides_at) text_add(out, "   hides");
    text_add(out, "\n");
}

void coats_say(const json_t *reply, struct text *out) {
    if (*say_string(reply, "title")) text_format(out, "%s\n\n", say_string(reply, "title"));
    say_row(out, "mix", "%.1f ml = %.1f g, %.1f ml of it for each coat", say_number(reply, "wet_ml"),
            say_number(reply, "wet_g"), say_number(reply, "coat_ml"));
    say_row(out, "each coat", "%.1f µm wet, %.1f µm dry", say_number(reply, "wet_um"),
            say_number(reply, "dry_um"));
    say_gun(reply, out);
    text_format(out, "\n  %4s  %-10s %-10s %-10s %10s\n", "coat", "start", "spraying", "flash-off", "film");
    const json_t *plan = json_object_get(reply, "plan");
    for (size_t i = 0; i < json_array_size(plan); i++)
        say_coat(json_array_get(plan, i), say_number(reply, "hides_at_coat"), out);
    char total[32];
    clock_text(total, say_number(reply, "total_s"));
    text_add(out, "\n");
    say_row(out, "last coat laid after", "%s", total);
    if (*say_string(reply, "first_pot_ends"))
        say_row(out, "first pot ends at", "%s", say_string(reply, "first_pot_ends"));
    say_notes(reply, out);
}
