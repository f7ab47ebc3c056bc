/* A match for people: each recipe as grams, and what the bench must know of it. */
#include "colour/lab.h"
#include "flow/operation.h"
#include "flow/say.h"
#include <math.h>
#include <string.h>

extern operation_say match_say;

static const char *words_of_light(const char *name) {
    enum light light;
    if (strcmp(name, light_name(LIGHT_MEASURED)) == 0) return light_in_words(LIGHT_MEASURED);
    return light_from_name(name, &light) ? light_in_words(light) : name;
}

static const char *verdict(double de00) {
    return de00 <= .8    ? "no difference seen"
           : de00 <= 1.5 ? "good for a panel up to its edge"
           : de00 <= 2.5 ? "only with a fade-out"
                         : "too far off";
}

static void say_lights(const json_t *recipe, const char *rank, struct text *out) {
    struct text line = {0}, said = {0};
    const json_t *de00 = json_object_get(recipe, "de00");
    const char *light, *first_light = NULL, *weakest = NULL;
    double worst = -1, first = (double)NAN;
    json_t *value;
    json_object_foreach((json_t *)(size_t)de00, light, value) {
        if (!json_is_number(value)) continue;
        const double x = json_number_value(value);
        if (isnan(first)) first = x, first_light = light;
        text_format(&line, "%s%.2f in %s", worst < 0 ? "dE00 " : ", ", x, words_of_light(light));
        if (x > worst) worst = x, weakest = light;
    }
    say_paragraph(out, rank, line.data ? line.data : "");
    text_free(&line);
    if (isnan(first)) return;
    const bool alike = verdict(worst) == verdict(first);
    text_format(&said, "in %s: %s", words_of_light(first_light), verdict(first));
    if (!alike)
        text_format(&said, "; weakest in %s: %s", words_of_light(weakest), verdict(worst));
    else if (worst > first + .3)
        text_format(&said, "; weakest in %s, of the same sort", words_of_light(weakest));
    say_paragraph(out, "     ", said.data);
    text_free(&said);
}

static void say_rank(const json_t *recipe, struct text *out) {
    char rank[16];
    snprintf(rank, sizeof rank, "%-4.0f ", say_number(recipe, "rank"));
    say_lights(recipe, rank, out);
}

static void say_parts(const json_t *recipe, struct text *out) {
    const json_t *parts = json_object_get(recipe, "parts");
    int digits = 0;
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const double g = say_number(json_array_get(parts, i), "g");
        for (int d = digits; d < 4; d++) {
            const double scaled = g * pow(10, d);
            if (fabs(scaled - floor(scaled + .5)) > 1e-6) digits = d + 1;
        }
    }
    for (size_t i = 0; i < json_array_size(parts); i++) {
        const json_t *part = json_array_get(parts, i);
        const bool hard = json_is_true(json_object_get(part, "hard_to_weigh")),
                   let_down = json_is_true(json_object_get(part, "let_down"));
        text_format(out, "     %-28s %10.*f g%s\n", say_string(part, "toner"), digits, say_number(part, "g"),
                    let_down ? "   from a let-down: see pour"
                    : hard   ? "   little for the scale: see pour"
                             : "");
    }
}

static void say_hiding(const json_t *recipe, struct text *out) {
    const double coats = say_number(recipe, "coats_to_hide");
    const json_t *hides = json_object_get(recipe, "hides");
    if (!isnan(coats))
        text_format(out, "hides in %.0f coat%s (%.0f µm)", coats, coats == 1 ? "" : "s",
                    say_number(recipe, "film_um_to_hide"));
    else
        text_add(out, json_is_false(hides) ? "does not hide under 1 mm"
                                           : "hiding not known: the toners were fitted from opaque films");
}

static void say_bench(const json_t *recipe, struct text *out) {
    const double least = say_number(recipe, "min_batch_g");
    text_add(out, "     ");
    say_hiding(recipe, out);
    text_format(out, "\n     weighing may cost %.2f dE00, smallest batch %.*f g\n",
                say_number(recipe, "weighing_de00_p95"), least < 99.95 ? 1 : 0, least);
}

void match_say(const json_t *reply, struct text *out) {
    const json_t *recipes = json_object_get(reply, "recipes"), *search = json_object_get(reply, "search");
    if (json_is_false(json_object_get(reply, "inside_tolerance")))
        text_format(out, "No recipe within %.2f dE00 of the target. The nearest:\n\n",
                    say_number(reply, "tolerance_de00"));
    for (size_t i = 0; i < json_array_size(recipes); i++) {
        const json_t *recipe = json_array_get(recipes, i);
        if (i) text_add(out, "\n");
        say_rank(recipe, out);
        say_parts(recipe, out);
        say_bench(recipe, out);
    }
    text_format(out, "\n%.0f sets of toners tried, %.0f recipes worked out to the end%s.\n",
                say_number(search, "subsets"), say_number(search, "refined"),
                json_is_true(json_object_get(search, "audited")) ? " (audit)" : "");
    say_notes(reply, out);
}
