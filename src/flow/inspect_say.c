#include "flow/operation.h"
#include "flow/say.h"
#include <string.h>

extern operation_say inspect_say;

static void say_judged(struct text *out, const char *label, const char *what, const json_t *j,
                       const char *key, const char *unit) {
    text_format(out, "    %-10s %s %.2f%s (%.2f to %.2f), tolerance %.2f: %s\n", label, what,
                say_number(j, key), unit, say_number(j, "low"), say_number(j, "high"),
                say_number(j, "tolerance"), say_string(j, "verdict"));
}

/* A distance: what is not sure about the readings only adds to it, so that of two equal colours the true
 * one mostly lies above what was read. One bound says it, the one that the verdict asks for. */
static void say_colour(struct text *out, const char *light, const json_t *j) {
    const bool fails = strcmp(say_string(j, "verdict"), "fail") == 0;
    text_format(out, "    %-10s dE00 %.2f read, in 19 of 20 cases %s %.2f; tolerance %.2f: %s\n", light,
                say_number(j, "de00"), fails ? "over" : "under", say_number(j, fails ? "low" : "high"),
                say_number(j, "tolerance"), say_string(j, "verdict"));
}

static void say_spot(const json_t *spot, struct text *out) {
    const char *light;
    json_t *judged;
    text_format(out, "\n  %s\n", say_string(spot, "spot"));
    json_object_foreach(json_object_get(spot, "lights"), light, judged) say_colour(out, light, judged);
    const json_t *gloss = json_object_get(spot, "gloss");
    if (gloss) say_judged(out, "gloss", "off by", gloss, "difference_gu", " GU");
    say_paragraph(out, "    ", say_string(spot, "text"));
}

void inspect_say(const json_t *reply, struct text *out) {
    const json_t *spots = json_object_get(reply, "spots"), *grain = json_object_get(reply, "grain");
    say_paragraph(out, "", say_string(reply, "text"));
    for (size_t i = 0; i < json_array_size(spots); i++) say_spot(json_array_get(spots, i), out);
    const char *name;
    json_t *judged;
    if (grain) text_add(out, "\n  grain\n");
    json_object_foreach(json_object_get(reply, "grain"), name, judged)
        say_judged(out, name, "off by a part of", judged, "part", "");
    text_add(out, "\n");
    say_row(out, "worst spot", "%s", say_string(reply, "worst_spot"));
    say_row(out, "grey scale", "%s (ISO 105-A05, change)",
            say_string(json_object_get(reply, "grey_scale"), "change_class"));
    say_notes(reply, out);
}
