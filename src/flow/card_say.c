#include "flow/operation.h"
#include "flow/say.h"
#include <stdint.h>
#include <string.h>

extern operation_say card_say;

static double at(const json_t *object, const char *key, size_t i) {
    return json_number_value(json_array_get(json_object_get(object, key), i));
}

static void say_recipe(const json_t *recipe, struct text *out) {
    const json_t *parts = json_object_get(recipe, "parts");
    text_format(out, "  %-5s L %5.1f a %5.1f b %5.1f   ", say_string(recipe, "patch"), at(recipe, "lab", 0),
                at(recipe, "lab", 1), at(recipe, "lab", 2));
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        text_format(out, "%s%s %.2f g", i ? ", " : "", say_string(part, "toner"), say_number(part, "g"));
    }
    text_add(out, "\n");
}

/* How many patches have a value. */
static size_t known_of(const json_t *patches) {
    size_t n = 0;
    for (size_t i = 0; i < json_array_size(patches); i++) {
        const json_t *patch = json_array_get(patches, i);
        n += json_object_get(patch, "lab") || json_object_get(patch, "reflectance");
    }
    return n;
}

void card_say(const json_t *reply, struct text *out) {
    const json_t *patches = json_object_get(reply, "patches"), *recipes = json_object_get(reply, "recipes");
    const json_t *places = json_object_get(reply, "places");
    text_format(out, "card \"%s\", %g x %g mm\n", say_string(reply, "name"), at(reply, "size_mm", 0),
                at(reply, "size_mm", 1));
    say_row(out, "tags", "%zu of family 36h11", json_array_size(json_object_get(reply, "tags")));
    say_row(out, "patches", "%zu, %zu with values", json_array_size(patches), known_of(patches));
    if (json_array_size(places)) say_row(out, "places for dabs", "%zu", json_array_size(places));
    if (json_array_size(recipes)) {
        text_add(out, "\nSpray these, opaque, on card; each covers a square of 9 mm:\n");
        for (size_t i = 0; i < json_array_size(recipes); i++) say_recipe(json_array_get(recipes, i), out);
        say_row(out, "cover", "leather colours lie about %.1f dE00 from the nearest",
                say_number(reply, "leather_rms_de00"));
    }
    say_notes(reply, out);
}
