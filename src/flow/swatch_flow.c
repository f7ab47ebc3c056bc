/* russet toners swatch: how the toners of a shelf look as masstone and let down. */
#include "flow/operation.h"
#include "flow/papers.h"
#include "flow/place.h"
#include "formats/json_out.h"
#include "paint/predict.h"
#include "report/swatch.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

operation_flow toners_swatch_flow;
operation_say toners_swatch_say;

static const double TENTH = .1, HUNDREDTH = .01, FILM_UM = 30;

static int role_index(const struct shelf *shelf, enum toner_role role) {
    for (size_t i = 0; i < shelf->count; i++)
        if (shelf->toner[i].role == role) return (int)i;
    return -1;
}

static void add_step(json_t *steps, enum word label, const struct shelf *shelf, int toner, double part,
                     int in, double film_um) {
    double parts[SHELF_MOST] = {0};
    struct film_case film = {.film_um = film_um, .geometry = shelf->geometry, .sheen_gu = (double)NAN};
    for (int b = 0; b < BANDS; b++) film.backing.band[b] = PREDICT_WHITE;
    if (in >= 0) parts[in] = 1 - part;
    parts[toner] += in >= 0 ? part : 1;
    struct spectrum reflectance;
    predict_reflectance(shelf, parts, &film, &reflectance);
    json_t *step = json_object();
    json_put_text(step, "what", word_sentence(label));
    json_put_number(step, "mass_fraction", part, DIGITS_FRACTION);
    json_put(step, "lab",
             json_lab(lab_of_spectrum(&reflectance, weights_of((struct view){LIGHT_D65, OBSERVER_10}))));
    json_put(step, "reflectance", json_spectrum(&reflectance));
    json_array_append_new(steps, step);
}

/* Opaque masstone; then in white where there is one, else as a thin film in binder over white. */
static json_t *steps_of(const struct shelf *shelf, int toner) {
    const int white = role_index(shelf, ROLE_WHITE), binder = role_index(shelf, ROLE_BINDER);
    json_t *steps = json_array();
    add_step(steps, WORD_SWATCH_MASSTONE, shelf, toner, 1, -1, INFINITY);
    if (white >= 0 && white != toner) {
        add_step(steps, WORD_SWATCH_TENTH, shelf, toner, TENTH, white, INFINITY);
        add_step(steps, WORD_SWATCH_HUNDREDTH, shelf, toner, HUNDREDTH, white, INFINITY);
    } else if (binder >= 0 && !shelf->relative_s) {
        add_step(steps, WORD_SWATCH_FILM, shelf, toner, TENTH, binder, FILM_UM);
    }
    return steps;
}

static json_t *toner_json(const struct shelf *shelf, int index) {
    const struct toner *toner = &shelf->toner[index];
    json_t *t = json_object();
    json_put_text(t, "toner", toner->id);
    json_put_text(t, "name", toner->name);
    json_put_text(t, "lot", toner->lot[0] ? toner->lot : NULL);
    json_put(t, "steps", steps_of(shelf, index));
    return t;
}

enum status toners_swatch_flow(const struct surroundings *around, const struct request *request,
                               json_t **reply, struct fault *fault) {
    struct shelf shelf;
    const enum status status = place_read_shelf(around, request_text(request, "TONERS"), &shelf, fault);
    if (status != STATUS_OK) return status;
    json_t *toners = json_array();
    for (size_t i = 0; i < shelf.count; i++)
        if (shelf.toner[i].role != ROLE_BINDER) json_array_append_new(toners, toner_json(&shelf, (int)i));
    *reply = json_start("swatches");
    json_put_text(*reply, "title", request_text(request, "--name"));
    json_put(*reply, "toners", toners);
    return STATUS_OK;
}

static double lab_at(const json_t *step, size_t i) {
    return json_number_value(json_array_get(json_object_get(step, "lab"), i));
}

/* Bytes that take no column of their own. */
static int more_bytes(const char *s) {
    int n = 0;
    for (; *s; s++) n += ((unsigned char)*s & 0xC0) == 0x80;
    return n;
}

void toners_swatch_say(const json_t *reply, struct text *out) {
    const json_t *toners = json_object_get(reply, "toners");
    for (size_t i = 0; i < json_array_size(toners); i++) {
        const json_t *t = json_array_get(toners, i), *steps = json_object_get(t, "steps");
        text_format(out, "%s (%s)\n", json_string_value(json_object_get(t, "name")),
                    json_string_value(json_object_get(t, "toner")));
        for (size_t k = 0; k < json_array_size(steps); k++) {
            const json_t *step = json_array_get(steps, k);
            const char *what = json_string_value(json_object_get(step, "what"));
            text_format(out, "    %-*s L %6.2f  a %6.2f  b %6.2f\n", 24 + more_bytes(what), what,
                        lab_at(step, 0), lab_at(step, 1), lab_at(step, 2));
        }
    }
}

static void fill_step(const json_t *step, struct swatch_step *out) {
    out->label = json_string_value(json_object_get(step, "what"));
    out->lab = (struct lab){lab_at(step, 0), lab_at(step, 1), lab_at(step, 2), {LIGHT_D65, OBSERVER_10}};
    for (size_t b = 0; b < BANDS; b++)
        out->reflectance.band[b] = json_number_value(json_array_get(json_object_get(step, "reflectance"), b));
}

static void fill_swatch(const json_t *t, struct arena *arena, struct swatch *out) {
    const json_t *steps = json_object_get(t, "steps");
    const char *id = json_string_value(json_object_get(t, "toner")),
               *lot = json_string_value(json_object_get(t, "lot"));
    char detail[2 * TONER_ID_MAX + 8];
    const int n = snprintf(detail, sizeof detail, "%s%s%s", id, lot ? ", lot " : "", lot ? lot : "");
    out->name = json_string_value(json_object_get(t, "name"));
    out->detail = arena_text(arena, detail, (size_t)n < sizeof detail ? (size_t)n : sizeof detail - 1);
    for (size_t k = 0; k < json_array_size(steps) && k < SWATCH_STEPS_MOST; k++)
        fill_step(json_array_get(steps, k), &out->step[out->step_count++]);
}

enum status toners_swatch_draw(const json_t *reply, enum paper paper, struct text *out, struct fault *fault) {
    const json_t *toners = json_object_get(reply, "toners"), *title = json_object_get(reply, "title");
    struct arena *arena = arena_new();
    struct swatch *swatch = arena_need(arena, json_array_size(toners) + 1, sizeof *swatch);
    for (size_t i = 0; i < json_array_size(toners); i++)
        fill_swatch(json_array_get(toners, i), arena, &swatch[i]);
    const struct swatch_sheet sheet = {json_is_string(title) ? json_string_value(title)
                                                             : word_sentence(WORD_SWATCH_KIND),
                                       json_array_size(toners), swatch};
    const enum page_kind kind = paper == PAPER_PDF ? PAGE_PDF : paper == PAPER_SVG ? PAGE_SVG : PAGE_PNG;
    const enum status status = swatch_draw(&sheet, kind, out, fault);
    arena_free(arena);
    return status;
}
