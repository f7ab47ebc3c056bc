#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <string.h>

extern operation_say compare_say;

static void say_colour(const char *label, const json_t *colour, struct text *out) {
    const json_t *lab = json_object_get(colour, "lab");
    const char *geometry = say_string(colour, "geometry");
    text_format(out, "  %-10s L* %6.2f  a* %6.2f  b* %6.2f   %s", label,
                json_number_value(json_array_get(lab, 0)), json_number_value(json_array_get(lab, 1)),
                json_number_value(json_array_get(lab, 2)), say_string(colour, "place"));
    text_format(out, strcmp(geometry, "unknown") == 0 ? "\n" : "  (%s)\n", geometry);
}

/* One word of a direction, left out under what an eye could tell. */
static void add_direction(struct text *out, double step, const char *up, const char *down) {
    if (fabs(step) < .1) return;
    text_format(out, "%s%s %.1f", out->length ? ", " : "", step > 0 ? up : down, fabs(step));
}

/* "under D65 the sample is darker 0.8, yellower 1.2", as one says it at the bench. */
static void say_direction(const char *light, const json_t *difference, struct text *out) {
    struct text words = {0};
    add_direction(&words, say_number(difference, "dL"), "lighter", "darker");
    add_direction(&words, say_number(difference, "da"), "redder", "greener");
    add_direction(&words, say_number(difference, "db"), "yellower", "bluer");
    text_format(out, "  under %s the sample %s%s\n", strcmp(light, "lab") == 0 ? "D65" : light,
                words.length ? "is " : "",
                words.length ? words.data : "differs by less than a tenth in L*, a* and b*");
    text_free(&words);
}

static void say_difference(const char *light, const json_t *d, struct text *out) {
    const double shown[] = {say_number(d, "de00"), say_number(d, "de76"), say_number(d, "cmc21"),
                            say_number(d, "dL"),   say_number(d, "da"),   say_number(d, "db"),
                            say_number(d, "dC"),   say_number(d, "dH")};
    text_format(out, "  %-10s", strcmp(light, "lab") == 0 ? "D65" : light);
    for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
        text_format(out, i < 3 ? " %8.2f" : " %+7.2f", fabs(shown[i]) < .005 ? 0 : shown[i]);
    text_add(out, "\n");
}

static void say_metamerism(const json_t *reply, struct text *out) {
    json_t *const list = json_object_get(reply, "metamerism");
    if (json_object_size(list) == 0) return;
    text_add(out, "  metamerism index from D65, dE*ab:");
    for (void *it = json_object_iter(list); it; it = json_object_iter_next(list, it)) {
        const json_t *value = json_object_iter_value(it);
        text_format(out, "   %s ", json_object_iter_key(it));
        if (json_is_number(value))
            text_format(out, "%.2f", json_number_value(value));
        else
            text_add(out, "none");
    }
    text_add(out, "\n");
}

void compare_say(const json_t *reply, struct text *out) {
    json_t *const list = json_object_get(reply, "differences"), *const grey =
                                                                    json_object_get(reply, "grey_scale");
    text_add(out, "Lab under D65, 10 degree observer\n");
    say_colour("reference", json_object_get(reply, "reference"), out);
    say_colour("sample", json_object_get(reply, "sample"), out);
    void *const first = json_object_iter(list);
    say_direction(json_object_iter_key(first), json_object_iter_value(first), out);
    text_format(out, "\nDifferences, %.0f degree observer\n  %-10s %8s %8s %8s %7s %7s %7s %7s %7s\n",
                say_number(reply, "observer"), "light", "dE00", "dE*ab", "CMC(2:1)", "dL*", "da*", "db*",
                "dC*", "dH*");
    for (void *it = json_object_iter(list); it; it = json_object_iter_next(list, it))
        say_difference(json_object_iter_key(it), json_object_iter_value(it), out);
    say_metamerism(reply, out);
    text_format(out, "  grey scale: change in colour %s (%.2f), staining %s (%.2f)\n",
                say_string(grey, "change_class"), say_number(grey, "change"),
                say_string(grey, "staining_class"), say_number(grey, "staining"));
    say_notes(reply, out);
}
