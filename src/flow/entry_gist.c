#include "flow/entry_gist.h"
#include "flow/say.h"
#include "shop/document.h"
#include <math.h>
#include <string.h>

typedef void gist(const json_t *document, struct text *out);

static void of_reading(const json_t *document, struct text *out) {
    const json_t *lab = json_object_get(document, "lab");
    if (json_array_size(lab) != 3) return;
    text_format(out, "L* %.1f  a* %.1f  b* %.1f", json_number_value(json_array_get(lab, 0)),
                json_number_value(json_array_get(lab, 1)), json_number_value(json_array_get(lab, 2)));
}

static double sum_of(const json_t *document, const char *list) {
    size_t i;
    json_t *part;
    double sum = 0;
    json_array_foreach(json_object_get(document, list), i, part) sum +=
        json_number_value(json_object_get(part, "g"));
    return sum;
}

static void of_match(const json_t *document, struct text *out) {
    const json_t *best = json_array_get(json_object_get(document, "recipes"), 0);
    const double de00 = say_number(json_object_get(best, "de00"), "D65"), g = sum_of(best, "parts");
    if (isfinite(de00)) text_format(out, "the best dE00 %.2f in daylight", de00);
    if (g > 0) text_format(out, "%sfor %.0f g", out->length ? ", " : "", g);
}

static void of_pour(const json_t *document, struct text *out) {
    const double poured = sum_of(document, "poured");
    if (poured > 0)
        text_format(out, "%.2f g in the cup", poured);
    else
        text_add(out, "a plan: nothing in the cup yet");
}

static void of_adjustment(const json_t *document, struct text *out) {
    const double before = say_number(document, "de00_before"), after = say_number(document, "de00_after");
    if (isfinite(before) && isfinite(after)) text_format(out, "dE00 %.2f, expected then %.2f", before, after);
}

static void of_plan(const json_t *document, struct text *out) {
    text_format(out, "%s, %s, %zu steps", say_string(document, "place"),
                say_string(document, "material_name"), json_array_size(json_object_get(document, "steps")));
}

static void of_coats(const json_t *document, struct text *out) {
    const json_t *coats = json_object_get(document, "coats");
    const double count = json_is_array(coats) ? (double)json_array_size(coats) : json_number_value(coats);
    const double film = say_number(document, "film_um");
    if (!isfinite(film)) return; /* of an older russet */
    if (count > 0) text_format(out, "%.0f coats, ", count);
    text_format(out, "%.0f µm dry", film);
}

static void of_sheen(const json_t *document, struct text *out) {
    const double matte = say_number(document, "matte_fraction");
    if (isfinite(matte)) text_format(out, "matte part %.2f", matte);
}

static void of_check(const json_t *document, struct text *out) {
    text_add(out, say_string(document, "verdict"));
}

static void of_air(const json_t *document, struct text *out) {
    text_add(out, say_string(document, "verdict"));
}

static const struct {
    const char *kind;
    gist *say;
} gists[] = {
    {"reading", of_reading},       {"prediction", of_reading}, {"match", of_match}, {"pour", of_pour},
    {"adjustment", of_adjustment}, {"plan", of_plan},          {"coats", of_coats}, {"amount", of_coats},
    {"sheen", of_sheen},           {"inspection", of_check},   {"air", of_air}};

void entry_gist(const struct entry_row *entry, struct text *out) {
    json_t *document = NULL;
    for (size_t i = 0; entry->document && i < sizeof gists / sizeof *gists; i++) {
        if (strcmp(gists[i].kind, entry->kind) != 0) continue;
        if (document_read(entry->document, &document, NULL) == STATUS_OK) gists[i].say(document, out);
        json_decref(document);
        return;
    }
}
