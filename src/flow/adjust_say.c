/* A correction and a ring, told to the person at the bench. */
#include "flow/operation.h"
#include "flow/pot_flow.h"
#include "flow/say.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static void say_additions(const json_t *additions, double step_g, const char *indent, struct text *out) {
    const int digits = scale_decimals(step_g);
    size_t index;
    json_t *entry;
    json_array_foreach(additions, index, entry) {
        const double window = say_number(entry, "window_g");
        text_format(out, "%s%*.*f g  %s", indent, 9, digits, say_number(entry, "g"),
                    say_string(entry, "name"));
        if (!isnan(window)) text_format(out, "  (may miss by %.*f g)", digits, fmax(window, step_g));
        text_add(out, "\n");
    }
}

/* "white=12.50,black=0.40": ready for the next --pot. A long one is broken as a shell joins it again: a
 * backslash, and the rest from the first column. */
static void say_pot(const json_t *pot, struct text *out) {
    enum { LEAD = 8, WIDTH = 79 };
    const char *key;
    json_t *value;
    size_t at = LEAD;
    text_add(out, "For the next card (--taken-g counts anew from here):\n  --pot ");
    json_object_foreach((json_t *)(uintptr_t)pot, key, value) {
        struct text one = {0};
        text_format(&one, "%s=%.6g", key, json_number_value(value));
        if (at > LEAD) text_add(out, ","), at++;
        if (at + one.length + 2 > WIDTH) text_add(out, "\\\n"), at = LEAD + 1;
        text_add_bytes(out, one.data, one.length);
        at += one.length;
        text_free(&one);
    }
    text_add(out, "\n");
}

static void say_start_over(const json_t *reply, struct text *out) {
    const json_t *over = json_object_get(reply, "start_over");
    if (!json_is_object(over)) return;
    const double keep = say_number(over, "keep_g"), step = say_number(reply, "scale_step_g"),
                 after = say_number(over, "de00_after");
    if (isnan(after) || keep <= 0) {
        text_add(out, "No part of this pot leads there inside the limit: start over from a fresh match.\n");
        return;
    }
    text_format(out, "Start over from %.*f g of this pot (put the rest aside), and add:\n",
                scale_decimals(step), keep);
    say_additions(json_object_get(over, "additions"), step, "  ", out);
    text_format(out, "  expected then: %.2f dE00\n", after);
}

static bool has_note(const json_t *reply, const char *id) {
    const json_t *notes = json_object_get(reply, "notes");
    for (size_t i = 0; i < json_array_size(notes); i++)
        if (strcmp(say_string(json_array_get(notes, i), "id"), id) == 0) return true;
    return false;
}

static void say_adjustment(const json_t *reply, struct text *out) {
    const json_t *additions = json_object_get(reply, "additions");
    const double before = say_number(reply, "de00_before"), after = say_number(reply, "de00_after"),
                 p95 = say_number(reply, "de00_after_p95");
    const bool near = has_note(reply, "note-near-enough");
    text_format(out, "%s %.2f dE00 from the target%s",
                has_note(reply, "note-eye-light") ? "By your eye the pot is" : "The pot is", before,
                near ? ": near enough, it may stay" : "");
    if (json_array_size(additions) == 0)
        text_add(out, near ? ".\n" : "; no addition brings it nearer.\n");
    else
        text_format(out,
                    near ? ".\nTo bring it nearer still, add to the %.2f g in the cup:\n"
                         : "; add to the %.2f g in the cup:\n",
                    say_number(reply, "remains_g"));
    say_additions(additions, say_number(reply, "scale_step_g"), "", out);
    if (json_array_size(additions)) {
        text_format(out, "Expected then: %.2f dE00", after);
        if (!isnan(p95)) text_format(out, ", in 19 of 20 cases under %.2f", p95);
        text_format(out, ".\nThe cup then holds %.2f g (limit %.2f g).\n", say_number(reply, "total_g"),
                    say_number(reply, "pot_limit_g"));
    }
    if (!json_is_true(json_object_get(reply, "reaches"))) {
        text_format(out, "That is not inside %.2f dE00: it still should be %s.\n",
                    say_number(reply, "tolerance"), say_string(reply, "missing"));
        say_start_over(reply, out);
    }
    if (json_array_size(additions)) say_pot(json_object_get(reply, "pot_after"), out);
}

