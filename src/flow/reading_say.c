#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <string.h>

extern operation_say reading_say;

enum { BANDS_A_LINE = 8, FIRST_NM = 400, STEP_NM = 10 };

static double lab_at(const json_t *reply, size_t i) {
    return json_number_value(json_array_get(json_object_get(reply, "lab"), i));
}

static void say_lab(const json_t *reply, struct text *out) {
    const double l = lab_at(reply, 0), a = lab_at(reply, 1), b = lab_at(reply, 2);
    double h = atan2(b, a) * (180 / M_PI);
    if (h < 0) h += 360;
    text_format(out, "  L* %.2f   a* %.2f   b* %.2f   C* %.2f   h %.1f\n", l, a, b, hypot(a, b), h);
    const char *geometry = say_string(reply, "geometry");
    text_format(out, "  under %s, %.0f degree observer; geometry: %s\n", say_string(reply, "illuminant"),
                say_number(reply, "observer"), strcmp(geometry, "unknown") == 0 ? "not said" : geometry);
}

static void say_repeats(const json_t *reply, struct text *out) {
    const json_t *rejected = json_object_get(reply, "rejected"),
                 *de00 = json_object_get(reply, "repeat_de00");
    const size_t left_out = json_array_size(rejected);
    const double repeats = say_number(reply, "repeats");
    if (json_is_array(json_object_get(reply, "seams_mm"))) {
        text_format(out, "  %zu places, weighted by their seams; they lie %.2f dE00 from it, at most %.2f\n",
                    json_array_size(json_object_get(reply, "seams_mm")), say_number(de00, "mean"),
                    say_number(de00, "max"));
        return;
    }
    if (repeats < 2) return;
    text_format(out, "  %.0f repeats", repeats);
    if (left_out) text_format(out, ", %zu left out", left_out);
    text_format(out, "; %s lie %.2f dE00 from their mean, at most %.2f\n", left_out ? "the others" : "they",
                say_number(de00, "mean"), say_number(de00, "max"));
    for (size_t i = 0; i < left_out; i++) {
        const json_t *one = json_array_get(rejected, i);
        struct text line = {0};
        text_format(&line, "left out %s, %.2f dE00: %s", say_string(one, "id"), say_number(one, "de00"),
                    say_string(one, "why"));
        say_paragraph(out, "    ", line.data);
        text_free(&line);
    }
}

static void say_spectrum(const json_t *reply, struct text *out) {
    const json_t *reflectance = json_object_get(reply, "reflectance");
    const size_t n = json_array_size(reflectance);
    if (n) text_add(out, "  reflectance, %\n");
    for (size_t i = 0; i < n; i++) {
        if (i % BANDS_A_LINE == 0) text_format(out, "  %zu nm ", FIRST_NM + i * STEP_NM);
        text_format(out, " %6.2f", 100 * json_number_value(json_array_get(reflectance, i)));
        if (i % BANDS_A_LINE == BANDS_A_LINE - 1 || i + 1 == n) text_add(out, "\n");
    }
}

static void say_files(const json_t *reply, struct text *out) {
    const json_t *files = json_object_get(reply, "files");
    for (size_t i = 0; i < json_array_size(files); i++) {
        const json_t *file = json_array_get(files, i);
        text_format(out, "  %s: %s", say_string(file, "file"), say_string(file, "format"));
        if (*say_string(file, "scale")) text_format(out, ", %s", say_string(file, "scale"));
        text_add(out, "\n");
    }
}

void reading_say(const json_t *reply, struct text *out) {
    text_format(out, "Reading %s\n", say_string(reply, "id"));
    say_lab(reply, out);
    say_repeats(reply, out);
    say_spectrum(reply, out);
    say_files(reply, out);
    say_notes(reply, out);
}
