#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>

extern operation_say photo_colour_say;

static double at(const json_t *object, const char *key, size_t i) {
    return json_number_value(json_array_get(json_object_get(object, key), i));
}

static double sd_of(const json_t *reply, size_t i) {
    return sqrt(json_number_value(json_array_get(json_array_get(json_object_get(reply, "lab_cov"), i), i)));
}

static void say_card(const json_t *card, struct text *out) {
    const json_t *patches = json_object_get(card, "patches");
    double worst = -1;
    const char *id = "";
    for (size_t i = 0; i < json_array_size(patches); i++) {
        const json_t *patch = json_array_get(patches, i);
        const double de00 = say_number(patch, "de00");
        if (de00 > worst) worst = de00, id = say_string(patch, "id");
    }
    say_row(out, "card", "%s; its own patches, left out one by one, miss by %.2f dE00, at most %.2f (%s)",
            say_string(card, "name"), say_number(card, "loo_mean"), say_number(card, "loo_max"), id);
}

static void say_photos(const json_t *photos, struct text *out) {
    if (json_array_size(photos) < 2) return;
    for (size_t i = 0; i < json_array_size(photos); i++) {
        const json_t *photo = json_array_get(photos, i);
        say_row(out, i ? "" : "photographs", "%s: %.2f dE00 from the middle%s", say_string(photo, "file"),
                say_number(photo, "de00"), json_is_true(json_object_get(photo, "used")) ? "" : ", left out");
    }
}

static void say_spots(const json_t *spots, struct text *out) {
    for (size_t i = 0; i < json_array_size(spots); i++) {
        const json_t *spot = json_array_get(spots, i);
        say_row(out, i ? "" : "spots", "%zu: L* %.1f   a* %.1f   b* %.1f", i + 1, at(spot, "lab", 0),
                at(spot, "lab", 1), at(spot, "lab", 2));
    }
}

static void say_against(const json_t *list, struct text *out) {
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i);
        say_row(out, "against it", "%.2f dE00 apart: dL* %+.2f   da* %+.2f   db* %+.2f",
                say_number(one, "de00"), say_number(one, "dl"), say_number(one, "da"), say_number(one, "db"));
        say_row(out, "", "sure to %.2f dE00 when both are of the same pigments, to %.2f when not",
                say_number(one, "difference_u95_de00"), say_number(one, "unlike_u95_de00"));
    }
}

void photo_colour_say(const json_t *reply, struct text *out) {
    text_format(out, "Colour of %s, from %zu photograph%s\n", say_string(reply, "id"),
                json_array_size(json_object_get(reply, "photos")),
                json_array_size(json_object_get(reply, "photos")) == 1 ? "" : "s");
    text_format(out, "  L* %.1f   a* %.1f   b* %.1f   (standard uncertainty %.1f, %.1f, %.1f)\n",
                at(reply, "lab", 0), at(reply, "lab", 1), at(reply, "lab", 2), sd_of(reply, 0),
                sd_of(reply, 1), sd_of(reply, 2));
    say_row(out, "how sure", "within %.1f dE00, 95 times in 100", say_number(reply, "u95_de00"));
    say_card(json_object_get(reply, "card"), out);
    say_photos(json_object_get(reply, "photos"), out);
    say_spots(json_object_get(reply, "spots_read"), out);
    say_against(json_object_get(reply, "against"), out);
    say_notes(reply, out);
}