/* "+ 0.03 g white + 0.18 g blue": broken only before a plus. */
static void say_mix(const json_t *additions, int digits, struct text *out) {
    enum { INDENT = 32, WIDTH = 80 };
    size_t at = INDENT;
    if (json_array_size(additions) == 0) text_add(out, "the pot alone");
    for (size_t i = 0; i < json_array_size(additions); i++) {
        const json_t *entry = json_array_get(additions, i);
        struct text one = {0};
        text_format(&one, "+ %.*f g %s%s", digits, say_number(entry, "g"), say_string(entry, "toner"),
                    say_number(entry, "fraction") < 1 ? " let down" : "");
        if (i && at + 1 + one.length > WIDTH) {
            text_format(out, "\n%*s", INDENT, "");
            at = INDENT;
        } else if (i) {
            text_add(out, " ");
            at++;
        }
        text_add_bytes(out, one.data, one.length);
        at += one.length;
        text_free(&one);
    }
    text_add(out, "\n");
}

static const double RING_ENOUGH = 0.8; /* dE00: not seen (docs/decisions.md) */

static void say_ring(const json_t *reply, struct text *out) {
    const double step = say_number(reply, "scale_step_g");
    size_t index;
    json_t *dab;
    const json_t *dabs = json_object_get(reply, "dabs");
    const double spends = say_number(reply, "spends_g"), stays = say_number(reply, "stays_g"),
                 dab_g = say_number(json_array_get(dabs, 0), "pot_g");
    text_format(out,
                "A ring of %zu dabs: %.2f g of the pot each, and what is added; %.1f g in all,\n%.1f g stay "
                "in the cup.%s\n",
                json_array_size(dabs), dab_g, spends, stays,
                stays >= spends ? ""
                : dab_g > 1     ? " That is little: --dab-g 1 takes less."
                                : " That is little: words of the eye take one dab.");
    json_array_foreach(dabs, index, dab) {
        text_format(out, "  %zu  %-26s ", index, say_string(dab, "says"));
        say_mix(json_object_get(dab, "additions"), scale_decimals(step), out);
    }
    const json_t *additions = json_object_get(reply, "additions");
    if (!additions) {
        const int last = (int)json_array_size(dabs) - 1, one = last < 3 ? last : 3;
        struct text how = {0};
        text_format(
            &how,
            "Dry and coat the dabs, hold them to the part in daylight, then say the same again with "
            "--nearest %d, or --nearest %d,%d when the part lies between two; the dabs count as taken by "
            "themselves.",
            one, one - 1 > 0 ? one - 1 : 0, one);
        say_paragraph(out, "", how.data);
        text_free(&how);
        return;
    }
    text_add(out, json_array_size(additions) ? "To bring the whole pot to the part, add:\n"
                                             : "The pot stays as it is: nothing to add.\n");
    if (has_note(reply, "note-pot-stands")) return;
    say_additions(additions, step, "", out);
    text_format(
        out, "It may then still be off by about %.1f dE00%s\n", say_number(reply, "rest_de00"),
        say_number(reply, "rest_de00") > RING_ENOUGH
            ? ": lay a second ring around\nthe corrected pot (--last-ring and the file that --out wrote)."
            : ".");
    say_pot(json_object_get(reply, "pot_after"), out);
}

operation_say adjust_say;

void adjust_say(const json_t *reply, struct text *out) {
    if (strcmp(say_string(reply, "kind"), "ring") == 0)
        say_ring(reply, out);
    else
        say_adjustment(reply, out);
    say_notes(reply, out);
}
