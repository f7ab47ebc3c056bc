#include "flow/operation.h"
#include "flow/say.h"
#include "flow/toners_prior.h"
#include <stdint.h>
#include <string.h>

extern operation_say toners_fit_say;

static void say_spread(double sd, struct text *out) {
    if (sd < .25)
        text_format(out, "+/-%4.1f %%", 100 * sd);
    else
        text_format(out, "%-9s", "not known");
}

static void say_toners(const json_t *toners, struct text *out) {
    text_format(out, "  %-24s %5s  %9s  %9s  %s\n", "toner", "films", "mean dE00", "absorbs", "scatters");
    const char *id;
    json_t *toner;
    json_object_foreach((json_t *)(uintptr_t)toners, id, toner) {
        text_format(out, "  %-24s %5.0f  %9.2f  ", id, say_number(toner, "films"),
                    say_number(toner, "de00_mean"));
        say_spread(say_number(toner, "k_sd"), out);
        text_add(out, "  ");
        say_spread(say_number(toner, "s_sd"), out);
        text_add(out, "\n");
    }
}

void toners_fit_say(const json_t *reply, struct text *out) {
    if (json_object_get(reply, "next_films")) {
        toners_prior_say(reply, out);
        return;
    }
    const json_t *fit = json_object_get(reply, "fit"), *surface = json_object_get(reply, "surface");
    const json_t *doubts = json_object_get(reply, "disbelieved");
    text_format(out, "%zu toners from %.0f films (%s)\n", json_object_size(json_object_get(reply, "toners")),
                say_number(fit, "films"), say_string(reply, "geometry"));
    say_row(out, "films miss by", "%.2f dE00 median, %.2f at most for 95 of 100",
            say_number(fit, "de00_median"), say_number(fit, "de00_p95"));
    if (say_number(fit, "film_sd") > 0)
        say_row(out, "film thickness", "+/-%.1f %% of what was written", 100 * say_number(fit, "film_sd"));
    say_row(out, "surface", "throws back %.1f %% of light from outside, %.1f %% from inside",
            100 * say_number(surface, "k1"), 100 * say_number(surface, "k2"));
    say_toners(json_object_get(fit, "toners"), out);
    if (json_array_size(doubts)) text_add(out, "\nNot believed:\n");
    for (size_t i = 0; i < json_array_size(doubts); i++) /* two cards that were exchanged have one sentence */
        if (i == 0 || strcmp(say_string(json_array_get(doubts, i), "text"),
                             say_string(json_array_get(doubts, i - 1), "text")) != 0)
            say_paragraph(out, "  - ", say_string(json_array_get(doubts, i), "text"));
    say_notes(reply, out);
}
