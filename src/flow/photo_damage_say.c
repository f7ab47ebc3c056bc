#include "flow/operation.h"
#include "flow/say.h"
#include <stdio.h>
#include <string.h>

extern operation_say photo_damage_say;

static const char *told(const char *class) {
    if (strcmp(class, "clean-only") == 0) return "clean only";
    if (strcmp(class, "recolour") == 0) return "recolour";
    if (strcmp(class, "flexible-fill") == 0) return "flexible fill";
    if (strcmp(class, "glue-flap") == 0) return "glue the lips";
    return strcmp(class, "sub-patch") == 0 ? "sub-patch" : "new panel";
}

/* " +/- 5", or nothing where no doubt was told. */
static const char *doubt(const json_t *of, const char *key, double unit, int digits, char within[32]) {
    within[0] = 0;
    if (json_object_get(of, key)) snprintf(within, 32, " +/- %.*f", digits, say_number(of, key) / unit);
    return within;
}

void photo_damage_say(const json_t *reply, struct text *out) {
    const json_t *width = json_object_get(reply, "crack_width_mm"),
                 *classes = json_object_get(reply, "classes");
    text_format(out, "Damage of a panel of %.1f cm²\n", say_number(reply, "panel_mm2") / 100);
    char within[3][32];
    say_row(out, "cracks", "%.0f%s mm, %.2f mm to a cm²", say_number(reply, "crack_mm"),
            doubt(reply, "crack_mm_u95", 1, 0, within[0]), say_number(reply, "crack_mm_per_cm2"));
    if (say_number(reply, "crack_mm") > 0)
        say_row(out, "", "%.2f%s mm wide in the middle of all, %.2f mm at the widest twentieth",
                say_number(width, "median"), doubt(width, "median_u95", 1, 2, within[1]),
                say_number(width, "p95"));
    say_row(out, "lost colour", "%.1f%s cm²", say_number(reply, "loss_mm2") / 100,
            doubt(reply, "loss_mm2_u95", 100, 1, within[2]));
    for (size_t i = 0; i < json_array_size(classes); i++) {
        const json_t *one = json_array_get(classes, i);
        if (say_number(one, "length_mm") > 0)
            say_row(out, i ? "" : "work", "%-14s %8.1f cm²  %7.1f dm  %5.0f places",
                    told(say_string(one, "class")), say_number(one, "area_mm2") / 100,
                    say_number(one, "length_mm") / 100, say_number(one, "spots"));
        else
            say_row(out, i ? "" : "work", "%-14s %8.1f cm²  %10s  %5.0f places",
                    told(say_string(one, "class")), say_number(one, "area_mm2") / 100, "",
                    say_number(one, "spots"));
    }
    say_notes(reply, out);
}
