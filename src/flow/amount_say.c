#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

extern operation_say amount_say;

static void say_mix(const json_t *reply, struct text *out) {
    say_row(out, "mix", "%.1f ml = %.1f g", say_number(reply, "wet_ml"), say_number(reply, "wet_g"));
    if (say_number(reply, "thinner_ml") > 0)
        say_row(out, "  of it", "%.1f ml (%.1f g) paint, %.1f ml thinner", say_number(reply, "paint_ml"),
                say_number(reply, "paint_g"), say_number(reply, "thinner_ml"));
    const json_t *made_of = json_object_get(reply, "wet_ml_made_of");
    static const char *const part[][2] = {{"film_ml", "  film"},
                                          {"fade_ml", "  fade"},
                                          {"blend_ml", "  blend coats"},
                                          {"spare_ml", "  spare"},
                                          {"loss_ml", "  stays in the tools"}};
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++)
        if (say_number(made_of, part[i][0]) > 0)
            say_row(out, part[i][1], "%.1f ml", say_number(made_of, part[i][0]));
}

static void say_film(const json_t *reply, struct text *out) {
    say_row(out, "coats", "%.0f, each %.1f µm wet, %.1f µm dry", say_number(reply, "coats"),
            say_number(reply, "wet_um"), say_number(reply, "dry_um"));
    say_row(out, "film", "%.1f µm new, %.1f µm with what is under it", say_number(reply, "film_um"),
            say_number(reply, "total_film_um"));
    const double hides_at = say_number(reply, "hides_at_coat");
    if (!isnan(hides_at)) say_row(out, "hides", "with coat %.0f", hides_at);
    say_row(out, "covers", "%.2f m2 a litre at this film, nothing lost",
            say_number(reply, "coverage_m2_per_l"));
}

void amount_say(const json_t *reply, struct text *out) {
    say_mix(reply, out);
    say_film(reply, out);
    const json_t *voc = json_object_get(reply, "voc");
    if (voc)
        say_row(out, "VOC as applied", "%.1f g/l less water and exempt, %.1f g/l as it is",
                say_number(voc, "regulatory_g_per_l"), say_number(voc, "actual_g_per_l"));
    say_notes(reply, out);
}
